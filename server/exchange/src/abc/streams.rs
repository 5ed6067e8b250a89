//! Which notes make a voice: what the source calls a voice of a staff; where it is there only now and then,
//! a layer of the staff's main voice.

use super::items::layer;
use super::{Bar, Voice};
use crate::sheet::{Event, Kind, Notice, Part, Sheet};
use recte_theory::Time;
use std::collections::BTreeMap;

/// So many bars, those of all voices together, are more than any score has.
const MOST_BARS: usize = 1_000_000;
/// So many notes of one voice sound at once, each in its own line; more are not told apart.
const MOST_COPIES: u8 = 16;
/// A second voice that is there in no more than one bar of so many is a layer of the first.
const SELDOM: usize = 4;

/// Staff, the source's voice, and a number where notes of one voice overlap.
type Stream = (u8, u16, u8);

pub(super) fn voices<'s>(
    sheet: &'s Sheet,
    lengths: &[Time],
    notices: &mut Vec<Notice>,
) -> Result<Vec<Voice<'s>>, String> {
    let parts = sheet.parts.iter().enumerate();
    let mut parts: Vec<PartStreams<'s>> =
        parts.map(|(index, part)| PartStreams::new(index, part, notices)).collect();
    let count: usize = parts.iter().map(|part| part.streams.len().max(part.staves.into())).sum();
    if count.saturating_mul(lengths.len()) > MOST_BARS {
        return Err(format!(
            "{count} voices of {} bars are more than any score has",
            lengths.len()
        ));
    }
    let mut voices = Vec::new();
    for part in &mut parts {
        for staff in 1..=part.staves {
            part.staff(staff, lengths, &mut voices);
        }
    }
    Ok(voices)
}

struct PartStreams<'s> {
    index: usize,
    staves: u8,
    streams: BTreeMap<Stream, Vec<Vec<&'s Event>>>,
}

impl<'s> PartStreams<'s> {
    fn new(index: usize, part: &'s Part, notices: &mut Vec<Notice>) -> PartStreams<'s> {
        let homes = homes(part);
        let order = voice_order(part);
        let mut streams: BTreeMap<Stream, Vec<Vec<&'s Event>>> = BTreeMap::new();
        for (number, measure) in part.measures.iter().enumerate() {
            let mut by_voice: BTreeMap<u16, Vec<&'s Event>> = BTreeMap::new();
            for event in &measure.events {
                by_voice.entry(event.voice).or_default().push(event);
            }
            for (voice, mut events) in by_voice {
                events.sort_by_key(|event| event.onset);
                let crossing = events.windows(2).any(|pair| match pair {
                    [a, b] => a.staff != b.staff,
                    _ => false,
                });
                let home = homes.get(usize::from(voice)).copied().flatten();
                let one_line = events.windows(2).all(|pair| match pair {
                    [a, b] => a.end() <= b.onset,
                    _ => true,
                });
                if crossing && one_line {
                    let what = "notes on a neighbouring staff stand in the staff of their voice";
                    notices.push(Notice {
                        part: u16::try_from(index).ok(),
                        measure: Some(number as u32),
                        what: what.to_owned(),
                    });
                }
                let rank = order.get(usize::from(voice)).copied().unwrap_or(voice);
                for event in events {
                    let staff = match home {
                        Some(home) if one_line => home,
                        _ => event.staff,
                    };
                    put(&mut streams, (staff, rank), number, event);
                }
            }
        }
        PartStreams { index, staves: part.staves, streams }
    }

    /// The voices of a staff: at least one, so that no staff is lost.
    fn staff(&mut self, staff: u8, lengths: &[Time], voices: &mut Vec<Voice<'s>>) {
        let (index, count) = (self.index, lengths.len());
        let mut own: Vec<Vec<Vec<&'s Event>>> = Vec::new();
        for ((_, _, _), mut bars) in
            self.streams.extract_if((staff, 0, 0)..=(staff, u16::MAX, u8::MAX), |_, _| true)
        {
            bars.resize_with(count, Vec::new);
            own.push(bars);
        }
        let presence = |bars: &Vec<Vec<&Event>>| bars.iter().filter(|bar| !is_space(bar)).count();
        let most = own.iter().map(presence).max().unwrap_or(0);
        let main = own.iter().position(|bars| presence(bars) == most);
        let seldom = |place: usize, bars: &Vec<Vec<&Event>>| {
            Some(place) != main && presence(bars) * SELDOM <= most && bars.iter().all(|b| alone(b))
        };
        let layers: Vec<bool> = own.iter().enumerate().map(|(i, bars)| seldom(i, bars)).collect();
        let mut first = true;
        for (place, bars) in own.iter().enumerate() {
            if layers.get(place) == Some(&true) {
                continue;
            }
            let over = own.iter().zip(&layers).filter(|(_, layer)| Some(place) == main && **layer);
            let over: Vec<&Vec<Vec<&Event>>> = over.map(|(bars, _)| bars).collect();
            let bar = |(number, events): (usize, &Vec<&'s Event>)| {
                let others = over.iter().filter_map(|bars| bars.get(number));
                let length = lengths.get(number).copied().unwrap_or(Time::WHOLE);
                bar_of(events, others, length)
            };
            let bars = bars.iter().enumerate().map(bar).collect();
            voices.push(Voice { part: index, staff, first, id: String::new(), bars });
            first = false;
        }
        if first {
            let silent = |length: &Time| vec![layer(&[], *length)];
            let bars = lengths.iter().map(silent).collect();
            voices.push(Voice { part: index, staff, first, id: String::new(), bars });
        }
    }
}

fn bar_of<'a, 's: 'a>(
    main: &'a [&'s Event],
    others: impl Iterator<Item = &'a Vec<&'s Event>>,
    length: Time,
) -> Bar<'s> {
    let all = std::iter::once(main).chain(others.map(Vec::as_slice));
    let filled = all.filter(|events| !is_space(events));
    let mut layers: Vec<_> = filled.map(|events| layer(events, length)).collect();
    if layers.is_empty() {
        layers.push(layer(main, length));
    }
    layers
}

