//! Where things stand.

use super::*;
use ink::{Bounds, Mark};
use recte_notation::{Document, lower};
use std::path::PathBuf;

/// The bars of the first voice, in C and 4/4 with quarters where the text says nothing else, and each system drawn.
fn drawn(text: &str) -> (Staff, Vec<Ink>) {
    let text = match text.starts_with("X:") {
        true => text.to_owned(),
        false => format!("X:1\nM:4/4\nL:1/4\nK:C\n{text}\n"),
    };
    let tune = lower(&text).tune;
    let count = tune.voices[0].bars.len();
    let staff = Staff::of(&tune, 0, 0..count).unwrap_or_else(|| panic!("{text}"));
    let systems = systems(&Score::of(&staff));
    (staff, systems)
}

fn of(text: &str, wanted: impl Fn(Kind) -> bool) -> Vec<Mark> {
    let (_, systems) = drawn(text);
    systems.into_iter().flat_map(|ink| ink.marks).filter(|mark| wanted(mark.kind)).collect()
}

fn heads(text: &str) -> Vec<Bounds> {
    of(text, |kind| matches!(kind, Kind::Head(..))).iter().map(|mark| mark.bounds).collect()
}

/// The height of the middle of something.
fn middle(bounds: &Bounds) -> f64 {
    (bounds[1] + bounds[3]) / 2.0
}

#[test]
fn notes_stand_on_their_lines() {
    // The lines are at 20, 10, 0, -10, -20 from the lowest up.
    let height = |text: &str| middle(&heads(text)[0]);
    assert!((height("G") - 10.0).abs() < 0.2, "G4 is on the second line of the treble staff");
    assert!((height("B") - 0.0).abs() < 0.2);
    assert!((height("f") + 20.0).abs() < 0.2);
    let under = |clef: &str, note: &str| height(&format!("X:1\nL:1/4\nK:C clef={clef}\n{note}\n"));
    assert!((under("bass", "F,") + 10.0).abs() < 0.2, "F3 is on the fourth line of the bass staff");
    assert!(
        (under("alto", "C") - 0.0).abs() < 0.2,
        "middle C is on the middle line of the alto staff"
    );
    assert!((under("tenor", "C") + 10.0).abs() < 0.2);
    assert!(
        (under("treble-8", "G") - 10.0).abs() < 0.2,
        "an octave clef leaves notes where they are"
    );
}

#[test]
fn ledger_lines() {
    let count = |text: &str| of(text, |kind| matches!(kind, Kind::Ledger(_))).len();
    assert_eq!(["D", "C", "B,", "A,", "g", "a", "b", "c'"].map(count), [0, 1, 1, 2, 0, 1, 1, 2]);
    assert_eq!(count("[CA,]"), 3);
}

#[test]
fn stems_turn_at_the_middle_line() {
    let stem = |text: &str| of(text, |kind| matches!(kind, Kind::Stem(_)))[0].bounds;
    let up = |text: &str| Score::of(&drawn(text).0).placed[0].shape.up;
    assert!(stem("F")[1] < heads("F")[0][1] && stem("d")[3] > heads("d")[0][3]);
    assert_eq!(["F", "A", "B", "d"].map(up), [true, true, false, false]);
    assert!(up("[FB]") && !up("[Ff]"), "the farthest note decides");
    let long = |text: &str| stem(text)[3] - stem(text)[1];
    assert!((long("F") - 35.0).abs() < 2.5, "an octave");
    assert!(stem("C,")[1] <= 0.0, "up to the middle line");
    assert!(of("F4", |kind| matches!(kind, Kind::Stem(_))).is_empty());
    // In layers outwards.
    let two = of("c4 & e4|c2 c2 & E2 E2|", |kind| matches!(kind, Kind::Stem(_)));
    assert_eq!(two.iter().filter(|mark| mark.bounds[1] < -25.0).count(), 2);
}

#[test]
fn beams_are_those_typed() {
    let groups = |text: &str| drawn(text).0.beamed();
    assert_eq!(groups("L:1/8\nAB cd efga"), [vec![0, 1], vec![2, 3], vec![4, 5, 6, 7]]);
    let beams = |text: &str| of(text, |kind| matches!(kind, Kind::Beam(..)));
    let flags = |text: &str| of(text, |kind| matches!(kind, Kind::Flag(_))).len();
    assert_eq!((beams("L:1/8\nABc d").len(), flags("L:1/8\nABc d")), (1, 1));
    assert_eq!(beams("L:1/8\nABc d")[0].kind, Kind::Beam(0, 2));
    // A sixteenth beside a dotted eighth has a short piece.
    let two = beams("L:1/16\nA3B");
    assert_eq!(two.len(), 2);
    let wide = |mark: &Mark| mark.bounds[2] - mark.bounds[0];
    assert!(wide(&two[1]) < wide(&two[0]));
    assert_eq!(beams("L:1/16\nABcd").len(), 2);
}

