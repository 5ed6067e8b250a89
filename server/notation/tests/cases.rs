//! Small tunes, one per statement of the standard, with the notes that must be read.
//!
//! `data/notation-cases.csv`: each row names its section of the "abc standard v2.1". Pitches are compared by
//! sound where a row says so.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

mod common;

use common::cases;
use recte_notation::{BlockKind, Document};
use recte_score::{Tune, Voice};
use serde_json::Value;
use std::collections::BTreeMap;

type Notes = Vec<(String, String, Vec<String>)>;

fn voice_notes(voice: &Voice, by_sound: bool) -> Notes {
    let mut events: Vec<_> = voice.events.iter().filter(|event| event.sounds()).collect();
    events.sort_by_key(|event| event.span.start);
    events
        .into_iter()
        .map(|event| {
            let onset = voice.bars[event.bar as usize].start + event.offset;
            let pitches = voice.notes_of(event).iter();
            let mut pitches: Vec<String> = pitches
                .map(|n| if by_sound { n.pitch.midi().to_string() } else { n.pitch.to_string() })
                .collect();
            pitches.sort();
            (onset.to_string(), event.duration.to_string(), pitches)
        })
        .collect()
}

fn read(abc: &str, by_sound: bool) -> BTreeMap<String, Notes> {
    let document = Document::new(abc);
    let tunes: Vec<&Tune> = document
        .blocks()
        .filter(|(_, block)| block.kind == BlockKind::Tune)
        .map(|(_, block)| &block.lowered().tune)
        .filter(|tune| tune.voices.iter().any(|voice| !voice.events.is_empty()))
        .collect();
    let mut found = BTreeMap::new();
    for (number, tune) in tunes.iter().enumerate() {
        for voice in &tune.voices {
            let id = if tunes.len() > 1 {
                format!("{}:{}", number + 1, voice.id)
            } else {
                voice.id.clone()
            };
            found.insert(id, voice_notes(voice, by_sound));
        }
    }
    found
}

fn expected(voices: &str, by_sound: bool) -> Option<BTreeMap<String, Notes>> {
    let value: Value = serde_json::from_str(voices).ok()?;
    let mut all = BTreeMap::new();
    for voice in value.as_array()? {
        let notes = voice["notes"].as_array()?.iter();
        let notes = notes
            .map(|note| {
                let text = |at: usize| note[at].as_str().unwrap_or("").to_owned();
                let pitches = note[2].as_array().into_iter().flatten().filter_map(Value::as_str);
                let mut pitches: Vec<String> = pitches
                    .map(|p| match by_sound {
                        true => p.parse::<recte_theory::Pitch>().unwrap().midi().to_string(),
                        false => p.to_owned(),
                    })
                    .collect();
                pitches.sort();
                (text(0), text(1), pitches)
            })
            .collect();
        all.insert(voice["id"].as_str()?.to_owned(), notes);
    }
    Some(all)
}

#[test]
fn every_case_is_read_as_the_standard_says() {
    let mut wrong = Vec::new();
    let mut right = 0;
    for case in cases() {
        let by_sound = case.note.contains("by sound");
        let Some(wanted) = expected(&case.voices, by_sound) else { continue };
        let found = read(&case.abc, by_sound);
        if found == wanted {
            right += 1;
        } else {
            wrong.push(format!(
                "{} ({})\n{}\n  found  {found:?}\n  wanted {wanted:?}\n",
                case.id, case.section, case.abc
            ));
        }
    }
    assert!(wrong.is_empty(), "{right} right, {} wrong:\n{}", wrong.len(), wrong.join("\n"));
}
