//! One layer of one bar, as far as its rhythm goes.

use super::beams;
use recte_score::{Bar, Event, EventKind, Tune, Voice};
use recte_theory::metre::{Beats, Ticks, WHOLE, ticks};

/// What a sign is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// A note or chord.
    Note,
    /// A rest that players see.
    Rest,
    /// A rest that is not printed.
    Unseen,
    /// A whole-bar rest.
    BarRest,
}

/// A note or rest with its place in the bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Sign {
    /// The event, by index in its voice.
    pub event: u32,
    /// What it is.
    pub kind: Kind,
    /// When it begins, from where a full bar would begin.
    pub start: Ticks,
    /// When it ends.
    pub end: Ticks,
    /// Whether it is a note with a flag or under a beam.
    pub flagged: bool,
    /// Whether it is shorter than an eighth as it is written.
    pub short: bool,
    /// Whether nothing parts it from the sign before.
    pub joined: bool,
    /// Whether ties lead into all its notes.
    pub tied_in: bool,
    /// Whether ties lead out of all its notes.
    pub tied_out: bool,
    /// Its tuplet.
    pub tuplet: Option<u32>,
    /// Whether broken rhythm has changed its length.
    pub broken: bool,
    /// Whether it has signs of its own before it: grace notes, symbols, decorations, a slur that begins.
    pub marked: bool,
}

/// One layer of one bar of one voice: notes and rests, grace notes left out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Row {
    /// The voice, by index.
    pub voice: usize,
    /// The bar, counted from 0.
    pub bar: u32,
    /// The layer.
    pub layer: u8,
    /// How many layers the bar has.
    pub layers: u8,
    /// The metre, by index in the tune.
    pub metre: u16,
    /// Whether the bar holds what its signature asks for; a pickup or the rest of a divided bar does not.
    pub full: bool,
    /// Its signs in the order of time.
    pub signs: Vec<Sign>,
}

impl Row {
    /// Whether something other than a tied note begins at a moment; ties within the layer do not count.
    pub fn begins(&self, at: Ticks) -> bool {
        self.signs.iter().any(|sign| sign.start == at)
    }
}

/// The layers of a bar in all voices. None where a voice holds more than the signature asks for, voices differ in
/// length or signature, or there is no metre. A short bar at the beginning, or after a repeat or double bar, ends
/// with its full bar; any other begins with it.
pub fn rows(tune: &Tune, bar: u32) -> Option<Vec<Row>> {
    let whole = tune.bars.get(bar as usize)?.length;
    let mut all = Vec::new();
    let mut metre = None;
    for (index, voice) in tune.voices.iter().enumerate() {
        let Some(own) = voice.bars.get(bar as usize) else { continue };
        let full = tune.metre(own).length()?;
        let agrees = *metre.get_or_insert(own.metre) == own.metre;
        if !agrees || own.length != whole || own.length > full {
            return None;
        }
        let short = own.length < full;
        let late = short && ends_its_bar(voice, bar);
        // A bar too short for no reason has no beats to speak of.
        let last = bar as usize + 1 == voice.bars.len();
        if short && !late && !own.strong_line && !last {
            return None;
        }
        let shift = if late { ticks(full - own.length)? } else { 0 };
        let events = voice.events_of(own);
        for layer in events.chunk_by(|a, b| a.layer == b.layer) {
            if let Some(signs) = signs(voice, own, layer, shift) {
                let (layer, layers) = (layer[0].layer, own.layers);
                let full = own.length == full;
                all.push(Row { voice: index, bar, layer, layers, metre: own.metre, full, signs });
            }
        }
    }
    Some(all)
}

fn ends_its_bar(voice: &Voice, bar: u32) -> bool {
    bar.checked_sub(1).is_none_or(|before| voice.bars[before as usize].strong_line)
}

fn signs(voice: &Voice, bar: &Bar, layer: &[Event], shift: Ticks) -> Option<Vec<Sign>> {
    let first = bar.events.start;
    let base = layer.as_ptr() as usize - voice.events_of(bar).as_ptr() as usize;
    let base = (base / size_of::<Event>()) as u32 + first;
    let mut signs = Vec::with_capacity(layer.len());
    for (event, index) in layer.iter().zip(base..) {
        if event.grace {
            continue;
        }
        let length = ticks(event.duration)?;
        let start = ticks(event.offset)? + shift;
        let ratio = event.tuplet.and_then(|tuplet| voice.tuplets.get(tuplet as usize));
        let written = ratio.map_or(length, |tuplet| {
            length * i64::from(tuplet.actual) / i64::from(tuplet.normal.max(1))
        });
        let kind = match event.kind {
            EventKind::Notes => Kind::Note,
            EventKind::Rest => Kind::Rest,
            EventKind::InvisibleRest => Kind::Unseen,
            EventKind::BarRest(_) => Kind::BarRest,
        };
        let notes = voice.notes_of(event);
        let note = kind == Kind::Note && !notes.is_empty();
        signs.push(Sign {
            event: index,
            kind,
            start,
            end: start + length,
            flagged: note && written < WHOLE / 4,
            short: note && written < WHOLE / 8,
            joined: event.joined,
            tied_in: note && notes.iter().all(|note| note.tied_in),
            tied_out: note && notes.iter().all(|note| note.tied_out),
            tuplet: event.tuplet,
            broken: event.broken,
            marked: event.full.start != event.span.start,
        });
    }
    Some(signs)
}

/// The reading of a signature that a bar fits best, all voices together: the fewest hidden lines and contradicting
/// beams. Where several fit alike, `before` (what the bar before was read as), else the usual one.
pub fn fitting(readings: &[Beats], rows: &[Row], before: Option<usize>) -> Option<usize> {
    if readings.len() < 2 {
        return (!readings.is_empty()).then_some(0);
    }
    let most = readings[0].groups().len();
    let cost = |beats: &Beats| {
        let of_row =
            |row: &Row| 2 * super::hidden(row, beats).len() + beams::contradictions(row, beats);
        let all: usize = rows.iter().map(of_row).sum();
        // Broader groups than the usual ones (4+3) only where all fits them.
        (all > 0 && beats.groups().len() < most, all)
    };
    let costs: Vec<(bool, usize)> = readings.iter().map(cost).collect();
    let best = *costs.iter().min()?;
    let usual = costs.iter().position(|cost| *cost == best);
    before.filter(|&place| costs.get(place) == Some(&best)).or(usual)
}
