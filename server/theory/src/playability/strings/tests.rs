//! Section 1 of the specification, statement by statement, and what must hold of every stop.

use super::*;
use crate::playability::testing::{pitch, pitches, row};
use crate::playability::{Class, Figures, fingerboard};

const PRO: Level = Level::Professional;

fn asked(id: &str, notes: &str, stroke: Stroke, level: Level) -> Fingering {
    stop(row(id), &pitches(notes), stroke, level).unwrap()
}

fn held(id: &str, notes: &str) -> Verdict {
    asked(id, notes, Stroke::Held, PRO).verdict
}

fn obstacle(id: &str, notes: &str) -> Obstacle {
    asked(id, notes, Stroke::Short, PRO).obstacle.unwrap()
}

#[test]
fn one_note_a_string() {
    assert_eq!(obstacle("violin", "G3 B3"), Obstacle::OneString { notes: [0, 1], string: 0 });
    assert_eq!(obstacle("violin", "D4 G3 B3"), Obstacle::OneString { notes: [1, 2], string: 0 });
    assert_eq!(obstacle("violin", "C4 E4 G4"), Obstacle::TooFewStrings { notes: 3, strings: 2 });
    assert_eq!(obstacle("violin", "F3 D4"), Obstacle::BelowLowest { note: 0 });
    assert_eq!(obstacle("violin", "G3 C9"), Obstacle::TooHigh { note: 1 });
    assert_eq!(obstacle("violin", "G3 D4 A4 E5 B5"), Obstacle::TooManyNotes { most: 4 });
}

#[test]
fn the_strings_are_neighbours() {
    assert_eq!(obstacle("violin", "G3 E6"), Obstacle::NotNeighbours);
    assert_eq!(asked("violin", "G3 E6", Stroke::Plucked, PRO).verdict, Verdict::Playable);
    // F5 on the D string is out of reach of B flat on the G string, and A and G are no neighbours.
    assert!(matches!(obstacle("violin", "Bb3 F5"), Obstacle::Reach { .. }));
    assert_eq!(asked("violin", "Bb3 F5", Stroke::Plucked, PRO).verdict, Verdict::Playable);
}

#[test]
fn two_are_held_and_more_are_broken() {
    let three = asked("violin", "G3 D4 B4", Stroke::Held, PRO);
    assert_eq!(three.obstacle, Some(Obstacle::TooManyHeld { most: 2 }));
    assert_eq!(asked("violin", "G3 D4 B4", Stroke::Short, PRO).verdict, Verdict::Easy);
    assert_eq!(force(3, Loudness::P), Verdict::Awkward);
    assert_eq!(force(3, Loudness::F), Verdict::Easy);
    assert_eq!(force(2, Loudness::Pp), Verdict::Easy);
}

#[test]
fn open_strings_cost_no_finger() {
    let stop = asked("violin", "G3 D4 B4 G5", Stroke::Short, PRO);
    assert_eq!(stop.fingers, 2);
    let on = |string, offset| OnString { string, offset };
    assert_eq!(stop.notes, [on(0, 0), on(1, 0), on(2, 2), on(3, 3)]);
}

#[test]
fn the_table_of_millimetres() {
    let table = [
        0, 56, 109, 159, 206, 251, 293, 333, 370, 405, 439, 470, 500, 528, 555, 580, 603, 625, 646,
        666, 685, 703, 719, 735, 750,
    ];
    for (offset, expected) in (0..).zip(table) {
        assert_eq!(millimetres(1000.0, offset).round() as i32, expected, "{offset}");
    }
}

#[test]
fn a_finger_may_lie_flat_over_two_strings_and_hardly_over_three() {
    let two = asked("violin", "F#4 C#5", Stroke::Held, PRO);
    assert_eq!((two.fingers, two.verdict), (1, Verdict::Playable));
    let three = asked("violin", "A3 E4 B4", Stroke::Short, PRO);
    assert_eq!((three.verdict, three.obstacle), (Verdict::Awkward, Some(Obstacle::FlatFinger)));
}

/// The reach in semitones at the bottom of the neck, from the first finger on its usual place (a tone above the
/// open string): within the frame, and at the limit.
#[test]
fn the_reach_in_semitones_low_on_the_neck() {
    let reach = |id: &str, first: i32, limit: Verdict| {
        let hand = Hand::new(row(id), PRO).unwrap();
        let two = |offset| [OnString { string: 0, offset: first }, OnString { string: 1, offset }];
        (first + 1..25).take_while(|high| hand.judge(&two(*high)).verdict <= limit).count()
    };
    let all = ["violin", "viola", "cello", "double-bass"];
    assert_eq!(all.map(|id| reach(id, 2, Verdict::Playable)), [5, 5, 3, 2]);
    assert_eq!(["violin", "viola", "cello"].map(|id| reach(id, 2, Verdict::Hard)), [9, 8, 4]);
    assert_eq!(reach("viola", 1, Verdict::Hard), 7);
    // The bass reaches three semitones from the next place up: half a millimetre is missing below.
    assert_eq!(reach("double-bass", 3, Verdict::Hard), 3);
}