/// Whether nothing stands in a bar but space, if even that.
fn is_space(events: &[&Event]) -> bool {
    events.iter().all(|event| event.is_space())
}

/// Whether a bar holds nothing that leads out of it or is sung, so that it can be a layer.
fn alone(events: &[&Event]) -> bool {
    let opened = events.iter().flat_map(|event| &event.slurs);
    let balance: i32 = opened.map(|slur| if slur.starts { 1 } else { -1 }).sum();
    let last = events.iter().rev().find(|event| !event.is_grace());
    balance == 0
        && events.iter().all(|event| event.lyrics.is_empty())
        && last.is_none_or(|event| event.notes.iter().all(|note| !note.tied))
}

/// Adds an event to the first stream of its voice in which it overlaps nothing.
fn put<'s>(
    streams: &mut BTreeMap<Stream, Vec<Vec<&'s Event>>>,
    (staff, voice): (u8, u16),
    measure: usize,
    event: &'s Event,
) {
    for copy in 0..MOST_COPIES {
        let bars = streams.entry((staff, voice, copy)).or_default();
        if bars.len() <= measure {
            bars.resize_with(measure + 1, Vec::new);
        }
        let Some(bar) = bars.get_mut(measure) else { return };
        let free = bar.last().is_none_or(|last| last.end() <= event.onset);
        if free || copy == MOST_COPIES - 1 {
            bar.push(event);
            return;
        }
    }
}

/// The staff a voice lives on, for each voice that has one of its own.
fn homes(part: &Part) -> Vec<Option<u8>> {
    let mut counts: Vec<BTreeMap<u8, usize>> = vec![BTreeMap::new(); part.voices.len()];
    let events = part.measures.iter().flat_map(|measure| &measure.events);
    for event in events.filter(|event| matches!(event.kind, Kind::Notes)) {
        if let Some(count) = counts.get_mut(usize::from(event.voice)) {
            *count.entry(event.staff).or_default() += 1;
        }
    }
    let home = |count: &BTreeMap<u8, usize>| {
        let total: usize = count.values().sum();
        let (staff, most) = count.iter().max_by_key(|(_, count)| **count)?;
        // A voice that is often on either staff is two.
        (most * 3 >= total * 2).then_some(*staff)
    };
    counts.iter().map(home).collect()
}

/// The place of each voice among the others, by number where they have numbers.
fn voice_order(part: &Part) -> Vec<u16> {
    let mut order: Vec<usize> = (0..part.voices.len()).collect();
    let number = |place: &usize| {
        part.voices.get(*place).and_then(|name| name.parse::<u32>().ok()).unwrap_or(u32::MAX)
    };
    order.sort_by_key(|place| (number(place), *place));
    let mut ranks = vec![0; order.len()];
    for (rank, place) in order.iter().enumerate() {
        if let Some(slot) = ranks.get_mut(*place) {
            *slot = u16::try_from(rank).unwrap_or(u16::MAX);
        }
    }
    ranks
}
