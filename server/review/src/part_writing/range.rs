//! Notes beyond what a chorale asks of each voice.

use super::{At, Part, Parts};
use recte_theory::{Letter, Pitch, PitchName};

/// The notes of a part beyond one end of its range.
pub(crate) struct Beyond {
    pub(crate) part: Part,
    pub(crate) above: bool,
    pub(crate) notes: Vec<At>,
}

impl Part {
    /// What handbooks give each voice: the lowest and the highest note.
    pub(crate) fn range(self) -> (Pitch, Pitch) {
        let pitch = |letter, octave| Pitch { name: PitchName::new(letter, 0), octave };
        match self {
            Part::Soprano => (pitch(Letter::C, 4), pitch(Letter::G, 5)),
            Part::Alto => (pitch(Letter::G, 3), pitch(Letter::D, 5)),
            Part::Tenor => (pitch(Letter::C, 3), pitch(Letter::G, 4)),
            Part::Bass => (pitch(Letter::E, 2), pitch(Letter::D, 4)),
        }
    }
}

/// In semitones: so far beyond either end good choirs are asked to go.
const ALLOWED: i32 = 2;

impl Parts {
    /// The parts that go beyond their range, in the order of their first such note.
    pub(crate) fn beyond(&self) -> Vec<Beyond> {
        let mut found = Vec::new();
        for (line, part) in self.parts.iter().enumerate() {
            let Some(part) = *part else { continue };
            let (low, high) = part.range();
            for above in [false, true] {
                let tones = self.lines[line].tones.iter().enumerate();
                let out = tones.filter(|(_, tone)| match above {
                    true => tone.pitch.midi() > high.midi() + ALLOWED,
                    false => tone.pitch.midi() < low.midi() - ALLOWED,
                });
                let notes: Vec<At> = out.map(|(place, _)| (line, place)).collect();
                if !notes.is_empty() {
                    found.push(Beyond { part, above, notes });
                }
            }
        }
        found.sort_by_key(|one| one.notes.first().map(|at| self.tone(*at).onset));
        found
    }
}
