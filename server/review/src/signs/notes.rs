//! The notes of some bars, each with what it would be without its accidental.

use super::Page;
use recte_notation::Reach;
use recte_notation::write::{Retyped, Sign, signs};
use recte_score::{Tune, Voice};
use recte_theory::{Letter, Pitch};
use std::collections::BTreeMap;

/// A note, and what it would be without its accidental.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row {
    /// The note, by index in its voice.
    pub(crate) note: u32,
    /// What is read.
    pub(crate) written: Pitch,
    /// Whether its accidental is typed.
    pub(crate) signed: bool,
    pub(super) implied: i8,
    /// Where it stands in the text.
    pub(super) place: u32,
    pub(super) event: u32,
    pub(super) bar: u32,
    pub(super) layer: u8,
    pub(super) key: u16,
    pub(super) grace: bool,
    pub(super) tied_in: bool,
}

impl Row {
    fn of(voice: &Voice, sign: Sign) -> Row {
        let note = &voice.notes[sign.note as usize];
        let event = &voice.events[note.event as usize];
        Row {
            note: sign.note,
            written: sign.written,
            signed: sign.signed,
            implied: sign.implied,
            place: note.span.start,
            event: note.event,
            bar: event.bar,
            layer: event.layer,
            key: event.key,
            grace: event.grace,
            tied_in: note.tied_in,
        }
    }

    pub(super) fn letter(&self) -> Letter {
        self.written.name.letter
    }

    pub(super) fn alter(&self) -> i8 {
        self.written.name.alter
    }

    pub(super) fn other_alteration(&self, other: &Row) -> bool {
        self.letter() == other.letter() && self.alter() != other.alter()
    }
}

/// What the composer does, by where in the text it is first done.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Habits {
    /// Leaves an accidental out that the bar gives, before any is written again.
    pub(super) omits: Option<u32>,
    /// Reminds of an alteration that was undone by the bar line.
    pub(super) reminds: Option<u32>,
}

/// The notes of some bars, by voice, and what the composer does.
pub(crate) struct Notes {
    pub(super) voices: Vec<Vec<Row>>,
    pub(super) habits: Habits,
}

impl Notes {
    /// The whole tune as it is typed.
    pub(crate) fn of(tune: &Tune, reach: Reach) -> Notes {
        let none = vec![BTreeMap::new(); tune.voices.len()];
        let mut notes = Notes::part(tune, reach, (0, u32::MAX), &none, Habits::default());
        let page = Page { tune, notes: &notes };
        let habits = page.habits();
        notes.habits = habits;
        notes
    }

    /// Some bars of every voice, some of their notes retyped (by voice and note), under habits that are known.
    pub(super) fn part(
        tune: &Tune,
        reach: Reach,
        bars: (u32, u32),
        retyped: &[BTreeMap<u32, Retyped>],
        habits: Habits,
    ) -> Notes {
        let rows = |(voice, anew): (&Voice, &BTreeMap<u32, Retyped>)| {
            // Places on a staff for percussion have no alteration.
            if voice.clef.is_percussion() {
                return Vec::new();
            }
            let all = signs(tune, reach, voice, bars, anew);
            all.into_iter().map(|sign| Row::of(voice, sign)).collect()
        };
        Notes { voices: tune.voices.iter().zip(retyped).map(rows).collect(), habits }
    }
}