#[test]
fn stems_end_at_their_beam() {
    for text in ["L:1/8\nCEGc", "L:1/8\ngece", "L:1/8\nDaDa", "L:1/16\ncegb {ab}c'2"] {
        let (staff, systems) = drawn(text);
        let score = Score::of(&staff);
        for group in &score.beams {
            let beam = systems[0]
                .marks
                .iter()
                .find(|mark| mark.kind == Kind::Beam(group[0], group[group.len() - 1]));
            let beam = beam.unwrap().bounds;
            for at in group {
                let tip = score.placed[*at].tip;
                assert!(beam[1] - 0.1 <= tip && tip <= beam[3] + 0.1, "{text}: {tip} {beam:?}");
            }
        }
    }
}

#[test]
fn accidentals_are_left_of_their_heads() {
    for (text, name) in
        [("^F", "sharp"), ("_G", "flat"), ("=B", "natural"), ("__B", "flats"), ("^^F", "sharps")]
    {
        let (_, systems) = drawn(text);
        let find =
            |kind: Kind| systems[0].marks.iter().find(|mark| mark.kind == kind).unwrap().bounds;
        let (sign, head) = (find(Kind::Accidental(0, 0)), find(Kind::Head(0, 0)));
        assert!(sign[2] < head[0] && head[0] - sign[2] < 4.0, "{text}");
        assert!(sign[1] < middle(&head) && middle(&head) < sign[3], "{text}: at its height");
        let wide = glyphs::width(name);
        assert!((sign[2] - sign[0] - wide).abs() < 0.01, "{text} is drawn as {name}");
    }
    assert!(of("F", |kind| matches!(kind, Kind::Accidental(..))).is_empty());
}

#[test]
fn accidentals_of_a_chord_do_not_touch() {
    let all = of("[^C_E^G_B]", |kind| matches!(kind, Kind::Accidental(..)));
    assert_eq!(all.len(), 4);
    assert_apart(&all);
    let far = of("[^C^c]", |kind| matches!(kind, Kind::Accidental(..)));
    assert_eq!(far[0].bounds[0], far[1].bounds[0], "an octave apart they stand over one another");
}

fn assert_apart(all: &[Mark]) {
    for (at, a) in all.iter().enumerate() {
        for b in &all[at + 1..] {
            assert!(!overlap(&a.bounds, &b.bounds), "{a:?} {b:?}");
        }
    }
}

fn overlap(a: &Bounds, b: &Bounds) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

#[test]
fn a_second_stands_on_both_sides_of_the_stem() {
    for text in ["[FG]", "[cd]", "[FGA]", "[FG]4"] {
        let all = heads(text);
        assert!((all[0][0] - all[1][0]).abs() > 9.0, "{text}");
    }
    let all = heads("[FA]");
    assert_eq!(all[0][0], all[1][0]);
    let layers = heads("[FA]4 & G4|");
    assert!(layers[2][0] > layers[0][0] + 9.0, "a lower layer moves aside");
}

#[test]
fn a_tie_goes_over_the_bar_line() {
    let (_, systems) = drawn("A4-|A4|");
    let find = |wanted: fn(Kind) -> bool| {
        systems[0]
            .marks
            .iter()
            .filter(move |mark| wanted(mark.kind))
            .map(|mark| mark.bounds)
            .collect::<Vec<_>>()
    };
    let ties = find(|kind| matches!(kind, Kind::Tie(_)));
    let line = find(|kind| kind == Kind::BarLine)[0];
    assert_eq!(ties.len(), 1);
    assert!(ties[0][0] < line[0] && line[2] < ties[0][2]);
    // A length that no sign has is two, tied.
    let (staff, _) = drawn("L:1/8\nA5 B3|");
    assert!(staff.items[1].goes_on && staff.items[0].heads[0].tied_out);
    assert_eq!(of("L:1/8\nA5 B3|", |kind| matches!(kind, Kind::Tie(_))).len(), 1);
    // One that leads nowhere is drawn all the same.
    assert_eq!(of("A-", |kind| matches!(kind, Kind::Tie(_))).len(), 1);
    assert_eq!(of("[EG]2-[EG]2|", |kind| matches!(kind, Kind::Tie(_))).len(), 2);
}

