//! What the cases say beside their notes: words, symbols, names, tempi, repeats, parts.
//!
//! `data/notation-cases.csv`, column `note`, where it holds JSON.

#![allow(clippy::unwrap_used)]

mod common;

use common::{Case, cases};
use recte_notation::{BlockKind, Document};
use recte_score::{Event, Mark, MarkKind, MarkPlace, Tune, Voice, endings, playing_order, repeats};
use serde_json::{Value, json};

fn tune_of(case: &Case, note: &Value) -> Tune {
    let document = if note["bytes"] == "latin-1" {
        Document::from_bytes(case.abc.chars().map(|c| c as u8).collect())
    } else {
        Document::new(&case.abc)
    };
    let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    let mut tunes = tunes.map(|(_, block)| block.lowered().tune.clone());
    tunes.find(|tune| tune.voices.iter().any(|voice| !voice.events.is_empty())).unwrap()
}

/// Notes and chords in the order typed, by index.
fn sung(voice: &Voice) -> Vec<u32> {
    let mut events: Vec<u32> = (0..voice.events.len() as u32).collect();
    events.retain(|&index| voice.events[index as usize].sounds());
    events.sort_by_key(|&index| voice.events[index as usize].span.start);
    events
}

fn lyrics(voice: &Voice) -> Value {
    let verses = voice.syllables.iter().map(|syllable| syllable.verse + 1).max().unwrap_or(0);
    let line = |verse| {
        let one = |event: &u32| {
            let found = voice.syllables.iter().find(|s| s.verse == verse && s.event == *event);
            found.map(|s| match (s.held, s.joined) {
                (true, _) => "_".to_owned(),
                (false, true) => format!("{}-", s.text),
                (false, false) => s.text.to_string(),
            })
        };
        json!(sung(voice).iter().map(one).collect::<Vec<_>>())
    };
    Value::Array((0..verses).map(line).collect())
}

fn symbols(voice: &Voice) -> Value {
    let line = |number| {
        let one = |event: &u32| {
            let marks = voice.marks.iter();
            let mut marks = marks.filter(|m| m.event == *event && m.on == MarkPlace::Line(number));
            marks.next().map(|mark| match mark.kind {
                MarkKind::Decoration => format!("!{}!", mark.text),
                _ => format!("\"{}\"", mark.text),
            })
        };
        json!(sung(voice).iter().map(one).collect::<Vec<_>>())
    };
    json!([line(0), line(1)])
}

fn onset(tune: &Tune, voice: &Voice, mark: &Mark) -> String {
    let event: &Event = &voice.events[mark.event as usize];
    tune.onset(event).to_string()
}

fn marks(voice: &Voice, kind: MarkKind) -> impl Iterator<Item = &Mark> {
    voice.marks.iter().filter(move |mark| mark.kind == kind)
}

fn beams(voice: &Voice) -> Value {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (index, event) in voice.events.iter().enumerate() {
        match groups.last_mut() {
            Some(group) if event.joined => group.push(index),
            _ => groups.push(vec![index]),
        }
    }
    groups.retain(|group| group.len() > 1);
    json!(groups)
}

