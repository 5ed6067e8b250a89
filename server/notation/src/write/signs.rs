//! What each note of a voice would be if its accidental were not typed.

use super::respell::{between_lines, tied_previous};
use crate::lower::{Accidentals, Reach};
use recte_score::{Event, Tune, Voice};
use recte_theory::Pitch;
use std::collections::BTreeMap;

/// A note under the name and with or without the accidental that it is to have, by voice and index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Retyped {
    /// The voice, by index.
    pub voice: u32,
    /// The note, by index in its voice.
    pub note: u32,
    /// What is read.
    pub written: Pitch,
    /// Whether its accidental is typed.
    pub signed: bool,
}

/// A note as it is read, and what it would be without its accidental.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sign {
    /// The note, by index in its voice.
    pub note: u32,
    /// What is read.
    pub written: Pitch,
    /// Whether its accidental is typed.
    pub signed: bool,
    /// The alteration that the bar, a tie or the signature gives it.
    pub implied: i8,
}

/// The notes of some bars of a voice, some of them retyped. Bars are taken whole: as many more as the
/// accidentals of the first and last of them reach.
pub fn signs(
    tune: &Tune,
    reach: Reach,
    voice: &Voice,
    (first, last): (u32, u32),
    retyped: &BTreeMap<u32, Retyped>,
) -> Vec<Sign> {
    if voice.bars.is_empty() {
        return Vec::new();
    }
    let end = voice.bars.len() as u32 - 1;
    let (first, last) = (first.min(end), last.min(end));
    let bars = between_lines(voice, first).0..=between_lines(voice, last).1;
    let now = |note: u32| match retyped.get(&note) {
        Some(retyped) => (retyped.written, retyped.signed),
        None => {
            let note = &voice.notes[note as usize];
            (note.written, note.accidental.is_some())
        }
    };
    let mut force = InForce::new(tune, reach);
    let mut all = Vec::new();
    for bar in &voice.bars[*bars.start() as usize..=*bars.end() as usize] {
        for event in voice.events_of(bar) {
            force.come_to(event);
            for note in event.notes.clone() {
                let (written, signed) = now(note);
                let tied = tied_previous(voice, note).map(|from| now(from).0);
                let implied = force.implied(event, written, tied);
                if signed {
                    force.record(written);
                }
                all.push(Sign { note, written, signed, implied });
            }
        }
        if bar.line.is_some() {
            force.clear();
        }
    }
    all
}

/// The accidentals in force on the way through the bars of a voice.
pub(super) struct InForce<'a> {
    tune: &'a Tune,
    reach: Reach,
    seen: Accidentals,
    layer: u8,
}

impl<'a> InForce<'a> {
    /// At the beginning of a bar.
    pub(super) fn new(tune: &'a Tune, reach: Reach) -> InForce<'a> {
        InForce { tune, reach, seen: Accidentals::default(), layer: 0 }
    }

    /// A bar line.
    pub(super) fn clear(&mut self) {
        self.seen.clear();
        self.layer = 0;
    }

    /// The next event: a layer begins afresh.
    pub(super) fn come_to(&mut self, event: &Event) {
        if event.layer != self.layer {
            self.seen.clear();
            self.layer = event.layer;
        }
    }

    /// The alteration that a bare letter has there, after the note that is tied to it.
    pub(super) fn implied(&self, event: &Event, written: Pitch, tied: Option<Pitch>) -> i8 {
        let from = tied.filter(|from| from.steps() == written.steps());
        let (letter, octave) = (written.name.letter, written.octave);
        let signature = &self.tune.key(event).signature;
        from.map_or_else(
            || self.seen.alter(letter, octave, self.reach, signature),
            |from| from.name.alter,
        )
    }

    /// A typed accidental.
    pub(super) fn record(&mut self, written: Pitch) {
        if self.reach != Reach::Not {
            self.seen.record(written.name.letter, written.octave, written.name.alter);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Lowered, lower};

    /// The implied alterations of the first voice, note by note.
    fn implied(text: &str) -> Vec<i8> {
        let Lowered { tune, reach, .. } = lower(text);
        let all = signs(&tune, reach, &tune.voices[0], (0, u32::MAX), &BTreeMap::new());
        all.iter().map(|sign| sign.implied).collect()
    }

    #[test]
    fn by_signature_bar_and_tie() {
        assert_eq!(implied("X:1\nK:G\n^F=FF^c|cf-|f|\n"), [1, 1, 0, 0, 0, 1, 1]);
        assert_eq!(implied("X:1\nK:C\n^F2-|FF|\n"), [0, 1, 0]);
    }

    #[test]
    fn by_reach() {
        let text = |reach| format!("X:1\nI:propagate-accidentals {reach}\nK:C\n^FFf|\n");
        assert_eq!(implied(&text("pitch")), [0, 1, 1]);
        assert_eq!(implied(&text("octave")), [0, 1, 0]);
        // Where nothing carries over, F is natural again.
        assert_eq!(implied(&text("not")), [0, 0, 0]);
    }

    #[test]
    fn a_bare_note_is_what_is_implied() {
        let text = "X:1\nM:2/4\nL:1/4\nK:Bb\n^FE&_a=B|FF\nF=E\nE_e|[^ce]c-|cc|\n";
        let Lowered { tune, reach, .. } = lower(text);
        let all = signs(&tune, reach, &tune.voices[0], (0, u32::MAX), &BTreeMap::new());
        assert_eq!(all.len(), tune.voices[0].notes.len());
        for sign in all.iter().filter(|sign| !sign.signed) {
            assert_eq!(sign.implied, sign.written.name.alter, "{sign:?}");
        }
    }
}