#[test]
fn longer_values_have_more_room() {
    let wide = |text: &str| {
        let all = heads(&format!("L:1/16\n{text}"));
        all[1][0] - all[0][0]
    };
    let all = ["AB", "A2 B", "A4 B", "A8 B"].map(wide);
    assert!(all.windows(2).all(|pair| pair[0] < pair[1]), "{all:?}");
    assert!(all[3] < 8.0 * all[0], "less than in proportion: {all:?}");
    let whole =
        |text: &str| drawn(text).1[0].marks.iter().map(|mark| mark.bounds[2]).fold(0.0, f64::max);
    assert!(whole("AB|AB|") > whole("AB|"));
}

#[test]
fn heads_rests_and_dots_by_value() {
    let signs = |text: &str| -> Vec<String> {
        let (staff, _) = drawn(text);
        Score::of(&staff).placed.iter().map(|one| one.shape.sign.clone()).collect()
    };
    assert_eq!(signs("M:none\nL:1/4\nA8 A4 A2 A A/"), ["breve", "whole", "half", "head", "head"]);
    assert_eq!(
        signs("M:none\nz8 z4 z2 z z/ z/4 z/8 z/16"),
        ["rest-1", "rest0", "rest1", "rest2", "rest3", "rest4", "rest5", "rest6"]
    );
    let dots = of("A3 A3/2", |kind| matches!(kind, Kind::Dot(_)));
    assert_eq!(dots.len(), 2);
    // A's space is its own; a note on a line has its dot in the space above.
    assert!((middle(&of("B3", |kind| matches!(kind, Kind::Dot(_)))[0].bounds) + 5.0).abs() < 0.1);
    assert_eq!(signs("Z|"), ["rest0"]);
    assert!(of("x4|", |kind| matches!(kind, Kind::Rest(_))).is_empty());
}

#[test]
fn tuplets_have_their_number() {
    let signs = |text: &str| of(text, |kind| kind == Kind::Tuplet).len();
    assert_eq!(signs("L:1/8\n(3ABc"), 1, "a beam needs no bracket");
    assert_eq!(signs("(3ABc"), 5, "a number and a bracket in two pieces with two ends");
    assert_eq!(drawn("L:1/8\n(3ABc (5ABcde").0.tuplets.len(), 2);
}

#[test]
fn key_and_time_stand_between_clef_and_notes() {
    let (_, systems) = drawn("X:1\nM:6/8\nL:1/8\nK:Eb\nE3 G3|\n");
    let first =
        |wanted: Kind| systems[0].marks.iter().find(|mark| mark.kind == wanted).unwrap().bounds[0];
    let order = [Kind::Clef, Kind::Key, Kind::Metre, Kind::Head(0, 0)].map(first);
    assert!(order.windows(2).all(|pair| pair[0] < pair[1]), "{order:?}");
    let keys = systems[0].marks.iter().filter(|mark| mark.kind == Kind::Key).count();
    assert_eq!(keys, 3);
}

#[test]
fn signatures_have_the_usual_pattern() {
    // Heights of F sharp, C sharp, G sharp … of B flat, E flat, A flat … in half spaces above the middle line.
    let steps = |key: &str, clef: &str| -> Vec<i32> {
        let text = format!("X:1\nL:1/4\nK:{key} clef={clef}\nC\n");
        let signs = of(&text, |kind| kind == Kind::Key);
        let shift = if key == "C#" { 0.0 } else { 5.25 };
        signs.iter().map(|one| ((middle(&one.bounds) + shift) / -5.0).round() as i32).collect()
    };
    assert_eq!(steps("C#", "treble"), [4, 1, 5, 2, -1, 3, 0]);
    assert_eq!(steps("Cb", "treble"), [0, 3, -1, 2, -2, 1, -3]);
    assert_eq!(steps("C#", "bass"), [2, -1, 3, 0, -3, 1, -2]);
    assert_eq!(steps("Cb", "bass"), [-2, 1, -3, 0, -4, -1, -5]);
    assert_eq!(steps("C#", "alto"), [3, 0, 4, 1, -2, 2, -1]);
    assert_eq!(steps("C#", "tenor"), [-2, 2, -1, 3, 0, 4, 1]);
}

#[test]
fn long_passages_break_at_bar_lines() {
    let (staff, systems) = drawn("L:1/8\nABcd efga|ABcd efga|ABcd efga|ABcd efga|");
    assert!(systems.len() > 1);
    let score = Score::of(&staff);
    for bar in &staff.bars {
        let own: Vec<usize> = bar.items.clone().map(|at| score.placed[at].system).collect();
        assert!(own.windows(2).all(|pair| pair[0] == pair[1]));
    }
    let metres = |ink: &Ink| ink.marks.iter().filter(|mark| mark.kind == Kind::Metre).count();
    assert_eq!(
        systems.iter().map(metres).collect::<Vec<_>>(),
        [vec![2], vec![0; systems.len() - 1]].concat()
    );
    assert!(systems.iter().all(|ink| ink.marks.iter().any(|mark| mark.kind == Kind::Clef)));
}