/// What was read of one thing the note asks for.
fn found(tune: &Tune, what: &str) -> Value {
    let voice = &tune.voices[0];
    match what {
        "title" => json!(tune.title()),
        "H" => {
            json!(tune.texts.iter().filter(|t| t.name == 'H').map(|t| &t.text).collect::<Vec<_>>())
        }
        "lyrics" => lyrics(voice),
        "lyrics_by_voice" => Value::Object(
            tune.voices.iter().map(|voice| (voice.id.clone(), lyrics(voice))).collect(),
        ),
        "symbols" => symbols(voice),
        "annotations" => {
            let one = |mark: &Mark| {
                let (place, text) = mark.text.split_at(1);
                json!([onset(tune, voice, mark), place, text])
            };
            json!(marks(voice, MarkKind::Annotation).map(one).collect::<Vec<_>>())
        }
        "chord_symbols" => {
            let one = |mark: &Mark| json!([onset(tune, voice, mark), mark.text]);
            json!(marks(voice, MarkKind::ChordSymbol).map(one).collect::<Vec<_>>())
        }
        "decorations" => {
            json!(marks(voice, MarkKind::Decoration).map(|mark| &*mark.text).collect::<Vec<_>>())
        }
        "tempo" => {
            let tempo = &tune.tempi[0];
            let beats: Vec<String> = tempo.beats.iter().map(ToString::to_string).collect();
            json!({"beats": beats, "per_minute": tempo.per_minute, "text": tempo.text})
        }
        "parts" => json!(tune.part_order),
        "repeats" => {
            json!(repeats(tune).iter().map(|r| (r.from + 1, r.to + 1, r.times)).collect::<Vec<_>>())
        }
        "endings" => {
            let times =
                |times: &[u8]| times.iter().map(u8::to_string).collect::<Vec<_>>().join(",");
            json!(
                endings(tune)
                    .iter()
                    .map(|e| (times(&e.times), e.from + 1, e.to + 1))
                    .collect::<Vec<_>>()
            )
        }
        "names" => {
            Value::Object(tune.voices.iter().map(|v| (v.id.clone(), json!(v.name))).collect())
        }
        "groups" => json!(tune.groupings[0].text),
        "beams" => beams(voice),
        other => panic!("the cases say “{other}”, which is not tested"),
    }
}

