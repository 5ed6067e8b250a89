//! What fields say: keys, clefs, voice properties, unit lengths (abc standard v2.1, 3.1, 4.6, 7.1).

use crate::lower::text::decode;
use recte_theory::key::{Mode, Signature};
use recte_theory::{Key, Letter, PitchName, Time};

/// Properties that `K:` and `V:` can give.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Properties {
    pub(crate) clef: Option<String>,
    /// The clef's line, 0 for the usual one; given with the clef.
    pub(crate) clef_line: u8,
    /// Octaves the clef sounds up or down; given with the clef or alone.
    pub(crate) clef_octaves: Option<i8>,
    pub(crate) transpose: Option<i32>,
    pub(crate) octave: Option<i8>,
    pub(crate) name: Option<String>,
    pub(crate) subname: Option<String>,
}

/// What a `K:` field says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct KeyField {
    /// The key; `None` if only a clef or the like was given.
    pub(crate) key: Option<Key>,
    pub(crate) properties: Properties,
    /// Whether it is the pipers' `HP`, whose sharps are left out.
    pub(crate) pipes: bool,
    /// A word that says nothing known.
    pub(crate) unknown: Option<String>,
}

/// Words of a field value; quotation marks hold words together.
pub(crate) fn words(value: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word = String::new();
    let mut quoted = false;
    for c in value.chars() {
        match c {
            '"' => quoted = !quoted,
            c if c.is_whitespace() && !quoted => {
                if !word.is_empty() {
                    words.push(std::mem::take(&mut word));
                }
            }
            c => word.push(c),
        }
    }
    if !word.is_empty() {
        words.push(word);
    }
    words
}

impl Properties {
    /// Takes a word if it is a property or a clef; says whether it was one.
    fn take(&mut self, word: &str) -> bool {
        let Some((name, value)) = word.split_once('=') else {
            return self.take_clef(word, false);
        };
        match name.to_ascii_lowercase().as_str() {
            "clef" => return self.take_clef(value, true),
            "transpose" | "t" => self.transpose = number(value).or(self.transpose),
            "octave" => {
                let octave = number(value).and_then(|n| i8::try_from(n).ok());
                self.octave = octave.filter(|n| n.abs() <= 9).or(self.octave);
            }
            "name" | "nm" => self.name = Some(label(value)),
            "subname" | "snm" | "sname" => self.subname = Some(label(value)),
            _ => {}
        }
        true
    }

    fn take_clef(&mut self, text: &str, said: bool) -> bool {
        // Some write the 8va of the page; common practice, no source.
        let text = if text.ends_with("8va") { &text[..text.len() - 2] } else { text };
        let (body, octaves) = match text.strip_suffix("+8").map(|b| (b, 1)) {
            Some(found) => found,
            None => text.strip_suffix("-8").map_or((text, 0), |body| (body, -1)),
        };
        if octaves != 0 {
            self.clef_octaves = Some(octaves);
            if body.is_empty() {
                // The octave alone, under whatever clef is in force.
                return true;
            }
        }
        let name = body.trim_end_matches(|c: char| c.is_ascii_digit()).to_ascii_lowercase();
        let known = matches!(
            name.as_str(),
            "treble" | "alto" | "tenor" | "bass" | "perc" | "none" | "g" | "f" | "c"
        );
        if !known && !said {
            return false;
        }
        let name = match name.as_str() {
            "g" => "treble",
            "f" => "bass",
            "c" => "alto",
            _ if known => &name,
            _ => "treble",
        };
        self.clef = Some(name.to_owned());
        self.clef_line = match body.bytes().last() {
            Some(digit @ b'1'..=b'5') => digit - b'0',
            _ => 0,
        };
        self.clef_octaves.get_or_insert(0);
        true
    }

    /// Reads the properties of a voice, its id already taken; unknown words are skipped, as the standard asks.
    pub(crate) fn of(words: &[String]) -> Properties {
        let mut properties = Properties::default();
        for word in words {
            properties.take(word);
        }
        properties
    }
}

