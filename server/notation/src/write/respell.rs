//! Respelling notes: the text of their accidentals and letters, and of every later note that leaned on them.

use super::TextEdit;
use super::pitch::pitch_text;
use super::signs::{InForce, Retyped};
use crate::lower::Reach;
use recte_score::{Event, Tune, Voice};
use recte_theory::{Pitch, PitchName};
use std::collections::{BTreeMap, BTreeSet};

/// A note, by voice and index, and the name it is to be read by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Respelling {
    /// The voice, by index.
    pub voice: u32,
    /// The note, by index in its voice.
    pub note: u32,
    /// Its new written name; it must fit the written sound.
    pub name: PitchName,
}

/// The edits that respell these notes and change the reading of no other.
///
/// Notes tied to them are respelled with them. `None` if a name does not fit its sound.
pub fn respell(tune: &Tune, reach: Reach, wanted: &[Respelling]) -> Option<Vec<TextEdit>> {
    Some(typed(tune, &retype(tune, reach, wanted)?))
}

/// The notes that respelling these would type anew: themselves, those tied to them, and those that leaned on them.
/// `None` if a name does not fit its sound.
pub fn retype(tune: &Tune, reach: Reach, wanted: &[Respelling]) -> Option<Vec<Retyped>> {
    let mut retyped = Vec::new();
    for (index, voice) in tune.voices.iter().enumerate() {
        let mut names = BTreeMap::new();
        for one in wanted.iter().filter(|one| one.voice as usize == index) {
            let written = voice.notes.get(one.note as usize)?.written;
            for note in tied_together(voice, one.note) {
                names.insert(note, Pitch::with_name(written.midi(), one.name)?);
            }
        }
        retyped.extend(retyped_in(tune, reach, index as u32, &names));
    }
    Some(retyped)
}

/// The notes of a voice that are typed anew where these are read under other pitches.
pub(super) fn retyped_in(
    tune: &Tune,
    reach: Reach,
    number: u32,
    names: &BTreeMap<u32, Pitch>,
) -> Vec<Retyped> {
    let voice = &tune.voices[number as usize];
    let mut retyped = Vec::new();
    let runs: BTreeSet<(u32, u32)> =
        names.keys().map(|&note| between_lines(voice, voice.event_of(note).bar)).collect();
    for (first, last) in runs {
        Writer { tune, number, voice, reach, names, retyped: &mut retyped }.bars(first, last);
    }
    retyped
}

/// The edits that type notes anew.
pub fn typed(tune: &Tune, retyped: &[Retyped]) -> Vec<TextEdit> {
    let edit = |one: &Retyped| {
        let note = tune.voices.get(one.voice as usize)?.notes.get(one.note as usize)?;
        let typed = one.written.shifted_octaves(-note.octave_shift);
        Some(TextEdit { span: note.span, text: pitch_text(typed, one.signed) })
    };
    retyped.iter().filter_map(edit).collect()
}

/// The bars from one typed bar line to the next: accidentals reach over a line end that stands for one.
pub(super) fn between_lines(voice: &Voice, bar: u32) -> (u32, u32) {
    let line = |bar: u32| voice.bars.get(bar as usize).is_none_or(|bar| bar.line.is_some());
    let first = (1..=bar).rev().find(|&at| line(at - 1)).unwrap_or(0);
    let end = voice.bars.len() as u32 - 1;
    (first, (bar..end).find(|&at| line(at)).unwrap_or(end))
}

/// The notes that ties join into one sound with this one.
pub fn tied_together(voice: &Voice, note: u32) -> Vec<u32> {
    let mut all = vec![note];
    let mut at = note;
    while let Some(next) = tied_next(voice, at) {
        all.push(next);
        at = next;
    }
    at = note;
    while let Some(previous) = tied_previous(voice, at) {
        all.push(previous);
        at = previous;
    }
    all
}

fn tied_next(voice: &Voice, note: u32) -> Option<u32> {
    let from = &voice.notes[note as usize];
    let layer = voice.event_of(note).layer;
    from.tied_out.then_some(())?;
    (from.event as usize + 1..voice.events.len())
        .map(|index| &voice.events[index])
        .find(|event| event.sounds() && event.layer == layer)?
        .notes
        .clone()
        .find(|&to| {
            let to = &voice.notes[to as usize];
            to.tied_in && to.pitch.midi() == from.pitch.midi()
        })
}

