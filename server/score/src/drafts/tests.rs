use super::*;
use crate::finish::finish;
use crate::tune::{Bar, Event, EventKind, Note, Voice};
use crate::{Span, Tempo};
use recte_theory::{Metre, Pitch};

/// Bars of quarters, parted by "|": "C4 D4 | z E4". "A4-" is tied to what follows.
fn voice(id: &str, text: &str) -> Voice {
    let mut voice = Voice { id: id.to_owned(), ..Voice::default() };
    let quarter = Time::new(1, 4);
    let mut start = Time::ZERO;
    let mut tied = false;
    for (number, bar) in text.split('|').enumerate() {
        let first = voice.events.len() as u32;
        let mut offset = Time::ZERO;
        for word in bar.split_whitespace() {
            let index = voice.events.len() as u32;
            let notes = voice.notes.len() as u32;
            if word != "z" {
                let pitch: Pitch = word.trim_end_matches('-').parse().unwrap();
                let tied_out = word.ends_with('-');
                voice.notes.push(Note {
                    written: pitch,
                    pitch,
                    octave_shift: 0,
                    accidental: None,
                    span: Span::default(),
                    tied_in: std::mem::replace(&mut tied, tied_out),
                    tied_out,
                    tie_dotted: false,
                    event: index,
                });
            }
            voice.events.push(Event {
                kind: if word == "z" { EventKind::Rest } else { EventKind::Notes },
                span: Span::default(),
                full: Span::default(),
                offset,
                duration: quarter,
                bar: number as u32,
                layer: 0,
                notes: notes..voice.notes.len() as u32,
                key: 0,
                grace: false,
                slashed: false,
                joined: false,
                hidden: false,
                tuplet: None,
                broken: false,
                length: Span::default(),
                unit: quarter,
                grace_length: Time::ZERO,
            });
            offset += quarter;
        }
        let events = first..voice.events.len() as u32;
        voice.bars.push(Bar { events, start, length: offset, layers: 1, ..Bar::default() });
        start += offset;
    }
    voice
}

fn tune(voices: &[(&str, &str)]) -> Tune {
    let mut tune = Tune {
        metres: vec![Metre::parse("4/4").unwrap()],
        voices: voices.iter().map(|(id, text)| voice(id, text)).collect(),
        ..Tune::default()
    };
    finish(&mut tune);
    tune
}

const UPPER: &str = "C4 D4 E4 F4 | G4 A4 B4 C5 | E4 C4 G4 E4 | F4 z A4 F4 | D4 B3 G3 B3 | C4 z z z";
const LOWER: &str = "C3 C3 C3 C3 | G3 F3 E3 D3 | C3 z C3 z | F3 A3 C3 F3 | G3 z G3 z | C3 z z z";

type Told = Vec<(Kind, Range<u32>, Range<u32>)>;

fn told(plan: &Plan) -> Told {
    plan.stretches.iter().map(|s| (s.kind, s.old.clone(), s.new.clone())).collect()
}

/// The plan of two voices, and that it is the same the other way round.
fn both(upper: &str, lower: &str) -> Plan {
    let old = tune(&[("1", UPPER), ("2", LOWER)]);
    let new = tune(&[("1", upper), ("2", lower)]);
    let plan = align(&old, &new);
    assert_eq!(align(&new, &old), plan.clone().mirrored());
    plan
}

/// Some bars of a voice, and others put in before one.
fn edited(text: &str, bars: Range<usize>, others: &str) -> String {
    let mut all: Vec<&str> = text.split('|').collect();
    let others = others.split('|').filter(|bar| !bar.trim().is_empty());
    all.splice(bars, others);
    all.join("|")
}

#[test]
fn a_draft_is_itself() {
    let plan = both(UPPER, LOWER);
    assert!(plan.is_same() && !plan.reordered());
    assert_eq!(told(&plan), [(Kind::Same, 0..6, 0..6)]);
}