#[test]
fn the_hand_turned_against_itself_reaches_less() {
    let spread = |low, high| {
        let placing = [OnString { string: 0, offset: low }, OnString { string: 1, offset: high }];
        Hand::new(row("violin"), PRO).unwrap().judge(&placing).verdict
    };
    assert_eq!(spread(2, 7), Verdict::Playable);
    assert_eq!(spread(7, 2), Verdict::Hard);
    assert_eq!(spread(6, 2), Verdict::Playable);
}

#[test]
fn the_thumb_of_the_cello() {
    let low = asked("cello", "E2 E3", Stroke::Held, PRO);
    assert_eq!((low.verdict, low.thumb), (Verdict::Hard, true));
    let high = asked("cello", "A3 A4", Stroke::Held, Level::Advanced);
    assert_eq!((high.verdict, high.thumb), (Verdict::Playable, true));
}

#[test]
fn too_high_is_hard_by_level() {
    // C5 lies at the tenth semitone of the D string.
    let octave = |level| asked("violin", "C4 C5", Stroke::Held, level).verdict;
    assert_eq!(octave(PRO), Verdict::Playable);
    assert_eq!(octave(Level::Advanced), Verdict::Hard);
    let high = asked("violin", "G3 G5", Stroke::Held, PRO);
    assert_eq!((high.verdict, high.obstacle), (Verdict::Hard, Some(Obstacle::TooHigh { note: 1 })));
}

/// The guide of intervals on two neighbouring strings, both stopped.
#[test]
fn the_guide_of_intervals() {
    use Class::{Caution, Impossible, Innocent};
    for (id, notes, class) in [
        ("violin", "B4 B4", Caution),
        ("violin", "A4 A4", Innocent),
        ("cello", "Ab2 Ab2", Impossible),
        ("cello", "A3 A3", Innocent),
        ("violin", "B4 C5", Caution),
        ("violin", "Eb4 F4", Caution),
        ("double-bass", "Eb2 F2", Caution),
        ("violin", "B4 D5", Innocent),
        ("violin", "Bb4 D5", Innocent),
        ("cello", "F2 A2", Innocent),
        ("double-bass", "B1 D2", Innocent),
        ("violin", "B3 E4", Innocent),
        ("violin", "Bb3 E4", Innocent),
        ("double-bass", "B1 E2", Innocent),
        ("cello", "F2 Bb2", Innocent),
        ("violin", "F#4 C#5", Innocent),
        ("double-bass", "G1 D2", Innocent),
        ("violin", "A3 F4", Innocent),
        ("cello", "E2 C#3", Innocent),
        ("double-bass", "E1 C#2", Innocent),
        ("double-bass", "F1 D2", Impossible),
        ("double-bass", "G1 Eb2", Caution),
        ("double-bass", "F#1 D#2", Impossible),
        ("violin", "Bb3 Ab4", Innocent),
        ("violin", "Bb3 A4", Innocent),
        ("double-bass", "F1 Eb2", Impossible),
        ("violin", "Bb3 Bb4", Innocent),
        ("cello", "F2 F3", Caution),
        ("double-bass", "F1 F2", Impossible),
        ("violin", "Bb3 C5", Caution),
        ("violin", "C4 E5", Caution),
        ("viola", "F3 A4", Caution),
        ("violin", "Ab3 Eb5", Impossible),
        ("violin", "G3 C5", Innocent),
    ] {
        assert_eq!(held(id, notes).class(), class, "{id} {notes}");
    }
}

#[test]
fn any_note_goes_with_an_open_neighbour() {
    for offset in 1..=14 {
        let notes = [pitch("G3"), pitch("D4").transposed(0, offset)];
        let stop = stop(row("violin"), &notes, Stroke::Held, PRO).unwrap();
        assert_eq!(stop.verdict, Verdict::Easy, "{offset}");
    }
}

#[test]
fn open_strings_do_not_vibrate() {
    assert_eq!(vibrato(row("violin"), pitch("G3")), Verdict::Awkward);
    assert_eq!(vibrato(row("violin"), pitch("D4")), Verdict::Easy);
}

#[test]
fn a_section_stays_in_three_positions() {
    let violin = row("violin");
    assert!(is_for_a_section(violin, &asked("violin", "C4 C5", Stroke::Short, PRO)));
    assert!(!is_for_a_section(violin, &asked("violin", "F5 F6", Stroke::Short, PRO)));
}

#[test]
fn school_stops() {
    let school = |notes| asked("violin", notes, Stroke::Short, Level::School).verdict;
    assert_eq!(school("D4 B4").class(), Class::Innocent);
    assert_eq!(school("A3 F4").class(), Class::Innocent);
    assert_eq!(school("Bb3 Eb4"), Verdict::Hard);
    assert_eq!(school("Bb3 Bb4"), Verdict::Hard);
    // A sixth above the first position.
    assert_eq!(school("E5 C6"), Verdict::Hard);
}

