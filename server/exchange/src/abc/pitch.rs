//! Notes as typed: an accidental only where the key and the bar do not say it already. An accidental reaches
//! to the bar line in every octave (abc standard v2.1, 4.2); a tie brings its own (common practice).

use recte_notation::write::pitch_text;
use recte_theory::key::Signature;
use recte_theory::{Letter, Pitch};

/// What a bare letter means, in one voice, at one moment.
#[derive(Clone)]
pub(super) struct Spelling {
    pub(super) signature: Signature,
    /// Octaves the clef sounds away from what is typed.
    pub(super) octaves: i8,
    /// Accidentals since the bar line, the last one last.
    seen: Vec<(Letter, i8)>,
    /// Notes whose tie is open, with their layer.
    tied: Vec<(usize, Pitch)>,
}

impl Spelling {
    pub(super) fn new(signature: Signature, octaves: i8) -> Spelling {
        Spelling { signature, octaves, seen: Vec::new(), tied: Vec::new() }
    }

    /// A bar line, or a new layer.
    pub(super) fn forget(&mut self) {
        self.seen.clear();
    }

    /// A note or rest of the layer begins: these notes are tied onward, no others any more.
    pub(super) fn tie(&mut self, layer: usize, notes: impl Iterator<Item = Pitch>) {
        self.tied.retain(|(at, _)| *at != layer);
        self.tied.extend(notes.map(|pitch| (layer, pitch)));
    }

    fn bare(&self, layer: usize, pitch: Pitch) -> i8 {
        let tied =
            self.tied.iter().find(|(at, tied)| *at == layer && tied.steps() == pitch.steps());
        if let Some((_, tied)) = tied {
            return tied.name.alter;
        }
        let letter = pitch.name.letter;
        let seen = self.seen.iter().rev().find(|(seen, _)| *seen == letter);
        seen.map_or_else(|| self.signature.alter(letter), |(_, alter)| *alter)
    }

    /// A note without its length; `courtesy` asks for its accidental in any case.
    pub(super) fn note(&mut self, layer: usize, pitch: Pitch, courtesy: bool) -> String {
        let typed = pitch.shifted_octaves(-self.octaves);
        let accidental = courtesy || self.bare(layer, pitch) != pitch.name.alter;
        if accidental {
            self.seen.push((pitch.name.letter, pitch.name.alter));
        }
        pitch_text(typed, accidental)
    }
}
