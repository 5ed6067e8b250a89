//! Spelled pitch: a letter, an alteration and an octave.
//!
//! Octaves are numbered as in scientific pitch notation (middle C is C4). The line of fifths
//! (… F C G D A E B F# …) orders the names; C is 0.

use std::fmt;
use std::str::FromStr;

/// One of the seven letters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[allow(missing_docs)]
pub enum Letter {
    C,
    D,
    E,
    F,
    G,
    A,
    B,
}

impl Letter {
    /// All letters, upwards from C.
    pub const ALL: [Letter; 7] =
        [Letter::C, Letter::D, Letter::E, Letter::F, Letter::G, Letter::A, Letter::B];

    /// Steps above C, 0 to 6.
    pub fn step(self) -> u8 {
        self as u8
    }

    /// The letter so many steps above C, counted around the seven.
    pub fn from_step(step: i32) -> Letter {
        Letter::ALL[step.rem_euclid(7) as usize]
    }

    /// Semitones above C of the natural note.
    pub fn semitones(self) -> i32 {
        [0, 2, 4, 5, 7, 9, 11][self as usize]
    }

    /// Place of the natural note on the line of fifths, C = 0.
    pub fn fifths(self) -> i32 {
        [0, 2, 4, -1, 1, 3, 5][self as usize]
    }

    /// The letter as a capital.
    pub fn to_char(self) -> char {
        ['C', 'D', 'E', 'F', 'G', 'A', 'B'][self as usize]
    }

    /// The letter that a character names, in either case.
    pub fn from_char(c: char) -> Option<Letter> {
        Letter::ALL.into_iter().find(|l| l.to_char() == c.to_ascii_uppercase())
    }
}

/// A letter and its alteration, in no particular octave: "F#".
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PitchName {
    /// The letter.
    pub letter: Letter,
    /// Semitones up (sharps) or down (flats).
    pub alter: i8,
}

impl PitchName {
    /// A name from its parts.
    pub const fn new(letter: Letter, alter: i8) -> PitchName {
        PitchName { letter, alter }
    }

    /// Place on the line of fifths: F −1, C 0, G 1 … F# 6.
    pub fn fifths(self) -> i32 {
        self.letter.fifths() + 7 * i32::from(self.alter)
    }

    /// The name at a place on the line of fifths.
    pub fn from_fifths(fifths: i32) -> PitchName {
        const NATURALS: [Letter; 7] =
            [Letter::F, Letter::C, Letter::G, Letter::D, Letter::A, Letter::E, Letter::B];
        let place = fifths + 1;
        PitchName {
            letter: NATURALS[place.rem_euclid(7) as usize],
            alter: place.div_euclid(7) as i8,
        }
    }

    /// Pitch class 0 to 11, C = 0.
    pub fn pitch_class(self) -> u8 {
        (self.letter.semitones() + i32::from(self.alter)).rem_euclid(12) as u8
    }

    /// Whether players meet it seldom: E sharp, B sharp, C flat, F flat, and double signs.
    pub fn is_rare(self) -> bool {
        match self.letter {
            Letter::E | Letter::B => self.alter > 0 || self.alter < -1,
            Letter::C | Letter::F => self.alter < 0 || self.alter > 1,
            _ => self.alter.abs() > 1,
        }
    }

    /// "F sharp", "B double flat": for sentences.
    pub fn words(self) -> String {
        let sign = match self.alter {
            0 => "",
            1 => " sharp",
            2 => " double sharp",
            -1 => " flat",
            -2 => " double flat",
            n if n > 0 => " multiple sharp",
            _ => " multiple flat",
        };
        format!("{}{sign}", self.letter.to_char())
    }

    /// "F♯", "B♭♭": for symbols and titles.
    pub fn symbol(self) -> String {
        let sign = if self.alter > 0 { '♯' } else { '♭' };
        let mut text = String::from(self.letter.to_char());
        text.extend(std::iter::repeat_n(sign, usize::from(self.alter.unsigned_abs())));
        text
    }
}

/// "F#", "Bbb": for machines.
impl fmt::Display for PitchName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.alter > 0 { "#" } else { "b" };
        write!(f, "{}{}", self.letter.to_char(), sign.repeat(self.alter.unsigned_abs().into()))
    }
}

impl fmt::Debug for PitchName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// Text that is not a pitch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotAPitch(pub String);

impl fmt::Display for NotAPitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "“{}” is not a pitch such as F#4", self.0)
    }
}

impl std::error::Error for NotAPitch {}

impl FromStr for PitchName {
    type Err = NotAPitch;
    /// Reads "F#", "Bb", "C##".
    fn from_str(text: &str) -> Result<PitchName, NotAPitch> {
        let bad = || NotAPitch(text.to_owned());
        let mut chars = text.chars();
        let letter = chars.next().and_then(Letter::from_char).ok_or_else(bad)?;
        let signs = chars.as_str();
        let count = i8::try_from(signs.len()).map_err(|_| bad())?;
        let alter = match signs.chars().next() {
            None => 0,
            Some('#') if signs.chars().all(|c| c == '#') => count,
            Some('b') if signs.chars().all(|c| c == 'b') => -count,
            Some(_) => return Err(bad()),
        };
        Ok(PitchName { letter, alter })
    }
}

/// A spelled pitch in an octave: "F#4".
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pitch {
    /// The name.
    pub name: PitchName,
    /// The octave the *letter* stands in: C flat 5 sounds as B4.
    pub octave: i8,
}

impl Pitch {
    /// Its name with a sign, and its octave: "F♯4".
    pub fn symbol(self) -> String {
        format!("{}{}", self.name.symbol(), self.octave)
    }