#[test]
fn chains_move_one_position_or_keep_a_finger() {
    let figures = Figures::default();
    let go = |stops: &[&str]| {
        let stops: Vec<Vec<Pitch>> = stops.iter().map(|stop| pitches(stop)).collect();
        let stops: Vec<&[Pitch]> = stops.iter().map(Vec::as_slice).collect();
        let found = chain(row("violin"), &stops, PRO, &figures).unwrap();
        found.changes.iter().map(|change| change.lies(&figures)).collect::<Vec<_>>()
    };
    assert_eq!(go(&["A3 F4", "B3 G4", "C4 A4"]), [true, true]);
    assert_eq!(go(&["A3 F4", "A3 F#4"]), [true]);
    assert_eq!(go(&["Bb3 G4", "G4 Eb5"]), [true]);
    assert_eq!(go(&["Ab3 F4", "C6 A6"]), [false]);
    let none = chain(row("violin"), &[&pitches("G3 B3")], PRO, &figures);
    assert_eq!(none, None);
}

#[test]
fn plucked_chords_have_the_same_left_hand() {
    assert_eq!(asked("violin", "G3 B3", Stroke::Plucked, PRO).verdict, Verdict::Impossible);
    assert_eq!(asked("violin", "G3 E4 C5 G5", Stroke::Plucked, PRO).verdict, Verdict::Playable);
    assert_eq!(asked("violin", "G3 A4", Stroke::Plucked, PRO).verdict, Verdict::Easy);
}

#[test]
fn a_viol_is_bowed_over_frets() {
    let lies = |notes, stroke| asked("bass-viol", notes, stroke, PRO);
    assert_eq!(lies("D2 G2", Stroke::Held).verdict, Verdict::Easy);
    assert_eq!(lies("D3 A3 D4 F#4", Stroke::Short).verdict.class(), Class::Innocent);
    let three = lies("D2 G2 C3", Stroke::Held).obstacle;
    assert_eq!(three, Some(Obstacle::TooManyHeld { most: 2 }));
    assert_eq!(lies("D2 E5", Stroke::Short).obstacle, Some(Obstacle::NotNeighbours));
    assert_eq!(fingerboard::chord(row("flute"), &pitches("C5"), Stroke::Held, PRO), None);
}

/// Every stop of two notes: what is found sounds what was asked for, on neighbouring strings.
#[test]
fn what_is_found_is_what_was_asked() {
    for id in ["violin", "viola", "cello", "double-bass", "bass-viol"] {
        let (instrument, lowest) = (row(id), row(id).open_strings[0].sounding);
        for low in 0..30 {
            for high in low..low + 24 {
                let notes = [low, high].map(|semitones| lowest.transposed(0, semitones));
                let found = stop(instrument, &notes, Stroke::Held, PRO).unwrap();
                assert_eq!(found.verdict == Verdict::Impossible, found.notes.is_empty());
                assert_eq!(found.verdict >= Verdict::Awkward, found.obstacle.is_some());
                for (note, on) in notes.iter().zip(&found.notes) {
                    let open = instrument.open_strings[on.string].sounding.midi();
                    assert_eq!(open + on.offset, note.midi());
                }
                if let [a, b] = found.notes[..] {
                    assert_eq!(a.string.abs_diff(b.string), 1);
                }
            }
        }
    }
}

/// A note left out at the outer edge of a stop makes nothing impossible.
#[test]
fn a_part_of_a_stop_that_lies_lies() {
    let violin = row("violin");
    for shape in [[0, 7, 16, 24], [0, 9, 17, 24], [2, 9, 18, 26], [5, 12, 19, 28], [3, 7, 14, 22]] {
        let notes = shape.map(|semitones| pitch("G3").transposed(0, semitones));
        let whole = stop(violin, &notes, Stroke::Short, PRO).unwrap();
        if whole.verdict != Verdict::Impossible {
            for part in [&notes[1..], &notes[..3], &notes[1..3], &notes[..2], &notes[2..]] {
                let part = stop(violin, part, Stroke::Short, PRO).unwrap();
                assert!(part.verdict <= whole.verdict, "{notes:?} {part:?}");
            }
        }
    }
}

/// A stop moved to the next pair of strings lies as before.
#[test]
fn a_stop_moved_by_the_tuning_step_lies_no_worse() {
    for (id, step) in [("violin", 7), ("viola", 7), ("cello", 7), ("double-bass", 5)] {
        let lowest = row(id).open_strings[0].sounding;
        for low in 0..7 {
            for high in low..low + 20 {
                let here = [low, high].map(|semitones| lowest.transposed(0, semitones));
                let there = here.map(|note| note.transposed(4, step));
                let [here, there] =
                    [here, there].map(|n| stop(row(id), &n, Stroke::Held, PRO).unwrap().verdict);
                assert!(there <= here, "{id} {low} {high}");
            }
        }
    }
}
