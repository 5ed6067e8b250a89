//! Words on screen: names of note values, lists of notes.

use recte_score::{Tune, Voice};
use recte_theory::{PitchName, Time};
use serde::{Deserialize, Serialize};

/// Which names note values have.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Words {
    /// whole, half, quarter, eighth, sixteenth.
    #[default]
    American,
    /// semibreve, minim, crotchet, quaver, semiquaver.
    British,
}

impl Words {
    /// The plural of the value that is one `denominator`th of a whole note: "eighths", "quavers".
    pub fn plural(self, denominator: i64) -> &'static str {
        match (self, denominator) {
            (Words::American, 1) => "whole notes",
            (Words::American, 2) => "half notes",
            (Words::American, 4) => "quarters",
            (Words::American, 8) => "eighths",
            (Words::American, 16) => "sixteenths",
            (Words::American, _) => "thirty-seconds",
            (Words::British, 1) => "semibreves",
            (Words::British, 2) => "minims",
            (Words::British, 4) => "crotchets",
            (Words::British, 8) => "quavers",
            (Words::British, 16) => "semiquavers",
            (Words::British, _) => "demisemiquavers",
        }
    }
}

impl Words {
    /// "1 quarter", "3 eighths": so many of the value that is one `denominator`th of a whole note.
    pub fn counted(self, count: Time, denominator: i64) -> String {
        let plural = self.plural(denominator);
        let one = count == Time::WHOLE;
        let name = if one { plural.trim_end_matches('s') } else { plural };
        format!("{count} {name}")
    }
}

impl Words {
    /// One value: "quarter", "dotted half note"; none if no single sign holds it.
    pub fn value(self, length: Time) -> Option<String> {
        let (above, below) = (length.numerator(), length.denominator());
        let (dots, below) = match above {
            1 => ("", below),
            2 if below == 1 => return Some("breve".to_owned()),
            3 if below > 1 => ("dotted ", below / 2),
            7 if below > 3 => ("double-dotted ", below / 4),
            _ => return None,
        };
        ((below as u64).is_power_of_two() && below <= 32)
            .then(|| format!("{dots}{}", self.plural(below).trim_end_matches('s')))
    }

    /// One rest: "quarter rest", "half rest".
    pub fn rest(self, length: Time) -> Option<String> {
        Some(format!("{} rest", self.value(length)?.trim_end_matches(" note")))
    }
}

/// What a group of so many notes in the time of others is called.
pub fn tuplet(notes: u32) -> &'static str {
    match notes {
        2 => "duplet",
        3 => "triplet",
        4 => "quadruplet",
        5 => "quintuplet",
        6 => "sextuplet",
        7 => "septuplet",
        _ => "tuplet",
    }
}

/// "bar 5", "bars 5–7": bars by their index, as people number them.
pub fn bars(tune: &Tune, (from, to): (u32, u32)) -> String {
    let (from, to) = (tune.bar_number(from), tune.bar_number(to));
    if from == to { format!("bar {from}") } else { format!("bars {from}–{to}") }
}

/// "Three", "Twelve", "13": a number that begins a sentence.
pub fn counted(number: usize) -> String {
    const NAMES: [&str; 13] = [
        "No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten",
        "Eleven", "Twelve",
    ];
    NAMES.get(number).map_or_else(|| number.to_string(), |name| (*name).to_owned())
}

/// "a", or "an" before a vowel.
pub fn article(name: &str) -> &'static str {
    if name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// "2, 3 and 4".
pub fn and_texts(texts: &[String]) -> String {
    match texts.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

/// What to call a voice in a sentence: its name, or "voice 2".
pub fn voice(voice: &Voice) -> String {
    let name = voice.label();
    if name == voice.id { format!("voice {name}") } else { name.to_owned() }
}

/// A sentence with a capital at its head.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// "E, A flat, B".
pub fn list(names: impl IntoIterator<Item = PitchName>) -> String {
    let names: Vec<String> = names.into_iter().map(PitchName::words).collect();
    names.join(", ")
}

/// "G sharp and D sharp".
pub fn and_list(names: impl IntoIterator<Item = PitchName>) -> String {
    let names: Vec<String> = names.into_iter().map(PitchName::words).collect();
    match names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

/// "3+2+2+2" of beat groups over a unit.
pub fn grouping(groups: &[Time], unit: Time) -> String {
    let counts = groups.iter().map(|group| (*group / unit).to_string());
    counts.collect::<Vec<_>>().join("+")
}