    /// A pitch from its parts.
    pub const fn new(letter: Letter, alter: i8, octave: i8) -> Pitch {
        Pitch { name: PitchName { letter, alter }, octave }
    }

    /// Semitones with middle C at 60, as in the MIDI standard.
    pub fn midi(self) -> i32 {
        12 * (i32::from(self.octave) + 1)
            + self.name.letter.semitones()
            + i32::from(self.name.alter)
    }

    /// Staff steps with C4 at 28: one per letter.
    pub fn steps(self) -> i32 {
        7 * i32::from(self.octave) + i32::from(self.name.letter.step())
    }

    /// The pitch that sounds like `midi` with the given name, if the name fits the sound.
    pub fn with_name(midi: i32, name: PitchName) -> Option<Pitch> {
        let natural = midi - i32::from(name.alter) - name.letter.semitones();
        let octave = natural.checked_div(12)? - 1;
        (natural.rem_euclid(12) == 0).then_some(Pitch { name, octave: i8::try_from(octave).ok()? })
    }

    /// The same pitch, octaves away.
    pub fn shifted_octaves(self, octaves: i8) -> Pitch {
        Pitch { octave: self.octave.saturating_add(octaves), ..self }
    }

    /// Moved by steps and semitones together, so that the spelling follows the interval.
    pub fn transposed(self, steps: i32, semitones: i32) -> Pitch {
        let target = self.steps() + steps;
        let letter = Letter::from_step(target);
        let octave = target.div_euclid(7);
        let natural = 12 * (octave + 1) + letter.semitones();
        let alter = (self.midi() + semitones - natural).clamp(-9, 9);
        Pitch {
            name: PitchName { letter, alter: alter as i8 },
            octave: octave.clamp(-100, 100) as i8,
        }
    }
}

/// The letter steps of the interval that so many semitones are usually named by: a second, a third … with the
/// fewest signs. Downwards for a negative number.
pub fn usual_steps(semitones: i32) -> i32 {
    const STEPS: [i32; 12] = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6];
    let size = semitones.abs();
    let steps = 7 * (size / 12) + STEPS[(size % 12) as usize];
    steps * semitones.signum()
}

/// "F#4": for machines.
impl fmt::Display for Pitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.name, self.octave)
    }
}

impl fmt::Debug for Pitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Pitch {
    type Err = NotAPitch;
    /// Reads "F#4", "Bb3", "C##-1".
    fn from_str(text: &str) -> Result<Pitch, NotAPitch> {
        let split = text
            .find(|c: char| c.is_ascii_digit() || c == '-')
            .ok_or_else(|| NotAPitch(text.to_owned()))?;
        let (name, octave) = text.split_at(split);
        let octave = octave.parse().map_err(|_| NotAPitch(text.to_owned()))?;
        Ok(Pitch { name: name.parse()?, octave })
    }
}

/// From text such as "F#4", in the data tables.
impl<'de> serde::Deserialize<'de> for Pitch {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Pitch, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

/// From text such as "F#", in the data tables.
impl<'de> serde::Deserialize<'de> for PitchName {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<PitchName, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

/// A text such as "F#4".
impl schemars::JsonSchema for Pitch {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Pitch".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "string", "pattern": "^[A-G](#*|b*)-?[0-9]+$" })
    }
}

/// A text such as "F#".
impl schemars::JsonSchema for PitchName {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "PitchName".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "string", "pattern": "^[A-G](#*|b*)$" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pitch(text: &str) -> Pitch {
        text.parse().unwrap()
    }

    #[test]
    fn sounds() {
        for (text, midi) in [("C4", 60), ("Cb5", 71), ("B#3", 60), ("F##4", 67), ("A-1", 9)] {
            assert_eq!(pitch(text).midi(), midi, "{text}");
        }
    }

    #[test]
    fn names_on_the_line_of_fifths() {
        for fifths in -20..=20 {
            assert_eq!(PitchName::from_fifths(fifths).fifths(), fifths);
        }
        assert_eq!(PitchName::from_fifths(6).to_string(), "F#");
        assert_eq!(PitchName::from_fifths(-9).to_string(), "Bbb");
    }

    #[test]
    fn renaming_keeps_the_sound() {
        let g_sharp = Pitch::with_name(68, "G#".parse().unwrap()).unwrap();
        assert_eq!(g_sharp, pitch("G#4"));
        assert_eq!(Pitch::with_name(71, "Cb".parse().unwrap()), Some(pitch("Cb5")));
        assert_eq!(Pitch::with_name(60, "B#".parse().unwrap()), Some(pitch("B#3")));
        assert_eq!(Pitch::with_name(60, "D".parse().unwrap()), None);
    }

    #[test]
    fn transposing_follows_the_interval() {
        assert_eq!(pitch("C4").transposed(-1, -2), pitch("Bb3"));
        assert_eq!(pitch("F#4").transposed(4, 7), pitch("C#5"));
    }

    #[test]
    fn semitones_have_usual_steps() {
        for (semitones, steps) in [(0, 0), (-2, -1), (-3, -2), (7, 4), (12, 7), (-14, -8)] {
            assert_eq!(usual_steps(semitones), steps, "{semitones}");
        }
    }

    #[test]
    fn words_and_symbols() {
        let name: PitchName = "Ab".parse().unwrap();
        assert_eq!(name.words(), "A flat");
        assert_eq!(name.symbol(), "A♭");
        assert!("H#".parse::<PitchName>().is_err());
        assert!("C#b".parse::<PitchName>().is_err());
    }
}
