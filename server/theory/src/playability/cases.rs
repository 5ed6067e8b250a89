//! The table of cases, `data/playability-cases.csv`: every row through the models, by its class.
//!
//! The table's columns are explained at the head of `judge.rs`; it names the source of each row.

mod judge;

use super::fingerboard::Stroke;
use super::{Loudness, Verdict};
use crate::instruments::{Instrument, Level, by_id};
use crate::pitch::Pitch;

/// What happens at one moment of a case.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Event {
    Notes(Vec<Pitch>),
    Rest,
    Grace(Vec<Pitch>),
}

/// A row of the table.
pub(super) struct Case {
    id: String,
    instrument: &'static Instrument,
    level: Level,
    expected: Verdict,
    check: String,
    technique: String,
    per_second: Option<f64>,
    seconds: f64,
    loudness: Loudness,
    setup: String,
    written: bool,
    events: Vec<Event>,
}

impl Case {
    /// Events a second.
    fn rate(&self) -> f64 {
        self.per_second.unwrap_or(1.0 / self.seconds)
    }

    /// What begins at each step, as sounding, again and again for as long as the passage lasts: nothing at a rest.
    fn steps(&self) -> Vec<Vec<Pitch>> {
        let asked = self.per_second.map_or(0.0, |rate| rate * self.seconds);
        let steps = self.events.iter().filter_map(|event| match event {
            Event::Notes(notes) => Some(notes.iter().map(|note| self.sounds(*note)).collect()),
            Event::Rest => Some(Vec::new()),
            Event::Grace(_) => None,
        });
        let steps: Vec<Vec<Pitch>> = steps.collect();
        let count = steps.len().max((asked + 1e-9).floor() as usize);
        steps.into_iter().cycle().take(count).collect()
    }

    /// The steps at which something begins.
    fn played(&self) -> Vec<Vec<Pitch>> {
        self.steps().into_iter().filter(|notes| !notes.is_empty()).collect()
    }

    /// When each begins, in seconds.
    fn timed(&self) -> Vec<(f64, Vec<Pitch>)> {
        let timed = self.steps().into_iter().enumerate();
        let timed = timed.map(|(place, notes)| (place as f64 / self.rate(), notes));
        timed.filter(|(_, notes)| !notes.is_empty()).collect()
    }

    /// All notes as sounding, each as often as it is played.
    fn sounding(&self) -> Vec<Pitch> {
        self.played().into_iter().flatten().collect()
    }

    /// Each note and the next.
    fn pairs(&self) -> impl Iterator<Item = [Pitch; 2]> {
        let notes = self.sounding();
        (1..notes.len()).map(move |place| [notes[place - 1], notes[place]])
    }

    fn sounds(&self, note: Pitch) -> Pitch {
        let transposition = self.instrument.transposition.unwrap_or_default();
        if self.written { transposition.sounding(note) } else { note }
    }

    /// The part of `setup` after `key=`.
    fn setup(&self, key: &str) -> Option<&str> {
        let parts = self.setup.split([';', ' ']).filter_map(|part| part.split_once('='));
        parts.clone().find(|(name, _)| *name == key).map(|(_, value)| value)
    }

    fn has(&self, word: &str) -> bool {
        self.setup.split([';', ' ']).any(|part| part == word)
    }

    fn stroke(&self) -> Stroke {
        match self.technique.as_str() {
            "short" => Stroke::Short,
            "pizz" => Stroke::Plucked,
            _ => Stroke::Held,
        }
    }
}

fn events(text: &str) -> Vec<Event> {
    let mut events = Vec::new();
    let mut rest = text.trim();
    while !rest.is_empty() {
        let group = |open: char, close: char| {
            rest.strip_prefix(open).map(|inside| inside.split_once(close).unwrap())
        };
        let read = |text: &str| text.split_whitespace().map(|word| word.parse().unwrap()).collect();
        let (event, after) = if let Some((inside, after)) = group('[', ']') {
            (Event::Notes(read(inside)), after)
        } else if let Some((inside, after)) = group('{', '}') {
            (Event::Grace(read(inside)), after)
        } else {
            let (word, after) = rest.split_once(' ').unwrap_or((rest, ""));
            (if word == "z" { Event::Rest } else { Event::Notes(read(word)) }, after)
        };
        events.push(event);
        rest = after.trim_start();
    }
    events
}

/// A word of an enumeration, as data files have it.
fn word<T: serde::de::DeserializeOwned>(text: &str) -> T {
    let mut table: std::collections::BTreeMap<String, T> =
        toml::from_str(&format!("word = \"{text}\"")).unwrap();
    table.remove("word").unwrap()
}

fn loudness(text: &str) -> Loudness {
    if text.is_empty() { Loudness::default() } else { word(text) }
}

fn cases() -> Vec<Case> {
    let text = include_str!("../../data/playability-cases.csv");
    let mut table = csv::Reader::from_reader(text.as_bytes());
    let heads = table.headers().unwrap().clone();
    let read = |record: csv::StringRecord| {
        let field = |name: &str| {
            let place = heads.iter().position(|head| head == name).unwrap();
            record[place].to_owned()
        };
        Case {
            id: field("id"),
            instrument: by_id(&field("instrument")).unwrap(),
            level: word(&field("level")),
            expected: word(&field("expected_verdict")),
            check: field("check"),
            technique: field("technique"),
            per_second: field("per_second").parse().ok(),
            seconds: field("seconds").parse().unwrap_or(0.0),
            loudness: loudness(&field("dynamic")),
            setup: field("setup"),
            written: field("pitch") == "written",
            events: events(&field("notes")),
        }
    };
    table.records().map(|record| read(record.unwrap())).collect()
}

#[test]
fn the_table_is_read_whole() {
    let cases = cases();
    assert_eq!(cases.len(), 171);
    assert!(cases.iter().all(|case| !case.events.is_empty() && case.seconds > 0.0));
    let asked = |text| events(text).len();
    assert_eq!(asked("C#4 [C4 E4] z {G5} A4"), 5);
}

/// Classes are compared; the word inside a class is advice.
#[test]
fn every_row_falls_into_its_class() {
    let found = cases().into_iter().map(|case| {
        let found = judge::verdict(&case);
        (found.unwrap_or_else(|| panic!("{}: the row lacks figures", case.id)), case)
    });
    let wrong = found.filter(|(found, case)| found.class() != case.expected.class());
    let wrong = wrong.map(|(found, case)| {
        format!("{} {}: expected {:?}, found {found:?}", case.id, case.check, case.expected)
    });
    let wrong: Vec<String> = wrong.collect();
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}
