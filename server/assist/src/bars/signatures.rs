//! Which signatures go with a signature.

use super::filled;
use super::place::Place;
use recte_notation::write::NewBar;
use recte_score::Event;
use recte_theory::{Metre, Time};
use std::cmp::Reverse;

/// A passage under other signatures.
pub(super) struct Others {
    /// The signatures, in turn.
    pub(super) signs: Vec<Metre>,
    /// The bars.
    pub(super) bars: Vec<NewBar>,
}

/// The signature of a bar so long, counted as its neighbours are if it can be.
pub(super) fn signature_of(length: Time, old: &Metre) -> Option<Metre> {
    let threes = old.is_compound() && old.unit() == Some(Time::new(1, 8));
    let first = if threes && length.count_of(Time::new(3, 8)).is_some() { 8 } else { 4 };
    [first, 4, 8, 16, 32].into_iter().find_map(|unit| {
        let count = length.count_of(Time::new(1, unit))?;
        Metre::fraction(u32::try_from(count).ok()?, u32::try_from(unit).ok()?).ok()
    })
}

/// A length as a fraction that the signature counts: two quarters are 2/4.
pub(super) fn counted(length: Time, metre: &Metre) -> String {
    let unit = metre.unit().unwrap_or(Time::new(1, 4));
    match length.count_of(unit) {
        Some(count) => format!("{count}/{}", unit.denominator()),
        None => length.to_string(),
    }
}

/// "3/4", "5/8 + 2/4".
pub(super) fn joined_signs(others: &Others) -> String {
    others.signs.iter().map(Metre::to_string).collect::<Vec<_>>().join(" + ")
}

/// Threes and twos that a bar of so many eighths may fall into.
const SHAPES: [&[u8]; 18] = [
    &[3, 2],
    &[2, 3],
    &[2, 2, 3],
    &[3, 2, 2],
    &[2, 3, 2],
    &[3, 3, 2],
    &[3, 2, 3],
    &[2, 3, 3],
    &[2, 2, 2, 3],
    &[3, 2, 2, 2],
    &[2, 3, 2, 2],
    &[2, 2, 3, 2],
    &[3, 3, 2, 2],
    &[3, 2, 3, 2],
    &[2, 2, 3, 3],
    &[3, 3, 3, 2],
    &[3, 3, 2, 2, 2],
    &[2, 2, 2, 3, 3],
];

/// What a passage can be written in, the usual first.
pub(super) fn others(place: &Place<'_>, from: u32, to: u32, old: &Metre) -> Vec<Others> {
    let Some(full) = old.length() else { return Vec::new() };
    let mut names: Vec<String> = match old.to_string().as_str() {
        "C" => vec!["C|".to_owned()],
        "C|" => vec!["C".to_owned()],
        _ => Vec::new(),
    };
    let usual: &[&str] = match old.numbers() {
        Some((6, 8)) => &["3/4", "3/8"],
        Some((3, 4)) => &["6/8", "6/4"],
        Some((9, 8)) => &["5/8 2/4", "2/4 5/8"],
        Some((12, 8)) => &["6/8"],
        Some((4, 4)) => &["2/2", "2/4"],
        Some((2, 2)) => &["4/4", "2/4"],
        Some((2, 4)) => &["4/4", "4/8"],
        Some((4, 8)) => &["2/4"],
        Some((6, 4)) => &["3/2", "3/4"],
        Some((3, 2)) => &["6/4"],
        Some((4, 2)) => &["2/2"],
        Some((5, 4)) => &["3+2/4", "2+3/4", "3/4 2/4", "2/4 3/4"],
        Some((7, 4)) => &["4+3/4", "3+4/4", "4/4 3/4"],
        Some((3, 8)) => &["6/8"],
        Some((8, 8)) => &["4/4"],
        _ => &[],
    };
    names.extend(usual.iter().map(|name| (*name).to_owned()));
    if old.numbers().is_none() {
        names.extend(signature_of(full, old).map(|plain| plain.to_string()));
    }
    names.extend(additive(place, from, to, full));
    let short = |bar: u32| place.length(bar) < full;
    let pickup = short(from) && from < to;
    let middle = from + u32::from(pickup)..=to;
    let length: Time = middle.map(|bar| place.length(bar)).sum();
    let mut found: Vec<Others> = Vec::new();
    for name in names {
        let signs: Option<Vec<Metre>> =
            name.split(' ').map(|sign| Metre::parse(sign).ok()).collect();
        let Some(signs) = signs.filter(|signs| *signs != [old.clone()]) else { continue };
        let Some(mut bars) = filled(length, &signs, short(to)) else { continue };
        if pickup {
            let length = place.length(from);
            bars.insert(0, NewBar { length, metre: signs[0].clone() });
        }
        if !found.iter().any(|known| known.signs == signs) {
            found.push(Others { signs, bars });
        }
    }
    found
}

/// The two orders of threes and twos that most bars show, with a note on every group; at least half of them.
fn additive(place: &Place<'_>, from: u32, to: u32, full: Time) -> Vec<String> {
    let eighth = Time::new(1, 8);
    let Some(eighths) = full.count_of(eighth) else { return Vec::new() };
    let fits = |shape: &&[u8]| shape.iter().map(|count| i64::from(*count)).sum::<i64>() == eighths;
    let mut shapes: Vec<(usize, &[u8])> = SHAPES
        .into_iter()
        .filter(fits)
        .map(|shape| ((from..=to).filter(|bar| shows(place, *bar, shape)).count(), shape))
        .collect();
    shapes.sort_by_key(|(shown, _)| Reverse(*shown));
    let half = (to - from + 1) as usize / 2;
    let enough = shapes.into_iter().filter(|(shown, _)| *shown > 0 && *shown >= half).take(2);
    let sign = |shape: &[u8]| {
        format!("{}/8", shape.iter().map(u8::to_string).collect::<Vec<_>>().join("+"))
    };
    enough.map(|(_, shape)| sign(shape)).collect()
}

/// Whether some voice has a note on every group of a bar, and no note or beam crosses from one to the next.
fn shows(place: &Place<'_>, bar: u32, shape: &[u8]) -> bool {
    let mut lines = Vec::new();
    let mut at = Time::ZERO;
    for count in shape {
        lines.push(at);
        at += Time::new(i64::from(*count), 8);
    }
    let tune = &place.read().tune;
    tune.voices.iter().any(|voice| {
        let Some(own) = voice.bars.get(bar as usize) else { return false };
        let events = || voice.events_of(own).iter().filter(|event| event.sounds());
        lines.iter().all(|line| events().any(|event| event.offset == *line))
            && !own_beams(voice.events_of(own)).any(|at| lines.contains(&at))
            && events()
                .all(|event| !lines.iter().any(|line| event.offset < *line && *line < event.end()))
    })
}

/// When the notes begin that share a beam with the one before.
fn own_beams(events: &[Event]) -> impl Iterator<Item = Time> + '_ {
    let short = |event: &Event| event.sounds() && event.duration < Time::new(1, 4);
    let pairs = events.windows(2).filter(move |pair| pair.iter().all(short));
    pairs.filter(|pair| pair[1].joined).map(|pair| pair[1].offset)
}