#[test]
fn bars_are_deleted_inserted_replaced() {
    let plan = both(&edited(UPPER, 2..4, ""), &edited(LOWER, 2..4, ""));
    let expected =
        [(Kind::Same, 0..2, 0..2), (Kind::Deleted, 2..4, 2..2), (Kind::Same, 4..6, 2..4)];
    assert_eq!(told(&plan), expected);
    assert_eq!(plan.new_place(2, Time::ZERO), None);
    assert_eq!(plan.new_place(4, Time::new(1, 4)), Some((2, Time::new(1, 4))));
    let plan = both(
        &edited(UPPER, 1..1, "B4 z B4 z | C#4 z z C#4"),
        &edited(LOWER, 1..1, "z z z z | z z z z"),
    );
    let expected =
        [(Kind::Same, 0..1, 0..1), (Kind::Inserted, 1..1, 1..3), (Kind::Same, 1..6, 3..8)];
    assert_eq!(told(&plan), expected);
}

#[test]
fn a_note_is_changed_in_one_voice() {
    let plan = both(UPPER, &LOWER.replace("G3 F3 E3 D3", "G3 F3 Eb3 D3"));
    assert_eq!(told(&plan)[1], (Kind::Changed, 1..2, 1..2));
    assert_eq!(plan.stretches[1].touched, [Touched { part: 1, kind: Kind::Changed }]);
}

#[test]
fn another_name_sounds_the_same() {
    let plan = both(&UPPER.replace("E4 C4 G4 E4", "Fb4 C4 G4 E4"), LOWER);
    assert_eq!(told(&plan)[1], (Kind::Renotated, 2..3, 2..3));
}

#[test]
fn a_passage_is_higher_by_its_written_interval() {
    let higher = |text: &str, by: (i32, i32)| {
        let bars = text.split('|').enumerate().map(|(bar, text)| {
            let word = |word: &str| match word.parse::<Pitch>() {
                Ok(pitch) if (2..5).contains(&bar) => pitch.transposed(by.0, by.1).to_string(),
                _ => word.to_owned(),
            };
            text.split_whitespace().map(word).collect::<Vec<_>>().join(" ")
        });
        bars.collect::<Vec<_>>().join("|")
    };
    for (steps, semitones) in [(1, 2), (-7, -12), (3, 6), (4, 6)] {
        let plan = both(&higher(UPPER, (steps, semitones)), &higher(LOWER, (steps, semitones)));
        let kind = Kind::Transposed(Transposition { steps, semitones });
        let expected = [(Kind::Same, 0..2, 0..2), (kind, 2..5, 2..5), (Kind::Same, 5..6, 5..6)];
        assert_eq!(told(&plan), expected);
    }
}

#[test]
fn a_passage_is_higher_within_the_key() {
    // Three bars a third higher on the staff: neither all major nor all minor thirds.
    let upper = UPPER.replace(
        "E4 C4 G4 E4 | F4 z A4 F4 | D4 B3 G3 B3",
        "G4 E4 B4 G4 | A4 z C5 A4 | F4 D4 B3 D4",
    );
    let lower =
        LOWER.replace("C3 z C3 z | F3 A3 C3 F3 | G3 z G3 z", "E3 z E3 z | A3 C4 E3 A3 | B3 z B3 z");
    let plan = both(&upper, &lower);
    let kind = Kind::ByDegrees(2);
    let expected = [(Kind::Same, 0..2, 0..2), (kind, 2..5, 2..5), (Kind::Same, 5..6, 5..6)];
    assert_eq!(told(&plan), expected);
    // Another alteration against the signature is another note.
    let plan = both(&upper.replace("B4 G4 |", "Bb4 G4 |"), &lower);
    assert_eq!(told(&plan)[1], (Kind::Changed, 2..3, 2..3));
    let by = Touched { part: 1, kind: Kind::Changed };
    assert_eq!(plan.stretches[1].touched, [Touched { part: 0, kind: Kind::Changed }, by]);
    // One voice alone.
    let plan = both(&UPPER.replace("E4 C4 G4 E4", "F4 D4 A4 F4"), LOWER);
    assert_eq!(told(&plan)[1].0, Kind::Changed);
    assert_eq!(plan.stretches[1].touched, [Touched { part: 0, kind: Kind::ByDegrees(1) }]);
}