#[test]
fn every_note_beside_the_cases_is_read() {
    let mut wrong = Vec::new();
    let mut right = 0;
    for case in cases() {
        let Ok(note) = serde_json::from_str::<Value>(&case.note) else { continue };
        let Some(wanted) = note.as_object() else { continue };
        let tune = tune_of(&case, &note);
        for (what, wanted) in
            wanted.iter().filter(|(what, _)| !matches!(what.as_str(), "remark" | "bytes"))
        {
            let found = found(&tune, what);
            if found == *wanted {
                right += 1;
            } else {
                wrong.push(format!(
                    "{} {what}\n{}\n  found  {found}\n  wanted {wanted}\n",
                    case.id, case.abc
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{right} right, {} wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert!(right > 50);
}

fn read(music: &str) -> Tune {
    recte_notation::lower(&format!("X:1\nL:1/4\nM:4/4\nK:C\n{music}\n")).tune
}

#[test]
fn bars_in_the_order_they_are_played() {
    for (music, order) in [
        ("|:C4|1D4:|2E4||F4|", vec![0, 1, 0, 2, 3]),
        ("C4||D4|E4:|F4|", vec![0, 1, 2, 1, 2, 3]),
        ("|::C4::|D4|", vec![0, 0, 0, 1]),
        ("|:C4|[1,3D4:|[2E4:|F4|", vec![0, 1, 0, 2, 0, 1, 3]),
    ] {
        assert_eq!(playing_order(&read(music)), order, "{music}");
    }
}

#[test]
fn returns_are_followed_without_repeats() {
    for (music, order) in [
        ("C4|D4!fine!|E4!D.C.!|", vec![0, 1, 2, 0, 1]),
        ("C4|D4|\"D.C.\"E4|", vec![0, 1, 2, 0, 1, 2]),
        ("|:C4:|!fine!D4|E4!D.C.!|]", vec![0, 0, 1, 2, 0, 1]),
        ("C4|!segno!D4|E4!D.S.!|F4|", vec![0, 1, 2, 1, 2, 3]),
        ("C4|D4!segno!|E4!fine!|F4!D.S.!|", vec![0, 1, 2, 3, 2]),
        ("|:C4|[1D4:|[2E4|F4!D.C.!|]", vec![0, 1, 0, 2, 3, 0, 2, 3]),
        ("C4|D4!dacoda!|E4!D.C.!|!coda!F4|G4|]", vec![0, 1, 2, 0, 1, 3, 4]),
        ("C4|D4!coda!|E4|F4!D.C.!||!coda!|:G4:|", vec![0, 1, 2, 3, 0, 1, 4, 4]),
        ("C4|!coda!D2D2|E4!D.C.!|!coda!F4|", vec![0, 1, 2, 0, 3]),
        ("|:C4|D4!D.C.!:|E4!fine!|", vec![0, 1, 0, 1, 0, 1, 2]),
        ("C4|D4!D.S.!|", vec![0, 1]),
        ("C4|\"Segno\"D4|E4\"^D.S.\"|", vec![0, 1, 2, 1, 2]),
        ("C4|\"Segno\"D4|\"^D.S.\"E4|", vec![0, 1, 2, 1, 2]),
        ("C4!D.C.!|D4!D.C.!|", vec![0, 0, 1, 0, 1]),
    ] {
        assert_eq!(playing_order(&read(music)), order, "{music}");
    }
}

#[test]
fn the_order_of_parts_outranks_a_return() {
    let text = "X:1\nL:1/4\nP:AB\nK:C\nP:A\nC4|\nP:B\nD4!D.C.!|\n";
    assert_eq!(playing_order(&recte_notation::lower(text).tune), [0, 1]);
}

#[test]
fn clefs_lines_and_hidden_rests() {
    let tune = read("[V:1 clef=alto1]C4|[K:bass transpose=-2]D4|.|X|[|]");
    let voice = &tune.voices[0];
    assert_eq!((voice.clef.name.as_str(), voice.clef.line), ("alto", 1));
    let changes: Vec<_> =
        voice.clef_changes.iter().map(|c| (c.event, c.clef.name.as_str(), c.transpose)).collect();
    assert_eq!(changes, [(1, "bass", -2)]);
    let hidden: Vec<bool> = voice.events.iter().map(|event| event.hidden).collect();
    assert_eq!(hidden, [false, false, true]);
}

#[test]
fn slurs_and_what_they_hold() {
    let tune = read("\"Am\"(C(DE)F)|({g}A2 [B(d]c)|");
    let slurs: Vec<_> = tune.voices[0].slurs.iter().map(|slur| (slur.from, slur.to)).collect();
    assert_eq!(slurs, [(1, 2), (0, 3), (6, 7)]);
}

#[test]
fn grace_notes_with_a_stroke() {
    let tune = read("{g}C{/a}D2E|");
    let slashed: Vec<bool> = tune.voices[0].events.iter().map(|event| event.slashed).collect();
    assert_eq!(slashed, [false, false, true, false, false]);
}

#[test]
fn grace_notes_inside_a_broken_rhythm_stand_before_its_second_note() {
    let tune = read("C>{de}F E2|");
    let places: Vec<_> = tune.voices[0].events.iter().map(|e| e.offset.to_string()).collect();
    assert_eq!(places, ["0", "3/8", "3/8", "3/8", "1/2"]);
}

#[test]
fn grace_notes_at_once() {
    let tune = read("{[ce]g}C4|");
    let counts: Vec<_> = tune.voices[0].events.iter().map(|event| event.notes.len()).collect();
    assert_eq!(counts, [2, 1, 1]);
}

#[test]
fn signs_on_bar_lines_and_spaces() {
    let tune = read("C4!fermata!|!f!y!p!D4|");
    let on: Vec<MarkPlace> = tune.voices[0].marks.iter().map(|mark| mark.on).collect();
    assert_eq!(on, [MarkPlace::BarLine(0), MarkPlace::Space, MarkPlace::Event]);
}

#[test]
fn tempi_and_sections_in_the_body() {
    let tune = read("P:A\nCD[Q:\"slower\" 1/8=60]EF|\nT:Trio\nC4|");
    let tempo = &tune.tempi[0];
    assert_eq!((tempo.bar, tempo.offset.to_string()), (0, "1/2".to_owned()));
    let sections: Vec<_> =
        tune.sections.iter().map(|s| (s.label.as_str(), s.bar, s.part)).collect();
    assert_eq!(sections, [("A", 0, true), ("Trio", 1, false)]);
}

#[test]
fn an_ending_closed_by_text_or_number_keeps_its_bars() {
    let tune = read("|:C4|[1D4|E4:|[2F4|G4|]");
    let found: Vec<_> = endings(&tune).into_iter().map(|e| (e.times, e.from, e.to)).collect();
    assert_eq!(found, [(vec![1], 1, 2), (vec![2], 3, 4)]);
}
