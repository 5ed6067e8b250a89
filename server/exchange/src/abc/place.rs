//! Gives the signs of a staff and of the whole score to the notes they stand at.

use super::Voice;
use super::items::Item;
use crate::sheet::{Mark, Notice, ScoreMark, Sheet, Sign};
use recte_theory::Time;
use std::collections::HashSet;

pub(super) fn place(sheet: &Sheet, voices: &mut [Voice<'_>], notices: &mut Vec<Notice>) {
    for (index, part) in sheet.parts.iter().enumerate() {
        for (number, measure) in part.measures.iter().enumerate() {
            for sign in &measure.signs {
                if !put(voices, index, number, sign) {
                    let part = u16::try_from(index).ok();
                    let what = describe(&sign.mark);
                    let what = format!("{what} in the middle of a note stands at the nearest one");
                    notices.push(Notice { part, measure: Some(number as u32), what });
                }
            }
        }
    }
    let mut placed: HashSet<(u32, &ScoreMark)> = HashSet::new();
    for sign in &sheet.signs {
        let ScoreMark::Mark(mark) = &sign.what else { continue };
        // Every part may have it; it is written once.
        if !placed.insert((sign.measure, &sign.what)) {
            continue;
        }
        let bar = voices.first_mut().and_then(|voice| voice.bars.get_mut(sign.measure as usize));
        if let Some(items) = bar.and_then(|bar| bar.first_mut()) {
            take(items, sign.onset, false, true, mark.clone());
        }
    }
}

fn describe(mark: &Mark) -> String {
    match mark {
        Mark::Decoration(name) => format!("the sign “{name}”"),
        Mark::Text(_, text) => format!("the text “{text}”"),
        Mark::Chord(symbol) => format!("the chord symbol “{symbol}”"),
    }
}

/// Whether the sign stands where the source has it.
fn put(voices: &mut [Voice<'_>], part: usize, measure: usize, sign: &Sign) -> bool {
    let on_staff = |voice: &Voice<'_>, staff: u8| voice.part == part && voice.staff == staff;
    let mut own: Vec<usize> = (0..voices.len())
        .filter(|index| voices.get(*index).is_some_and(|voice| on_staff(voice, sign.staff)))
        .collect();
    if own.is_empty() {
        own =
            (0..voices.len()).filter(|i| voices.get(*i).is_some_and(|v| v.part == part)).collect();
    }
    // A voice that the sign is said to belong to goes first.
    let of_voice = |index: &usize| {
        let items =
            voices.get(*index).and_then(|voice| voice.bars.get(measure)).into_iter().flatten();
        let mut events = items.flatten().filter_map(|item| item.event);
        sign.voice.is_none() || !events.any(|event| Some(event.voice) == sign.voice)
    };
    own.sort_by_key(|index| of_voice(index));
    if !sign.ends {
        let exact = own.iter().find(|index| {
            let bar = voices.get(**index).and_then(|voice| voice.bars.get(measure));
            let items = bar.and_then(|bar| bar.first()).into_iter().flatten();
            items.into_iter().any(|item| item.onset == sign.onset && begins(item))
        });
        if let Some(exact) = exact {
            own = vec![*exact];
        }
    }
    let bar = own.first().and_then(|index| voices.get_mut(*index));
    let layer = bar.and_then(|voice| voice.bars.get_mut(measure)).and_then(|bar| bar.first_mut());
    layer.is_some_and(|items| take(items, sign.onset, sign.ends, sign.loose, sign.mark.clone()))
}

/// Whether a sign can stand here: on what begins and is not a grace note.
fn begins(item: &Item<'_>) -> bool {
    !item.is_grace() && !item.continues
}

/// Puts a mark on the item at a place, cutting a rest there if need be; whether that is its very place, or,
/// for a sign that is set off, near enough.
fn take(items: &mut Vec<Item<'_>>, onset: Time, ends: bool, loose: bool, mark: Mark) -> bool {
    let end = items.iter().map(Item::end).max().unwrap_or_default();
    // What ends something stands before what comes next, and after the last note of all.
    let next = items.iter().position(|item| ends && item.onset >= onset && begins(item));
    if let Some(item) = next.and_then(|next| items.get_mut(next)) {
        if !item.marks.contains(&mark) {
            item.marks.insert(0, mark);
        }
        return true;
    }
    if (ends || onset >= end)
        && onset > Time::ZERO
        && let Some(item) = items.last_mut()
    {
        if !item.after.contains(&mark) {
            item.after.push(mark);
        }
        return true;
    }
    if let Some(item) = items.iter_mut().find(|item| item.onset == onset && begins(item)) {
        return add(item, mark);
    }
    let rest =
        items.iter().position(|item| item.onset < onset && onset < item.end() && item.is_rest());
    let rest = rest.filter(|_| !loose || matches!(mark, Mark::Chord(_)));
    if let Some((place, item)) = rest.and_then(|place| Some((place, items.get(place)?))) {
        let (first, mut second) = item.cut(onset);
        second.marks = vec![mark];
        items.splice(place..=place, [first, second]);
        return true;
    }
    // What begins under a held note belongs to that note, all else to the nearest.
    let begins_something = matches!(mark, Mark::Decoration("<(" | ">("));
    let away = |item: &&mut Item<'_>| match item.onset > onset {
        true if begins_something => Time::new(i64::MAX, 1),
        true => item.onset - onset,
        false => onset - item.onset,
    };
    let near = items.iter_mut().filter(|item| begins(item)).min_by_key(away);
    let Some(item) = near else { return false };
    let close = away(&&mut *item) <= Time::new(1, 8);
    add(item, mark);
    loose && close
}

/// Gives an item a mark, once.
fn add(item: &mut Item<'_>, mark: Mark) -> bool {
    if !item.marks.contains(&mark) {
        item.marks.push(mark);
    }
    true
}

/// Hairpins and long trills have a beginning and an end in one voice, or they are not written.
pub(super) fn pair(voices: &mut [Voice<'_>], notices: &mut Vec<Notice>) {
    const PAIRS: [(&str, &str, Option<&str>, &str); 3] = [
        ("<(", "<)", None, "a hairpin that does not begin and end in one voice is left out"),
        (">(", ">)", None, "a hairpin that does not begin and end in one voice is left out"),
        ("trill(", "trill)", Some("trill"), "a line after a trill has no end; the trill is kept"),
    ];
    for voice in voices {
        for (begin, end, instead, what) in PAIRS {
            let mut open: Vec<[usize; 4]> = Vec::new();
            let mut lost: Vec<[usize; 4]> = Vec::new();
            for (place, mark) in places(voice) {
                if *mark == Mark::Decoration(begin) {
                    open.push(place);
                } else if *mark == Mark::Decoration(end) && open.pop().is_none() {
                    lost.push(place);
                }
            }
            lost.extend(open);
            // From the end, so that places before stay what they are.
            lost.sort_unstable();
            for [bar, layer, item, mark] in lost.into_iter().rev() {
                let layers = voice.bars.get_mut(bar);
                let item = layers.and_then(|layers| layers.get_mut(layer)?.get_mut(item));
                let Some(item) = item else { continue };
                // Those after the item are counted on from those on it.
                let (marks, mark) = match mark.checked_sub(item.marks.len()) {
                    Some(after) => (&mut item.after, after),
                    None => (&mut item.marks, mark),
                };
                let was = marks.remove(mark);
                if let Some(instead) = instead.filter(|_| was == Mark::Decoration(begin)) {
                    marks.push(Mark::Decoration(instead));
                }
                let part = u16::try_from(voice.part).ok();
                notices.push(Notice { part, measure: Some(bar as u32), what: what.to_owned() });
            }
        }
    }
}

/// The marks of a voice in the order they are written, each with bar, layer, item and its own place.
fn places<'v>(voice: &'v Voice<'_>) -> impl Iterator<Item = ([usize; 4], &'v Mark)> {
    voice.bars.iter().enumerate().flat_map(|(bar, layers)| {
        layers.iter().enumerate().flat_map(move |(layer, items)| {
            items.iter().enumerate().flat_map(move |(item, one)| {
                one.marks
                    .iter()
                    .chain(&one.after)
                    .enumerate()
                    .map(move |(mark, what)| ([bar, layer, item, mark], what))
            })
        })
    })
}