/// With each note typed twice and the first tied to the second: twice as long. A line in the middle of what was a bar.
fn doubled(text: &str) -> String {
    let bar = |bar: &str| {
        let words: Vec<String> = bar
            .split_whitespace()
            .map(|word| match word {
                "z" => "z z".to_owned(),
                word => format!("{word}- {word}"),
            })
            .collect();
        let (first, second) = words.split_at(words.len().div_ceil(2));
        format!("{} | {}", first.join(" "), second.join(" "))
    };
    text.split('|').map(bar).collect::<Vec<_>>().join(" | ")
}

#[test]
fn a_passage_is_in_values_twice_as_long() {
    let part = |text: &str| {
        let bars: Vec<&str> = text.split('|').collect();
        [&bars[..1].join("|"), &doubled(&bars[1..4].join("|")), &bars[4..].join("|")]
            .map(String::as_str)
            .join(" | ")
    };
    let plan = both(&part(UPPER), &part(LOWER));
    let kind = Kind::Scaled(Values::Doubled);
    let expected = [(Kind::Same, 0..1, 0..1), (kind, 1..4, 1..7), (Kind::Same, 4..6, 7..9)];
    assert_eq!(told(&plan), expected);
    assert_eq!(plan.stretches[1].touched, []);
    // The third quarter of bar 2 begins bar 5 now.
    assert_eq!(plan.new_place(2, Time::new(1, 2)), Some((4, Time::ZERO)));
    let back = plan.mirrored();
    assert_eq!(back.stretches[1].kind, Kind::Scaled(Values::Halved));
    assert_eq!(back.new_place(4, Time::new(1, 4)), Some((2, Time::new(5, 8))));
}

#[test]
fn bars_of_rests_go_along_with_values_and_alone_are_no_sign_of_them() {
    let old = tune(&[("1", "C4 D4 E4 F4 | z z z z | G4 A4 B4 C5 | F#4 F#4 D4 D4")]);
    let new = format!("{} | F#4 F#4 D4 D4", doubled("C4 D4 E4 F4 | z z z z | G4 A4 B4 C5"));
    let plan = align(&old, &tune(&[("1", &new)]));
    let kind = Kind::Scaled(Values::Doubled);
    assert_eq!(told(&plan), [(kind, 0..3, 0..6), (Kind::Same, 3..4, 6..7)]);
    let old = tune(&[("1", "C4 D4 E4 F4 | z z z z | F#4 F#4 D4 D4")]);
    let new = tune(&[("1", "C4 D4 E4 F4 | z z z z | z z z z | F#4 F#4 D4 D4")]);
    let kinds: Vec<Kind> = told(&align(&old, &new)).iter().map(|one| one.0).collect();
    assert!(!kinds.contains(&kind), "{kinds:?}");
}

#[test]
fn one_longer_note_is_no_passage_in_other_values() {
    let old = tune(&[("1", "C4 D4 E4 F4 | G4 | A4 B4 C5 D5")]);
    let new = tune(&[("1", "C4 D4 E4 F4 | G4- G4 | A4 B4 C5 D5")]);
    assert_eq!(told(&align(&old, &new))[1].0, Kind::Changed);
}

#[test]
fn one_voice_an_octave_lower_is_a_change_that_says_so() {
    let plan = both(UPPER, &LOWER.replace("F3 A3 C3 F3", "F2 A2 C2 F2"));
    assert_eq!(told(&plan)[1], (Kind::Changed, 3..4, 3..4));
    let by = Transposition { steps: -7, semitones: -12 };
    assert_eq!(plan.stretches[1].touched, [Touched { part: 1, kind: Kind::Transposed(by) }]);
}