/// A voice's name: `\n` parts its lines, which are one here.
fn label(value: &str) -> String {
    decode(&value.replace("\\n", " ")).into_owned()
}

fn number(text: &str) -> Option<i32> {
    text.parse::<i32>().ok().filter(|n| n.abs() <= 120)
}

/// Reads the value of a `K:` field.
pub(crate) fn key_field(value: &str) -> KeyField {
    let words = words(value);
    let mut field = KeyField::default();
    let mut rest = words.as_slice();
    let first = rest.first().map(String::as_str).unwrap_or("");
    if let Some((tonic, after)) = tonic(first) {
        rest = &rest[1..];
        let signs = after.find(['^', '_', '=']).unwrap_or(after.len());
        let (after, own) = after.split_at(signs);
        let (mode, used) = match mode(after) {
            Some(mode) => (mode, 0),
            None => rest.first().and_then(|word| mode(word)).map_or((Mode::Major, 0), |m| (m, 1)),
        };
        rest = &rest[used..];
        let mut key = Key::new(tonic, mode);
        let known = after.is_empty() || self::mode(after).is_some();
        if !known || !alterations(own, &mut key.signature) {
            field.unknown = Some(first[1..].to_owned());
        }
        field.key = Some(key);
    } else if first == "HP" || first == "Hp" {
        rest = &rest[1..];
        // Highland pipes (3.1.14): `Hp` marks F sharp, C sharp and G natural; `HP` prints no signature,
        // and its notes are read as they are typed.
        let fifths = if first == "Hp" { 2 } else { 0 };
        field.key = Some(Key { signature: Signature::from_fifths(fifths), ..Key::default() });
        field.pipes = first == "HP";
    } else if first.is_empty() || first == "none" {
        rest = rest.get(1..).unwrap_or_default();
        field.key = Some(Key::default());
    }
    for word in rest {
        take_key_word(&mut field, word);
    }
    field
}

fn take_key_word(field: &mut KeyField, word: &str) {
    if word == "exp" {
        let key = field.key.get_or_insert_default();
        key.signature = Signature::default();
    } else if word.starts_with(['^', '_', '=']) {
        let key = field.key.get_or_insert_default();
        if !alterations(word, &mut key.signature) {
            field.unknown = Some(word.to_owned());
        }
    } else if !field.properties.take(word) {
        field.unknown = Some(word.to_owned());
    }
}

/// `F#` of `F#m`, and the rest.
fn tonic(word: &str) -> Option<(PitchName, &str)> {
    let letter =
        word.chars().next().filter(char::is_ascii_uppercase).and_then(Letter::from_char)?;
    let rest = &word[1..];
    let (alter, rest) = match rest.chars().next() {
        Some('#') => (1, &rest[1..]),
        Some('b') => (-1, &rest[1..]),
        Some('♯') => (1, &rest['♯'.len_utf8()..]),
        Some('♭') => (-1, &rest['♭'.len_utf8()..]),
        _ => (0, rest),
    };
    // "Clef…", "Bass": a word, not a key.
    let word = &rest[..rest.find(['^', '_', '=']).unwrap_or(rest.len())];
    if word.len() > 2 && mode(word).is_none() {
        return None;
    }
    Some((PitchName { letter, alter }, rest))
}

/// A mode by its first three letters, in any case (3.1.14).
fn mode(word: &str) -> Option<Mode> {
    let lower = word.to_ascii_lowercase();
    if lower == "m" {
        return Some(Mode::Minor);
    }
    Some(match lower.get(..3)? {
        "maj" | "ion" => Mode::Major,
        "min" | "aeo" => Mode::Minor,
        "mix" => Mode::Mixolydian,
        "dor" => Mode::Dorian,
        "phr" => Mode::Phrygian,
        "lyd" => Mode::Lydian,
        "loc" => Mode::Locrian,
        _ => return None,
    })
}

