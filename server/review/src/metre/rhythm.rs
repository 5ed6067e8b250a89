//! The rhythm of one bar, all voices together, as a player sees it.

use recte_score::{Event, EventKind, Tune, Voice};
use recte_theory::Time;
use std::collections::BTreeSet;

/// What kind of thing stands together on the page.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum UnitKind {
    /// A note or chord.
    Note,
    /// All notes of a tuplet.
    Tuplet,
    /// A rest.
    Rest,
    /// Two notes or more under one beam.
    Beam,
}

/// A stretch of time that the page shows as one: from `start` to `end` in the bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Unit {
    pub(crate) kind: UnitKind,
    pub(crate) start: Time,
    pub(crate) end: Time,
    /// When the sound began and ends, ties within the bar joined.
    pub(crate) sound: (Time, Time),
}

/// The units of one bar.
#[derive(Clone, Default, Debug)]
pub(crate) struct Rhythm {
    /// Notes, rests, tuplets and beams of every layer of every voice.
    pub(crate) units: Vec<Unit>,
    /// Where beams change although both sides could share one.
    pub(crate) breaks: Vec<Time>,
    /// Where something begins, in any voice.
    pub(crate) onsets: BTreeSet<Time>,
}

impl Rhythm {
    /// The rhythm of a bar by index, if every voice that has it fills it. `beamed` says by voice whether
    /// its beams mean anything.
    pub(crate) fn of(tune: &Tune, index: u32, beamed: &[bool]) -> Option<Rhythm> {
        let whole = tune.bars.get(index as usize)?.length;
        let mut rhythm = Rhythm::default();
        for (voice, beamed) in tune.voices.iter().zip(beamed) {
            let Some(bar) = voice.bars.get(index as usize) else { continue };
            if bar.length != whole || tune.metre(bar).length() != Some(whole) {
                return None;
            }
            for layer in voice.events_of(bar).chunk_by(|a, b| a.layer == b.layer) {
                rhythm.take(voice, layer, *beamed);
            }
        }
        Some(rhythm)
    }

    /// Whether nothing begins inside the bar.
    pub(crate) fn is_still(&self) -> bool {
        self.onsets.iter().all(|onset| onset.is_zero())
    }

    fn take(&mut self, voice: &Voice, layer: &[Event], beamed: bool) {
        let events: Vec<&Event> = layer.iter().filter(|event| !event.grace).collect();
        let mut at = 0;
        while at < events.len() {
            let event = events[at];
            let same = |other: &&&Event| other.tuplet.is_some() && other.tuplet == event.tuplet;
            let count = events[at..].iter().take_while(same).count().max(1);
            let end = events[at + count - 1].end();
            let kind = match event.kind {
                _ if event.tuplet.is_some() => UnitKind::Tuplet,
                EventKind::Notes => UnitKind::Note,
                _ => UnitKind::Rest,
            };
            self.onsets.insert(event.offset);
            let sound = sound(voice, &events, at, at + count - 1);
            // Whole-bar rests show nothing.
            if !matches!(event.kind, EventKind::BarRest(_)) {
                self.units.push(Unit { kind, start: event.offset, end, sound });
            }
            at += count;
        }
        if beamed {
            self.take_beams(&events);
        }
    }

    fn take_beams(&mut self, events: &[&Event]) {
        let mut last_end = None;
        for beam in events.chunk_by(|a, b| can_beam(a) && can_beam(b) && b.joined) {
            let (Some(first), Some(last)) = (beam.first(), beam.last()) else { continue };
            if beam.len() < 2 {
                last_end = None;
                continue;
            }
            let (start, end) = (first.offset, last.end());
            if last_end == Some(start) {
                self.breaks.push(start);
            }
            last_end = Some(end);
            self.units.push(Unit { kind: UnitKind::Beam, start, end, sound: (start, end) });
        }
    }
}

/// Whether a voice's beams mean anything: not where words are sung (they follow the syllables), and not
/// where no space is ever typed between two notes that could share one.
pub(crate) fn shows_beams(voice: &Voice, text: &str) -> bool {
    voice.lyrics.is_empty()
        && voice.events.windows(2).any(|pair| {
            let [a, b] = pair else { return false };
            let gap = text.get(a.span.end as usize..b.span.start as usize).unwrap_or("\n");
            can_beam(a) && can_beam(b) && !b.joined && !gap.contains(['\n', '\r', '|'])
        })
}

fn can_beam(event: &Event) -> bool {
    event.sounds() && event.duration < Time::new(1, 4)
}

/// From when to when the events sound, tied neighbours in the bar joined.
fn sound(voice: &Voice, events: &[&Event], first: usize, last: usize) -> (Time, Time) {
    let tied = |event: &Event, into: bool| {
        let notes = voice.notes_of(event);
        !notes.is_empty()
            && notes.iter().all(|note| if into { note.tied_in } else { note.tied_out })
    };
    let (mut from, mut to) = (first, last);
    while from > 0 && tied(events[from], true) && tied(events[from - 1], false) {
        from -= 1;
    }
    while to + 1 < events.len() && tied(events[to], false) && tied(events[to + 1], true) {
        to += 1;
    }
    (events[from].offset, events[to].end())
}
