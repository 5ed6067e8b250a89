//! The table of cases, `data/spelling-cases.csv`, each with its source in its last column.

use crate::finding::Finding;
use crate::rule::{Family, find_rule};
use crate::rule_tests::findings_in;
use crate::{Config, FixKind};
use recte_notation::write::apply;
use recte_notation::{Document, lower};

/// A row of the table.
pub(crate) struct Case {
    pub(crate) id: String,
    pub(crate) group: String,
    pub(crate) key: String,
    pub(crate) typed: String,
    /// Whether something is to be said.
    pub(crate) flagged: bool,
    /// "high", "medium" or "low".
    pub(crate) confidence: String,
    /// The typed music as a tune of its own.
    pub(crate) text: String,
    /// What is expected of it afterwards, the best first.
    pub(crate) expected: Vec<String>,
}

pub(crate) fn cases() -> Vec<Case> {
    let mut reader = csv::Reader::from_reader(&include_bytes!("../../data/spelling-cases.csv")[..]);
    let headers = reader.headers().unwrap().clone();
    let case = |record: csv::StringRecord| {
        let column = |name: &str| {
            record[headers.iter().position(|header| header == name).unwrap()].to_owned()
        };
        let (key, typed, instrument) = (column("key"), column("typed_abc"), column("instrument"));
        let mut expected = vec![plain(&column("expected"))];
        let also = column("also_accepted");
        expected.extend(also.split(" | ").filter(|one| !one.is_empty()).map(plain));
        let said = match &*instrument {
            "" => String::new(),
            name => format!("%%recte instrument 1 {name}\n"),
        };
        let music = typed.replace("[V:", "\n[V:");
        Case {
            id: column("id"),
            group: column("group"),
            flagged: column("verdict") == "flag",
            confidence: column("confidence"),
            text: format!("X:1\nL:1/4\n{said}K:{key}\n{}\n", music.trim_start()),
            expected,
            key,
            typed,
        }
    };
    reader.records().map(|record| case(record.unwrap())).collect()
}

/// Pitches alone, without bar lines, ties and fields.
fn plain(pitches: &str) -> String {
    let words = pitches.split_whitespace().filter(|word| !word.contains(':') && *word != "|");
    let words: Vec<String> = words.map(|word| word.trim_end_matches('-').to_owned()).collect();
    words.join(" ")
}

/// Sounding pitches in reading order, chords in brackets, as the cases write them.
pub(crate) fn spelled(text: &str) -> String {
    let tune = lower(text).tune;
    let events = tune.voices.iter().flat_map(|voice| voice.events.iter().map(move |e| (voice, e)));
    let words = events.filter_map(|(voice, event)| {
        let notes: Vec<String> =
            voice.notes_of(event).iter().map(|note| note.pitch.to_string()).collect();
        let together = notes.join(" ");
        match notes.len() {
            0 => None,
            1 => Some(together),
            _ => Some(format!("[{together}]")),
        }
    });
    words.collect::<Vec<_>>().join(" ")
}

/// What is said of names: all of the family, of signatures only where a player is named, and of ties between two
/// names.
pub(crate) fn said(text: &str) -> Vec<Finding> {
    let all = findings_in(&Document::new(text), &Config::default()).into_iter();
    let names = |finding: &Finding| match finding.rule {
        "tie-target" => true,
        "key-spelling" => text.contains("%%recte instrument"),
        rule => find_rule(rule).is_some_and(|rule| rule.family == Family::Spelling),
    };
    all.filter(names).collect()
}

/// The text after the first fix of the first remark, and so on until nothing is said.
pub(crate) fn mended(text: &str) -> String {
    let mut text = text.to_owned();
    for _ in 0..8 {
        let found = said(&text).into_iter().flat_map(|finding| finding.fixes);
        let Some(fix) = found.into_iter().find(|fix| fix.kind == FixKind::Fix) else { break };
        text = apply(&text, &fix.edits).unwrap();
    }
    text
}