/// `^f_b=c` put into a signature; whether all of it was read.
fn alterations(text: &str, signature: &mut Signature) -> bool {
    let mut rest = text;
    while !rest.is_empty() {
        let signs = rest.len() - rest.trim_start_matches(['^', '_', '=']).len();
        let (sign, tail) = rest.split_at(signs);
        let alter = match sign {
            "^" => 1,
            "^^" => 2,
            "_" => -1,
            "__" => -2,
            "=" => 0,
            _ => return false,
        };
        let Some(letter) = tail.chars().next().and_then(Letter::from_char) else { return false };
        signature.set(letter, alter);
        rest = &tail[1..];
    }
    true
}

/// Reads the value of an `L:` field: `1/8`, `1`.
pub(crate) fn unit_length(value: &str) -> Option<Time> {
    let value = value.trim();
    let (above, below) = value.split_once('/').unwrap_or((value, "1"));
    let above: i64 = above.trim().parse().ok()?;
    let below: i64 = below.trim().parse().ok()?;
    (above > 0 && above <= 512 && (1..=512).contains(&below)).then(|| Time::new(above, below))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fifths(value: &str) -> Option<i32> {
        key_field(value).key.and_then(|key| key.signature.fifths())
    }

    #[test]
    fn keys() {
        for (value, expected) in [
            ("C", 0),
            ("Am", 0),
            ("F#m", 3),
            ("Bb", -2),
            ("D Mixolydian", 1),
            ("Ddor", 0),
            ("E dorian", 2),
            ("G maj", 1),
            ("", 0),
            ("none", 0),
            ("Hp", 2),
            ("HP", 0),
            ("A minor", 0),
            ("C#", 7),
            ("Eb Lyd", -2),
            ("Am=g", 0),
        ] {
            assert_eq!(fifths(value), Some(expected), "{value}");
        }
    }

    #[test]
    fn explicit_accidentals() {
        let key = key_field("D Phr ^f").key.unwrap();
        assert_eq!(key.signature.alter(Letter::F), 1);
        assert_eq!(key.signature.alter(Letter::B), -1);
        let key = key_field("D exp _b _e ^f").key.unwrap();
        assert_eq!(key.signature.alter(Letter::C), 0);
        assert_eq!(key.signature.alter(Letter::E), -1);
    }

    #[test]
    fn clefs_and_properties() {
        let field = key_field("G clef=bass-8 transpose=-2 octave=1");
        assert_eq!(field.properties.clef.as_deref(), Some("bass"));
        assert_eq!(field.properties.clef_octaves, Some(-1));
        assert_eq!(field.properties.transpose, Some(-2));
        assert_eq!(field.properties.octave, Some(1));
        let only_clef = key_field("treble+8");
        assert_eq!(only_clef.key, None);
        assert_eq!(only_clef.properties.clef_octaves, Some(1));
        assert_eq!(key_field("alto1").properties.clef_line, 1);
        for octave_alone in ["G -8", "G bass -8", "G -8 bass", "G min -8va"] {
            let field = key_field(octave_alone);
            assert_eq!((field.properties.clef_octaves, field.unknown), (Some(-1), None));
        }
        assert_eq!(key_field("clef=alto").key, None);
        assert_eq!(key_field("bass").key, None);
    }

    #[test]
    fn words_in_quotes() {
        let voice = Properties::of(&words(r#"name="Violin I" snm=Vl. clef=treble stem=up"#));
        assert_eq!(voice.name.as_deref(), Some("Violin I"));
        assert_eq!(voice.subname.as_deref(), Some("Vl."));
    }

    #[test]
    fn unit_lengths() {
        assert_eq!(unit_length(" 1/8 "), Some(Time::new(1, 8)));
        assert_eq!(unit_length("1"), Some(Time::WHOLE));
        assert_eq!(unit_length("1/0"), None);
        assert_eq!(unit_length("x"), None);
    }
}