#[test]
fn other_bar_lines_keep_the_moments() {
    let split =
        |text: &str, line: &str| text.replace(line, &format!("{} | {}", &line[..5], &line[6..]));
    let plan = both(&split(UPPER, "E4 C4 G4 E4"), &LOWER.replace("C3 z C3 z", "C3 z | C3 z"));
    let expected =
        [(Kind::Same, 0..2, 0..2), (Kind::Rebarred, 2..3, 2..4), (Kind::Same, 3..6, 4..7)];
    assert_eq!(told(&plan), expected);
    assert_eq!(plan.new_place(2, Time::new(3, 4)), Some((3, Time::new(1, 4))));
    assert_eq!(plan.new_place(5, Time::ZERO), Some((6, Time::ZERO)));
}

#[test]
fn a_note_tied_over_a_new_bar_line_is_the_same_note() {
    let old = tune(&[("1", "C4 D4 E4- E4 | F4 G4 A4 B4")]);
    let new = tune(&[("1", "C4 D4 E4- | E4 | F4 G4 A4 B4")]);
    assert_eq!(told(&align(&old, &new))[0], (Kind::Rebarred, 0..1, 0..2));
}

#[test]
fn music_put_elsewhere_has_an_echo() {
    let moved = |text: &str| {
        let bars: Vec<&str> = text.split('|').collect();
        [&bars[..1], &bars[3..5], &bars[1..3], &bars[5..]].concat().join("|")
    };
    let plan = both(&moved(UPPER), &moved(LOWER));
    let inserted = plan.stretches.iter().find(|stretch| stretch.kind == Kind::Inserted);
    let inserted = inserted.expect("bars are inserted");
    let echo = inserted.echo.as_ref().expect("they are in the old draft");
    assert_eq!((echo.bars.len(), echo.by), (2, Transposition::NONE));
}

#[test]
fn voices_are_known_by_what_they_play() {
    let old = tune(&[("1", UPPER), ("2", LOWER)]);
    let new = tune(&[("a", LOWER), ("b", UPPER), ("c", &UPPER.replace("D4", "A3"))]);
    let plan = align(&old, &new);
    let part = |old, new, renamed| Part { old, new, renamed };
    assert_eq!(
        plan.parts,
        [part(Some(1), Some(0), true), part(Some(0), Some(1), true), part(None, Some(2), false)]
    );
    assert!(plan.reordered());
    assert_eq!((plan.new_voice(1), plan.new_voice(7)), (Some(0), None));
    assert_eq!(told(&plan), [(Kind::Same, 0..6, 0..6)]);
}

#[test]
fn a_tempo_stands_over_all_voices() {
    let old = tune(&[("1", UPPER)]);
    let tempo = Tempo {
        bar: 3,
        offset: Time::ZERO,
        beats: vec![Time::new(1, 4)],
        per_minute: Some(60),
        text: None,
        span: Span::default(),
    };
    let new = Tune { tempi: vec![tempo], ..old.clone() };
    let plan = align(&old, &new);
    assert_eq!(told(&plan)[1], (Kind::Renotated, 3..4, 3..4));
    assert_eq!(plan.stretches[1].touched, []);
}

#[test]
fn empty_and_unlike_drafts_have_plans() {
    let (none, some) = (tune(&[]), tune(&[("1", UPPER)]));
    assert_eq!(told(&align(&none, &none)), []);
    assert_eq!(told(&align(&none, &some)), [(Kind::Inserted, 0..0, 0..6)]);
    assert_eq!(told(&align(&some, &none)), [(Kind::Deleted, 0..6, 0..0)]);
    let other = tune(&[("1", "F#5 z | z F#5 z")]);
    let plan = align(&some, &other);
    let bars: usize = plan.stretches.iter().map(|stretch| stretch.new.len()).sum();
    assert_eq!(bars, 2);
}
