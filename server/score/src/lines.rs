//! Lines: what one singer or one hand goes along, note after note.

use crate::figures::NoteRef;
use crate::sounding::soundings;
use crate::tune::Tune;
use recte_theory::{Pitch, Time};

/// One note of a line, with what is tied to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tone {
    /// When it begins, in whole notes from the beginning.
    pub onset: Time,
    /// When it ends.
    pub end: Time,
    /// What sounds.
    pub pitch: Pitch,
    /// The bar it begins in, by index.
    pub bar: u32,
    /// The first of its notes.
    pub at: NoteRef,
}

/// A layer of a voice; of chords, all their highest notes, all their second notes, and so on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The voice, by index.
    pub voice: u32,
    /// The layer, 0 without overlays.
    pub layer: u8,
    /// The place in its chords, counted from the highest note.
    pub rank: u8,
    /// Its notes in time; between two of them there may be rests.
    pub tones: Vec<Tone>,
}

impl Line {
    /// The note that sounds at a moment, by its place in the line.
    pub fn at(&self, moment: Time) -> Option<usize> {
        let after = self.tones.partition_point(|tone| tone.onset <= moment);
        after.checked_sub(1).filter(|&at| moment < self.tones[at].end)
    }

    /// The note that follows one without a rest between.
    pub fn next(&self, at: usize) -> Option<&Tone> {
        self.tones.get(at + 1).filter(|next| next.onset == self.tones[at].end)
    }

    /// The note before one without a rest between.
    pub fn before(&self, at: usize) -> Option<&Tone> {
        let before = self.tones.get(at.checked_sub(1)?)?;
        (before.end == self.tones[at].onset).then_some(before)
    }
}

/// The lines of a tune, in the order typed; those without a note are left out. Grace notes belong to none, and parts
/// for percussion have none.
pub fn lines(tune: &Tune) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for row in soundings(tune) {
        let voice = &tune.voices[row.voice as usize];
        if voice.clef.is_percussion() {
            continue;
        }
        let event = voice.event_of(row.note);
        let higher = voice.notes_of(event).iter().zip(event.notes.clone());
        let own = (row.pitch.midi(), std::cmp::Reverse(row.note));
        let rank = higher.filter(|(note, at)| (note.pitch.midi(), std::cmp::Reverse(*at)) > own);
        let (layer, rank) = (event.layer, rank.count().min(u8::MAX.into()) as u8);
        let tone = Tone {
            onset: row.onset,
            end: row.end,
            pitch: row.pitch,
            bar: event.bar,
            at: NoteRef { voice: row.voice, note: row.note },
        };
        let same =
            |line: &&mut Line| line.voice == row.voice && line.layer == layer && line.rank == rank;
        match lines.iter_mut().find(same) {
            Some(line) => line.tones.push(tone),
            None => lines.push(Line { voice: row.voice, layer, rank, tones: vec![tone] }),
        }
    }
    for line in &mut lines {
        line.tones.sort_by_key(|tone| tone.onset);
    }
    lines.sort_by_key(|line| (line.voice, line.layer, line.rank));
    lines
}
