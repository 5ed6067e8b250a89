//! Intervals between spelled pitches: "minor third", "augmented sixth".

use crate::pitch::{Letter, Pitch, PitchName};
use std::fmt;

/// The kinds an interval can be of.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Kind {
    /// Unison, fourth, fifth, octave as they stand in the major scale.
    Perfect,
    /// Second, third, sixth, seventh as they stand in the major scale.
    Major,
    /// A semitone less than major.
    Minor,
    /// So many semitones more than perfect or major.
    Augmented(u8),
    /// So many semitones less than perfect or minor.
    Diminished(u8),
}

/// A spelled interval, upwards.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Interval {
    /// Letter steps: 0 unison, 2 third, 7 octave, 9 tenth.
    pub steps: i32,
    /// Semitones.
    pub semitones: i32,
}

impl Interval {
    /// The interval from the lower to the higher pitch, whichever comes first.
    pub fn between(a: Pitch, b: Pitch) -> Interval {
        let (steps, semitones) = (b.steps() - a.steps(), b.midi() - a.midi());
        if steps < 0 || (steps == 0 && semitones < 0) {
            Interval { steps: -steps, semitones: -semitones }
        } else {
            Interval { steps, semitones }
        }
    }

    /// The interval upwards between two names, within an octave.
    pub fn between_names(low: PitchName, high: PitchName) -> Interval {
        let steps = (i32::from(high.letter.step()) - i32::from(low.letter.step())).rem_euclid(7);
        let natural = (high.letter.semitones() - low.letter.semitones()).rem_euclid(12);
        Interval { steps, semitones: natural + i32::from(high.alter) - i32::from(low.alter) }
    }

    /// How far it moves a name on the line of fifths: a perfect fifth 1, a minor third −3.
    pub fn fifths(self) -> i32 {
        7 * self.semitones - 12 * self.steps
    }

    /// Its kind.
    pub fn kind(self) -> Kind {
        const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
        let simple = self.steps.rem_euclid(7);
        let usual = MAJOR[simple as usize] + 12 * self.steps.div_euclid(7);
        let difference = self.semitones - usual;
        let size = |n: i32| u8::try_from(n).unwrap_or(u8::MAX);
        match (matches!(simple, 0 | 3 | 4), difference) {
            (true, 0) => Kind::Perfect,
            (false, 0) => Kind::Major,
            (false, -1) => Kind::Minor,
            (_, up) if up > 0 => Kind::Augmented(size(up)),
            (true, down) => Kind::Diminished(size(-down)),
            (false, down) => Kind::Diminished(size(-down - 1)),
        }
    }
}

/// Text that is not an interval.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotAnInterval(pub String);

impl fmt::Display for NotAnInterval {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "“{}” is not an interval such as m3 or A6", self.0)
    }
}

impl std::error::Error for NotAnInterval {}

impl std::str::FromStr for Interval {
    type Err = NotAnInterval;
    /// Reads "P5", "m3", "M10", "A6", "AA4", "d7".
    fn from_str(text: &str) -> Result<Interval, NotAnInterval> {
        let bad = || NotAnInterval(text.to_owned());
        let number = text.find(|c: char| c.is_ascii_digit()).ok_or_else(bad)?;
        let (kind, number) = text.split_at(number);
        let number: u8 = number.parse().map_err(|_| bad())?;
        let steps = i32::from(number.checked_sub(1).ok_or_else(bad)?);
        let usual = Letter::from_step(steps).semitones() + 12 * (steps / 7);
        let perfect = matches!(steps % 7, 0 | 3 | 4);
        let size = kind.len() as i32;
        let change = match (kind, perfect) {
            ("P", true) | ("M", false) => 0,
            ("m", false) => -1,
            _ if size > 0 && kind.bytes().all(|b| b == b'A') => size,
            _ if size > 0 && kind.bytes().all(|b| b == b'd') => -size - i32::from(!perfect),
            _ => return Err(bad()),
        };
        Ok(Interval { steps, semitones: usual + change })
    }
}

/// What intervals are called by their size, from no step to fourteen.
pub const SIZES: [&str; 15] = [
    "unison",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "octave",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "double octave",
];

/// "minor third", "augmented fifth", "doubly diminished octave", "major tenth".
impl fmt::Display for Interval {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = match self.kind() {
            Kind::Perfect => "perfect",
            Kind::Major => "major",
            Kind::Minor => "minor",
            Kind::Augmented(1) => "augmented",
            Kind::Diminished(1) => "diminished",
            Kind::Augmented(2) => "doubly augmented",
            Kind::Diminished(2) => "doubly diminished",
            Kind::Augmented(_) => "multiply augmented",
            Kind::Diminished(_) => "multiply diminished",
        };
        let octaves = (self.steps - 1).div_euclid(7);
        match SIZES.get(self.steps as usize) {
            Some(size) => write!(f, "{kind} {size}"),
            None => {
                let simple = SIZES[(self.steps - 7 * octaves).rem_euclid(15) as usize];
                write!(f, "{kind} {simple} and {octaves} octaves")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names() {
        for (a, b, name) in [
            ("C4", "E4", "major third"),
            ("E4", "Ab4", "diminished fourth"),
            ("Ab3", "F#4", "augmented sixth"),
            ("C4", "Eb5", "minor tenth"),
            ("C4", "C4", "perfect unison"),
            ("C4", "Cbb4", "doubly augmented unison"),
            ("E5", "C4", "major tenth"),
            ("C2", "E5", "major third and 3 octaves"),
            ("B3", "Cb4", "diminished second"),
        ] {
            let (a, b) = (a.parse().unwrap(), b.parse().unwrap());
            assert_eq!(Interval::between(a, b).to_string(), name);
        }
    }

    #[test]
    fn read_from_short_names() {
        for (text, name) in [
            ("P1", "perfect unison"),
            ("m3", "minor third"),
            ("A6", "augmented sixth"),
            ("AA4", "doubly augmented fourth"),
            ("d7", "diminished seventh"),
            ("d5", "diminished fifth"),
            ("M10", "major tenth"),
        ] {
            assert_eq!(text.parse::<Interval>().unwrap().to_string(), name);
        }
        for text in ["", "P3", "M5", "m", "3", "P0", "Ad3", "P999"] {
            assert!(text.parse::<Interval>().is_err(), "{text}");
        }
        assert_eq!("m3".parse::<Interval>().unwrap().fifths(), -3);
        assert_eq!("A6".parse::<Interval>().unwrap().fifths(), 10);
    }

    #[test]
    fn between_names_stays_within_an_octave() {
        let (b, c): (PitchName, PitchName) = ("B".parse().unwrap(), "C".parse().unwrap());
        assert_eq!(Interval::between_names(b, c), Interval { steps: 1, semitones: 1 });
    }
}
