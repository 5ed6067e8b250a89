//! How far an accidental reaches (abc standard v2.1, 4.2 and 11.3).

use recte_theory::Letter;
use recte_theory::key::Signature;

/// What `%%propagate-accidentals` says.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Reach {
    /// The note alone.
    Not,
    /// The rest of the bar, in its own octave.
    Octave,
    /// The rest of the bar, in every octave: the default.
    #[default]
    Pitch,
}

impl Reach {
    pub(crate) fn named(name: &str) -> Option<Reach> {
        Some(match name {
            "not" => Reach::Not,
            "octave" => Reach::Octave,
            "pitch" => Reach::Pitch,
            _ => return None,
        })
    }
}

/// The accidentals in force since the last bar line.
#[derive(Clone, Debug, Default)]
pub(crate) struct Accidentals {
    seen: Vec<(Letter, i8, i8)>,
}

impl Accidentals {
    pub(crate) fn clear(&mut self) {
        self.seen.clear();
    }

    /// Records a typed accidental.
    pub(crate) fn record(&mut self, letter: Letter, octave: i8, alter: i8) {
        self.seen.push((letter, octave, alter));
    }

    /// The alteration a bare letter has.
    pub(crate) fn alter(&self, letter: Letter, octave: i8, reach: Reach, key: &Signature) -> i8 {
        let found = self.seen.iter().rev().find(|(seen, at, _)| {
            *seen == letter
                && match reach {
                    Reach::Not => false,
                    Reach::Octave => *at == octave,
                    Reach::Pitch => true,
                }
        });
        found.map_or_else(|| key.alter(letter), |(_, _, alter)| *alter)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reach() {
        let mut seen = Accidentals::default();
        seen.record(Letter::F, 4, 1);
        let key = Signature::default();
        let alter = |octave, reach| seen.alter(Letter::F, octave, reach, &key);
        assert_eq!((alter(4, Reach::Not), alter(5, Reach::Not)), (0, 0));
        assert_eq!((alter(4, Reach::Octave), alter(5, Reach::Octave)), (1, 0));
        assert_eq!((alter(4, Reach::Pitch), alter(5, Reach::Pitch)), (1, 1));
    }
}
