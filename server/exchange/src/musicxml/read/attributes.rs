//! Keys, clefs, metres, divisions, staves, transposition.

use super::measure::{PartReader, decimal};
use super::tree::Element;
use crate::sheet::{Change, Clef, KeySign, Setting};
use recte_notation::write::pitch_text;
use recte_theory::key::{Mode, Signature};
use recte_theory::{Key, Letter, Metre, Pitch, PitchName, Time};

/// A signature that says nothing of a tonic: `C exp ^f`, for the field has to begin with one.
fn signs(signature: Signature) -> KeySign {
    let mut name = "C exp".to_owned();
    for letter in Letter::ALL {
        let alter = signature.alter(letter);
        if alter != 0 {
            let pitch = Pitch { name: PitchName::new(letter, alter), octave: 5 };
            name.push_str(&format!(" {}", pitch_text(pitch, true)));
        }
    }
    KeySign { name, signature }
}

impl PartReader {
    pub(super) fn attributes(&mut self, element: Element<'_, '_>) -> Result<(), String> {
        for child in element.children() {
            match child.name() {
                "divisions" => self.set_divisions(child.text())?,
                "staves" => {
                    let staves = child.text().parse().ok().filter(|count| (1..=16).contains(count));
                    self.part.staves = self.part.staves.max(staves.unwrap_or(1));
                }
                "key" => {
                    let key = self.key(child);
                    self.change(child, Setting::Key(key));
                }
                "time" => self.metre(child),
                "clef" => {
                    let clef = self.clef(child);
                    self.change(child, Setting::Clef(clef));
                }
                "transpose" => self.transpose(child),
                "staff-details" => self.staff_details(child),
                "measure-style" => self.measure_style(child),
                "part-symbol" | "instruments" | "directive" | "footnote" | "level" => {}
                "for-part" => self.notice("the transposition of single parts is left out"),
                _ => {}
            }
        }
        Ok(())
    }

    fn set_divisions(&mut self, text: &str) -> Result<(), String> {
        let divisions = decimal(text).filter(|divisions| *divisions > Time::ZERO);
        // A part of a division is met nowhere; a whole number of them is what is asked for.
        let divisions = divisions.filter(|divisions| divisions.denominator() == 1);
        let Some(divisions) = divisions else {
            return Err(format!(
                "“{text}” is no number of divisions of a quarter note; it is 1 or more"
            ));
        };
        self.divisions = Some(divisions.numerator());
        Ok(())
    }

    /// A setting from here on, for the staff the element names or for all.
    fn change(&mut self, element: Element<'_, '_>, what: Setting) {
        let staff = element.attribute("number").and_then(|number| number.trim().parse().ok());
        let staff = match (&what, staff) {
            (Setting::Clef(_), None) => Some(1),
            (_, staff) => staff,
        };
        self.now.changes.push(Change { onset: self.position, staff, what });
    }

    fn key(&mut self, element: Element<'_, '_>) -> KeySign {
        if element.child("key-step").is_some() {
            return self.own_key(element);
        }
        let fifths: i32 = element.number("fifths").unwrap_or(0);
        if fifths.abs() > 11 {
            self.notice(format!(
                "a key of {fifths} fifths is no key; it is written without signature"
            ));
            return KeySign { name: "none".to_owned(), signature: Signature::default() };
        }
        let mode = match element.text_of("mode").to_ascii_lowercase().as_str() {
            "minor" | "aeolian" => Mode::Minor,
            "dorian" => Mode::Dorian,
            "phrygian" => Mode::Phrygian,
            "lydian" => Mode::Lydian,
            "mixolydian" => Mode::Mixolydian,
            "locrian" => Mode::Locrian,
            "none" if fifths == 0 => {
                return KeySign { name: "none".to_owned(), signature: Signature::default() };
            }
            "none" => return signs(Signature::from_fifths(fifths)),
            _ => Mode::Major,
        };
        let tonic = PitchName::from_fifths(fifths - mode.fifths());
        let ending = match mode {
            Mode::Major => "",
            Mode::Minor => "m",
            Mode::Dorian => " dor",
            Mode::Phrygian => " phr",
            Mode::Lydian => " lyd",
            Mode::Mixolydian => " mix",
            Mode::Locrian => " loc",
        };
        KeySign { name: format!("{tonic}{ending}"), signature: Key::new(tonic, mode).signature }
    }

    /// A signature of its own, sign by sign.
    fn own_key(&mut self, element: Element<'_, '_>) -> KeySign {
        let mut signature = Signature::default();
        let mut letter = None;
        for child in element.children() {
            match child.name() {
                "key-step" => letter = child.text().chars().next().and_then(Letter::from_char),
                "key-alter" => {
                    let alter = self.alter(child.text());
                    let Some(letter) = letter.take().filter(|_| alter.abs() <= 2) else { continue };
                    signature.set(letter, alter);
                }
                _ => {}
            }
        }
        signs(signature)
    }