pub(super) fn tied_previous(voice: &Voice, note: u32) -> Option<u32> {
    let to = &voice.notes[note as usize];
    let layer = voice.event_of(note).layer;
    to.tied_in.then_some(())?;
    (0..to.event as usize)
        .rev()
        .map(|index| &voice.events[index])
        .find(|event| event.sounds() && event.layer == layer)?
        .notes
        .clone()
        .find(|&from| {
            let from = &voice.notes[from as usize];
            from.tied_out && to.pitch.midi() == from.pitch.midi()
        })
}

struct Writer<'a> {
    tune: &'a Tune,
    number: u32,
    voice: &'a Voice,
    reach: Reach,
    names: &'a BTreeMap<u32, Pitch>,
    retyped: &'a mut Vec<Retyped>,
}

impl Writer<'_> {
    fn bars(&mut self, first: u32, last: u32) {
        let voice = self.voice;
        let bars = &voice.bars[first as usize..=last as usize];
        let mut force = InForce::new(self.tune, self.reach);
        for event in bars.iter().flat_map(|bar| voice.events_of(bar)) {
            force.come_to(event);
            for note in event.notes.clone() {
                self.note(event, note, &mut force);
            }
        }
    }

    fn target(&self, note: u32) -> Pitch {
        self.names.get(&note).copied().unwrap_or(self.voice.notes[note as usize].written)
    }

    fn note(&mut self, event: &Event, index: u32, force: &mut InForce<'_>) {
        let note = &self.voice.notes[index as usize];
        let written = self.target(index);
        let tied = tied_previous(self.voice, index).map(|from| self.target(from));
        let implied = force.implied(event, written, tied);
        let changed = written != note.written;
        let keeps = note.accidental.is_some() && !changed;
        let signed = keeps || implied != written.name.alter;
        if signed {
            force.record(written);
        }
        if changed || signed != note.accidental.is_some() {
            self.retyped.push(Retyped { voice: self.number, note: index, written, signed });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::write::{apply, same_sound};
    use crate::{Lowered, lower};

    /// Respells the numbered notes of the first voice.
    fn check(music: &str, changes: &[(u32, &str)], expected: &str) {
        let text = format!("X:1\nL:1/4\nK:C\n{music}\n");
        let Lowered { tune, reach, .. } = lower(&text);
        let wanted: Vec<_> = changes
            .iter()
            .map(|(note, name)| Respelling { voice: 0, note: *note, name: name.parse().unwrap() })
            .collect();
        let after = apply(&text, &respell(&tune, reach, &wanted).unwrap()).unwrap();
        assert_eq!(after, format!("X:1\nL:1/4\nK:C\n{expected}\n"));
        assert!(same_sound(&tune, &lower(&after).tune));
    }

    #[test]
    fn a_note_of_a_chord() {
        check("[E_AB]4|", &[(1, "G#")], "[E^GB]4|");
    }

    #[test]
    fn later_notes_that_leaned_on_the_accidental_are_repaired() {
        check("E_AAG|", &[(1, "G#")], "E^G_A=G|");
        check("^FGF2|", &[(0, "Gb")], "_G=G^F2|");
    }

    #[test]
    fn what_nobody_leaned_on_stays() {
        check("_Bcde|_B4|", &[(0, "A#")], "^Acde|_B4|");
    }

    #[test]
    fn tied_notes_go_together() {
        check("E2_A2-|A4|", &[(1, "G#")], "E2^G2-|G4|");
        check("E2_A2-|A2A2|", &[(1, "G#")], "E2^G2-|G2A2|");
    }

    #[test]
    fn accidentals_reach_over_a_line_end_without_a_bar_line() {
        let text = "X:1\nM:4/4\nL:1/4\nK:C\n_AGFE\nA4|\n";
        let Lowered { tune, reach, .. } = lower(text);
        let name = "G#".parse().unwrap();
        let edits = respell(&tune, reach, &[Respelling { voice: 0, note: 0, name }]).unwrap();
        let after = apply(text, &edits).unwrap();
        assert_eq!(after, text.replace("_AG", "^G=G").replace("A4", "_A4"));
        assert!(same_sound(&tune, &lower(&after).tune));
    }

    #[test]
    fn octaves_follow_the_letter() {
        check("_c4|", &[(0, "B")], "B4|");
        check("c'4|", &[(0, "B#")], "^b4|");
    }

    #[test]
    fn a_name_that_does_not_fit_is_refused() {
        let Lowered { tune, reach, .. } = lower("X:1\nK:C\nC|\n");
        let name = "D".parse().unwrap();
        assert_eq!(respell(&tune, reach, &[Respelling { voice: 0, note: 0, name }]), None);
    }
}
