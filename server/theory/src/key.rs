//! Keys and key signatures.
//!
//! Modes are steps on the line of fifths away from major: mixolydian −1, dorian −2, minor −3,
//! phrygian −4, locrian −5, lydian +1 (abc standard v2.1, 3.1.14; also any handbook of modes).

use crate::pitch::{Letter, PitchName};
use std::fmt;

/// A mode of the seven-note scale.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[allow(missing_docs)]
pub enum Mode {
    #[default]
    Major,
    Minor,
    Dorian,
    Phrygian,
    Lydian,
    Mixolydian,
    Locrian,
}

impl Mode {
    /// Fifths away from the major signature on the same tonic.
    pub fn fifths(self) -> i32 {
        match self {
            Mode::Lydian => 1,
            Mode::Major => 0,
            Mode::Mixolydian => -1,
            Mode::Dorian => -2,
            Mode::Minor => -3,
            Mode::Phrygian => -4,
            Mode::Locrian => -5,
        }
    }

    /// Its name in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Mode::Major => "major",
            Mode::Minor => "minor",
            Mode::Dorian => "dorian",
            Mode::Phrygian => "phrygian",
            Mode::Lydian => "lydian",
            Mode::Mixolydian => "mixolydian",
            Mode::Locrian => "locrian",
        }
    }
}

/// The alterations a key signature gives to each letter, in every octave.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Signature {
    alters: [i8; 7],
}

impl Signature {
    /// The usual signature of so many sharps (positive) or flats (negative).
    pub fn from_fifths(fifths: i32) -> Signature {
        let mut alters = [0; 7];
        for letter in Letter::ALL {
            // F gets its first sharp at 1, its second at 8; B its first flat at -1.
            let sharps = (fifths + 5 - letter.fifths()).div_euclid(7);
            alters[letter as usize] = sharps.clamp(-3, 3) as i8;
        }
        Signature { alters }
    }

    /// What it does to a letter.
    pub fn alter(&self, letter: Letter) -> i8 {
        self.alters[letter as usize]
    }

    /// Changes what it does to one letter.
    pub fn set(&mut self, letter: Letter, alter: i8) {
        self.alters[letter as usize] = alter;
    }

    /// Whether a name is one of the seven it gives.
    pub fn contains(&self, name: PitchName) -> bool {
        self.alter(name.letter) == name.alter
    }

    /// The number of sharps (positive) or flats (negative), when it is one of the usual signatures.
    pub fn fifths(&self) -> Option<i32> {
        (-7..=7).find(|&n| Signature::from_fifths(n) == *self)
    }
}

/// A key: what was said of the tonic, and the signature.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Key {
    /// The tonic, unless the music claims none (`K:none`, explicit accidentals only).
    pub tonic: Option<PitchName>,
    /// The mode; major when none was said.
    pub mode: Mode,
    /// The signature in force.
    pub signature: Signature,
}

impl Key {
    /// The usual key on a tonic.
    pub fn new(tonic: PitchName, mode: Mode) -> Key {
        let signature = Signature::from_fifths(tonic.fifths() + mode.fifths());
        Key { tonic: Some(tonic), mode, signature }
    }

    /// The degree (1 to 7) of a name and how far it is altered from that key's own note, if there is a tonic.
    pub fn degree(&self, name: PitchName) -> Option<(u8, i8)> {
        let tonic = self.tonic?;
        let steps = i32::from(name.letter.step()) - i32::from(tonic.letter.step());
        let own = Signature::from_fifths(tonic.fifths() + self.mode.fifths()).alter(name.letter);
        Some((steps.rem_euclid(7) as u8 + 1, name.alter - own))
    }
}

/// "E minor", or "no key".
impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.tonic {
            Some(tonic) => write!(f, "{tonic} {}", self.mode.name()),
            None => f.write_str("no key"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(tonic: &str, mode: Mode) -> Key {
        Key::new(tonic.parse().unwrap(), mode)
    }

    #[test]
    fn signatures() {
        for (tonic, mode, fifths) in [
            ("C", Mode::Major, 0),
            ("A", Mode::Minor, 0),
            ("Eb", Mode::Major, -3),
            ("E", Mode::Dorian, 2),
            ("F#", Mode::Major, 6),
            ("B", Mode::Locrian, 0),
            ("F", Mode::Lydian, 0),
            ("Cb", Mode::Major, -7),
        ] {
            assert_eq!(key(tonic, mode).signature.fifths(), Some(fifths), "{tonic} {mode:?}");
        }
        assert_eq!(Signature::from_fifths(2).alter(Letter::C), 1);
        assert_eq!(Signature::from_fifths(2).alter(Letter::G), 0);
        assert_eq!(Signature::from_fifths(-1).alter(Letter::B), -1);
    }

    #[test]
    fn degrees() {
        let g_minor = key("G", Mode::Minor);
        assert_eq!(g_minor.degree("F#".parse().unwrap()), Some((7, 1)));
        assert_eq!(g_minor.degree("Eb".parse().unwrap()), Some((6, 0)));
        assert_eq!(Key::default().degree("C".parse().unwrap()), None);
    }
}