    fn metre(&mut self, element: Element<'_, '_>) {
        if element.attribute("number").is_some_and(|number| number.trim() != "1") {
            self.notice("a staff with a time signature of its own takes that of the first staff");
            return;
        }
        let metre = if element.child("senza-misura").is_some() {
            Metre::FREE
        } else {
            let numbers = element.all("beats").zip(element.all("beat-type"));
            let parts = numbers.map(|(upper, lower)| format!("{}/{}", upper.text(), lower.text()));
            let typed = parts.collect::<Vec<_>>().join("+");
            match (element.attribute("symbol").as_deref(), typed.as_str()) {
                (Some("common"), "4/4") => Metre::COMMON,
                (Some("cut"), "2/2") => Metre::CUT,
                (Some("cut"), "4/4") => Metre::CUT,
                _ => Metre::parse(&typed).unwrap_or_else(|error| {
                    self.notice(error.to_string().trim_end_matches('.').to_owned());
                    Metre::FREE
                }),
            }
        };
        if element.child("interchangeable").is_some() {
            self.notice("the second of two interchangeable time signatures is left out");
        }
        if self.position > Time::ZERO {
            self.notice("a time signature in the middle of a measure holds from the next measure");
        }
        let onset = self.position;
        self.now.changes.push(Change { onset, staff: None, what: Setting::Metre(metre) });
    }

    fn clef(&mut self, element: Element<'_, '_>) -> Clef {
        let line: Option<u8> = element.number("line");
        let name = match (element.text_of("sign"), line) {
            ("G", Some(1)) => "treble1",
            ("G", _) => "treble",
            ("C", Some(1)) => "alto1",
            ("C", Some(2)) => "alto2",
            ("C", Some(4)) => "tenor",
            ("C", Some(5)) => "alto5",
            ("C", _) => "alto",
            ("F", Some(3)) => "bass3",
            ("F", Some(5)) => "bass5",
            ("F", _) => "bass",
            ("percussion", _) => "perc",
            ("none", _) => "none",
            (other, _) => {
                self.notice(format!("the clef “{other}” is written as a treble clef"));
                "treble"
            }
        };
        let octaves: i8 = element.number("clef-octave-change").unwrap_or(0);
        if octaves.abs() > 1 {
            self.notice("a clef that sounds two octaves away is written with one");
        }
        Clef { name, octaves: octaves.signum() }
    }

    fn transpose(&mut self, element: Element<'_, '_>) {
        let octaves: i32 = element.number("octave-change").unwrap_or(0);
        let chromatic = decimal(element.text_of("chromatic")).unwrap_or(Time::ZERO);
        if chromatic.denominator() != 1 {
            self.notice("a transposition by part of a semitone is left out");
            return;
        }
        let semitones = chromatic.numerator() + 12 * i64::from(octaves.clamp(-8, 8));
        let Some(semitones) =
            i32::try_from(semitones).ok().filter(|semitones| semitones.abs() <= 96)
        else {
            self.notice("a transposition beyond all instruments is left out");
            return;
        };
        if element.child("double").is_some() {
            self.notice("the doubling an octave away is left out");
        }
        let staff = element.attribute("number").and_then(|number| number.trim().parse().ok());
        let onset = self.position;
        self.now.changes.push(Change { onset, staff, what: Setting::Transpose(semitones) });
    }

    fn staff_details(&mut self, element: Element<'_, '_>) {
        if let Some(lines) = element.number::<u8>("staff-lines").filter(|lines| *lines <= 9) {
            self.part.staff_lines = Some(lines);
        }
        if element.child("staff-tuning").is_some() || element.child("capo").is_some() {
            self.notice("the tuning of strings is left out");
        }
    }

    fn measure_style(&mut self, element: Element<'_, '_>) {
        for child in element.children() {
            match child.name() {
                "beat-repeat" | "measure-repeat" => {
                    self.notice("a sign that repeats what was just played is left out");
                }
                "slash" => self.notice("slashes in place of notes are left out"),
                // Rests of several bars are joined again when they are written.
                _ => {}
            }
        }
    }

    /// A whole number of semitones; what is finer has no sign.
    pub(super) fn alter(&mut self, text: &str) -> i8 {
        if text.is_empty() {
            return 0;
        }
        let Some(alter) = decimal(text) else {
            self.notice(format!("“{text}” is no alteration; the note is written natural"));
            return 0;
        };
        if alter.denominator() != 1 {
            self.notice(
                "quarter tones are written as the nearest semitone towards the natural note",
            );
        }
        (alter.numerator() / alter.denominator()).clamp(-3, 3) as i8
    }
}
