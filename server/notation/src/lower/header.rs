//! What the head of a file says for every tune (abc standard v2.1, 2.2.2 and 12).

use super::accidentals::Reach;
use super::macros::{Macro, define};
use super::text::decode;
use crate::fields::unit_length;
use crate::include::{Includes, brought, lines};
use crate::segment::{BlockKind, before_comment};
use recte_theory::{Metre, Time};
use std::sync::Arc;

/// Values in force before a tune's own header.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Defaults {
    /// Whether the file asks for the letter of the standard (`%abc-2.1`).
    pub(crate) strict: bool,
    pub(crate) unit: Option<Time>,
    pub(crate) metre: Option<Metre>,
    /// Beats told for bars of their length (`%%recte beats 2+2+3/8`), the last outranking those before.
    pub(crate) beats: Vec<String>,
    pub(crate) reach: Reach,
    /// Whether decorations stand between plus signs (`I:decoration +`).
    pub(crate) plus_decorations: bool,
    /// Whether `!` breaks a line (`I:linebreak`).
    pub(crate) exclaimed_breaks: bool,
    /// What the head of the file says of every tune in words: composer, origin …
    pub(crate) texts: Vec<(char, String)>,
    /// Letters that stand for a decoration (`U:`), or, after a quotation mark, for a text.
    pub(crate) letters: Vec<(char, String)>,
    /// Macros of the file header.
    pub(crate) macros: Vec<Macro>,
    /// Whether what is read is the head of the file itself.
    pub(crate) heads_file: bool,
    /// The files that may be included.
    pub(crate) includes: Arc<Includes>,
}

impl Defaults {
    /// Reads the first block of a file.
    pub(crate) fn of_file(kind: BlockKind, text: &str, includes: &Arc<Includes>) -> Defaults {
        let mut defaults = Defaults { includes: includes.clone(), ..Defaults::default() };
        let text = text.trim_start_matches('\u{FEFF}');
        if let Some(version) = lines(text).next().and_then(|line| line.strip_prefix("%abc")) {
            defaults.take_version(version.trim_end());
        }
        if kind == BlockKind::FileHeader {
            for line in lines(text) {
                match brought(includes, line) {
                    Some(brought) => brought.for_each(|line| defaults.take_line(line)),
                    None => defaults.take_line(line),
                }
            }
        }
        defaults
    }

    fn take_line(&mut self, line: &str) {
        if let Some(directive) = line.strip_prefix("%%") {
            self.take_instruction(before_comment(directive));
        } else if let Some((name, value)) = line.split_once(':') {
            self.take_field(name, before_comment(value).trim());
        }
    }

    fn take_version(&mut self, version: &str) {
        // Version 2.1 or later is read strictly (12.2).
        let mut numbers =
            version.trim_start_matches('-').split('.').map(|n| n.trim().parse::<u32>());
        let (major, minor) = (numbers.next(), numbers.next());
        self.strict = match (major, minor) {
            (Some(Ok(major)), Some(Ok(minor))) => (major, minor) >= (2, 1),
            (Some(Ok(major)), _) => major > 2,
            _ => false,
        };
    }

    fn take_field(&mut self, name: &str, value: &str) {
        match name {
            "M" => self.metre = Metre::parse(value).ok(),
            "L" => self.unit = unit_length(value),
            "U" => self.take_letter(value),
            "m" => define(&mut self.macros, Macro::read(value)),
            "I" => self.take_instruction(value),
            "A" | "B" | "C" | "D" | "F" | "G" | "H" | "N" | "O" | "R" | "S" | "Z" => {
                let name = name.chars().next().unwrap_or_default();
                self.texts.push((name, decode(value).into_owned()));
            }
            "+" => {
                if let Some((_, text)) = self.texts.last_mut() {
                    text.push(' ');
                    text.push_str(&decode(value));
                }
            }
            _ => {}
        }
    }

    /// An instruction: the text after `%%` or `I:`.
    pub(crate) fn take_instruction(&mut self, text: &str) {
        let mut words = text.split_whitespace();
        match words.next() {
            Some("recte") if words.next() == Some("beats") => {
                self.beats.push(words.collect::<Vec<_>>().join(" "));
            }
            Some("abc-version") => self.take_version(words.next().unwrap_or_default()),
            Some("propagate-accidentals") => {
                self.reach = words.next().and_then(Reach::named).unwrap_or(self.reach);
            }
            Some("decoration") => self.plus_decorations = words.next() == Some("+"),
            Some("linebreak") => {
                self.exclaimed_breaks = words.any(|word| word == "!");
                // So that `!` is free for lines, decorations take plus signs (6.1.1).
                self.plus_decorations |= self.exclaimed_breaks;
            }
            _ => {}
        }
    }

    /// `U: T = !trill!`.
    pub(crate) fn take_letter(&mut self, value: &str) {
        let Some((letter, meaning)) = value.split_once('=') else { return };
        let Some(letter) = letter.trim().chars().next() else { return };
        let meaning = meaning.trim();
        let name = match meaning.strip_prefix('"') {
            Some(text) => format!("\"{}", text.trim_end_matches('"')),
            None if matches!(meaning, "!+!" | "+++") => "+".to_owned(),
            None => meaning.trim_matches(['!', '+']).to_owned(),
        };
        self.letters.retain(|(known, _)| *known != letter);
        let nothing = matches!(name.as_str(), "nil" | "none");
        self.letters.push((letter, if nothing { String::new() } else { name }));
    }

    /// What a letter stands for: a `U:` of this score, else the standard's own (4.16). Empty for one that was
    /// taken away; `None` for one that never had a meaning.
    pub(crate) fn letter(&self, letter: char) -> Option<&str> {
        let own = self.letters.iter().find(|(known, _)| *known == letter);
        own.map_or_else(|| usual(letter), |(_, meaning)| Some(meaning))
    }
}

fn usual(letter: char) -> Option<&'static str> {
    Some(match letter {
        '.' => "staccato",
        '~' => "roll",
        'H' => "fermata",
        'L' => "accent",
        'M' => "lowermordent",
        'O' => "coda",
        'P' => "uppermordent",
        'S' => "segno",
        'T' => "trill",
        'u' => "upbow",
        'v' => "downbow",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions() {
        let strict = |line: &str| Defaults::of_file(BlockKind::Tune, line, &Arc::default()).strict;
        assert!(strict("%abc-2.1\nX:1\n"));
        assert!(strict("%abc-2.2\n"));
        assert!(!strict("%abc-2.0\n"));
        assert!(!strict("%abc\n"));
        assert!(!strict("X:1\n%abc-2.1\n"));
    }

    #[test]
    fn file_header_values() {
        let text = "M:3/4 % waltz\nL:1/16\nU:T=!accent!\n%%propagate-accidentals octave\n";
        let defaults = Defaults::of_file(BlockKind::FileHeader, text, &Arc::default());
        assert_eq!(defaults.metre, Metre::parse("3/4").ok());
        assert_eq!(defaults.unit, Some(Time::new(1, 16)));
        assert_eq!(defaults.letter('T'), Some("accent"));
        assert_eq!(defaults.letter('u'), Some("upbow"));
        assert_eq!(defaults.letter('k'), None);
        assert_eq!(defaults.reach, Reach::Octave);
        let text = "C:50\\% r\\'ee % a word\n+:and more\n";
        let defaults = Defaults::of_file(BlockKind::FileHeader, text, &Arc::default());
        assert_eq!(defaults.texts, [('C', "50% rée and more".to_owned())]);
    }
}