#[test]
fn what_is_told_has_a_bracket_and_a_class() {
    let (mut staff, _) = drawn("[EG^A]2 c2|");
    staff.items[0].told = true;
    staff.items[0].heads[2].told = true;
    let systems = systems(&Score::of(&staff));
    let told: Vec<Kind> =
        systems[0].marks.iter().filter(|mark| mark.told).map(|mark| mark.kind).collect();
    assert_eq!(
        told,
        [Kind::Head(0, 2), Kind::Accidental(0, 2), Kind::Sign, Kind::Sign, Kind::Sign]
    );
    let mut outlines = Outlines::new();
    let text = super::staff(&staff, "a \"b\"", "staff", &mut outlines).into_string();
    assert!(
        text.contains("class=\"t\"") && text.contains("role=\"img\"") && !text.contains("style"),
        "{text}"
    );
    assert!(outlines.contains_key("sharp") && outlines.contains_key("clef-g"));
}

/// Real tunes, every four bars of each voice: each note is drawn once, and nothing lies over a clef.
#[test]
fn real_music_is_drawn_whole() {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..");
    let folder =
        std::env::var_os("RECTE_CORPUS").map_or(root.join("target/corpus/native"), PathBuf::from);
    let mut files = vec![root.join("tests/report/ferry-bell.abc")];
    let collections = std::fs::read_dir(&folder).into_iter().flatten().flatten();
    let pieces =
        collections.flat_map(|one| std::fs::read_dir(one.path()).into_iter().flatten().flatten());
    let mut real: Vec<PathBuf> = pieces.map(|one| one.path()).collect();
    real.sort();
    let step = if std::env::var_os("RECTE_ALL").is_some() { 1 } else { 7 };
    files.extend(real.into_iter().step_by(step));
    let (mut quotes, mut blank) = (0, 0);
    for file in files {
        let document = Document::from_bytes(std::fs::read(&file).unwrap());
        for (_, block) in document.blocks().take(40) {
            let tune = &block.lowered().tune;
            for (number, voice) in tune.voices.iter().enumerate() {
                for from in (0..voice.bars.len()).step_by(4) {
                    let bars = from..(from + 4).min(voice.bars.len());
                    let typed: usize = voice.bars[bars.clone()]
                        .iter()
                        .flat_map(|bar| voice.events_of(bar))
                        .map(|event| event.notes.len())
                        .sum();
                    match Staff::of(tune, number, bars) {
                        Some(staff) => {
                            let place = format!("{} {} {from}", file.display(), tune.title());
                            assert_whole(&staff, typed, &place);
                            quotes += 1;
                        }
                        None => blank += usize::from(typed > 0),
                    }
                }
            }
        }
    }
    println!("{quotes} quotes drawn, {blank} left as text");
    assert!(blank * 50 <= quotes, "{blank} of {quotes} could not be drawn");
}

fn assert_whole(staff: &Staff, typed: usize, place: &str) {
    let systems = systems(&Score::of(staff));
    let all = || systems.iter().flat_map(|ink| &ink.marks);
    let mut drawn: Vec<(usize, usize)> = all()
        .filter_map(|mark| match mark.kind {
            Kind::Head(at, head) => Some((at, head)),
            _ => None,
        })
        .collect();
    let count = drawn.len();
    drawn.sort_unstable();
    drawn.dedup();
    assert_eq!(drawn.len(), count, "{place}: a head is drawn twice");
    let first = drawn.iter().filter(|(at, _)| !staff.items[*at].goes_on).count();
    assert_eq!(first, typed, "{place}: notes drawn and typed");
    for ink in &systems {
        let clefs = || ink.marks.iter().filter(|mark| mark.kind == Kind::Clef);
        for mark in &ink.marks {
            let solid = matches!(
                mark.kind,
                Kind::Head(..)
                    | Kind::Accidental(..)
                    | Kind::Rest(_)
                    | Kind::Stem(_)
                    | Kind::Flag(_)
                    | Kind::Dot(_)
                    | Kind::Key
                    | Kind::Metre
                    | Kind::BarLine
                    | Kind::Beam(..)
            );
            let over = clefs().any(|clef| overlap(&clef.bounds, &mark.bounds));
            assert!(!(solid && over), "{place}: {mark:?} lies over a clef");
        }
    }
}
