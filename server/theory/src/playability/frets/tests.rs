//! Section 4 of the specification, statement by statement.

use super::*;
use crate::playability::Class;
use crate::playability::testing::{pitches, row};

fn asked(id: &str, notes: &str) -> Fingering {
    chord(row(id), &pitches(notes)).unwrap()
}

/// A shape as guitarists write it: frets from the lowest string up, `x` where nothing sounds.
fn shape(id: &str, frets: &str) -> Fingering {
    let strings = &row(id).open_strings;
    let frets = frets.split(' ').zip(strings).filter_map(|(fret, string)| {
        let fret: i32 = fret.parse().ok()?;
        Some(string.sounding.transposed(0, fret))
    });
    chord(row(id), &frets.collect::<Vec<_>>()).unwrap()
}

#[test]
fn one_note_a_string() {
    let two = asked("guitar", "E2 G2").obstacle;
    assert_eq!(two, Some(Obstacle::OneString { notes: [0, 1], string: 0 }));
    let seven = asked("guitar", "E2 A2 D3 G3 B3 E4 A4").obstacle;
    assert_eq!(seven, Some(Obstacle::TooManyNotes { most: 6 }));
    assert_eq!(asked("guitar", "D2 A2").obstacle, Some(Obstacle::BelowLowest { note: 0 }));
    assert_eq!(asked("guitar", "E3 E6").obstacle, Some(Obstacle::TooHigh { note: 1 }));
}

#[test]
fn four_frets_both_counted_and_five_with_a_stretch() {
    // Four fingers that cannot go elsewhere: the outer strings decide.
    let lies = |placing: &[(usize, i32)]| {
        let placing: Vec<_> =
            placing.iter().map(|&(string, offset)| OnString { string, offset }).collect();
        judge(row("guitar").stops.as_ref().unwrap(), &placing).verdict
    };
    assert_eq!(lies(&[(0, 1), (5, 4)]), Verdict::Easy);
    assert_eq!(lies(&[(0, 1), (5, 5)]), Verdict::Hard);
    assert_eq!(lies(&[(0, 5), (5, 9)]), Verdict::Playable);
    assert_eq!(lies(&[(0, 5), (5, 10)]), Verdict::Impossible);
    assert_eq!(lies(&[(0, 7), (5, 12)]), Verdict::Hard);
    assert_eq!(lies(&[(0, 7), (5, 13)]), Verdict::Impossible);
}

#[test]
fn open_strings_are_free() {
    let open = shape("guitar", "0 0 0 0 0 0");
    assert_eq!((open.verdict, open.fingers), (Verdict::Easy, 0));
    assert_eq!(shape("guitar", "0 2 2 1 0 0").fingers, 3);
    assert_eq!(shape("guitar", "0 x x x x 12").verdict, Verdict::Easy);
}

#[test]
fn a_barre_is_one_finger() {
    let full = shape("guitar", "1 3 3 2 1 1");
    assert_eq!((full.verdict, full.fingers), (Verdict::Playable, 3));
    // An open string in the middle would be damped by the barre.
    let blocked =
        fingers(&[(0, 2), (1, 0), (2, 2)].map(|(s, o)| OnString { string: s, offset: o }));
    assert_eq!(blocked, 2);
}

#[test]
fn at_most_four_fingers_otherwise() {
    let most = Fingering::impossible(Obstacle::TooManyFingers { fingers: 5 });
    let placing = [(0, 4), (1, 3), (2, 2), (3, 1), (4, 2)];
    let placing = placing.map(|(string, offset)| OnString { string, offset });
    let judged = judge(row("guitar").stops.as_ref().unwrap(), &placing);
    assert_eq!(judged.fingering(&placing), most);
}

#[test]
fn close_low_chords_are_searched_before_they_are_refused() {
    assert_eq!(asked("guitar", "G2 Bb2 Db3").verdict, Verdict::Impossible);
    let found = asked("guitar", "C3 D3 E3");
    assert_eq!(found.verdict, Verdict::Easy);
    let on = |string, offset| OnString { string, offset };
    assert_eq!(found.notes, [on(0, 8), on(2, 0), on(1, 7)]);
}

#[test]
fn every_row_has_its_own_span() {
    // Six frets are within a mandolin player's hand, and not within a guitarist's.
    let six = [(0, 2), (3, 7)].map(|(string, offset)| OnString { string, offset });
    let class = |id: &str| judge(row(id).stops.as_ref().unwrap(), &six).verdict.class();
    assert_eq!(class("mandolin"), Class::Innocent);
    assert_eq!(class("guitar"), Class::Impossible);
}

#[test]
fn strings_need_not_be_in_order() {
    let open = asked("ukulele", "C4 E4 G4 A4");
    assert_eq!(open.fingers, 0);
    assert_eq!(open.notes.iter().map(|note| note.string).collect::<Vec<_>>(), [1, 2, 0, 3]);
    assert_eq!(asked("five-string-banjo", "D3 G3 B3 D4 G4").verdict, Verdict::Easy);
    assert_eq!(asked("ukulele", "B3").obstacle, Some(Obstacle::BelowLowest { note: 0 }));
}

/// Chords that every guitar method prints.
#[test]
fn chords_of_every_method() {
    for chord in [
        "x 3 2 0 1 0",
        "3 2 0 0 0 3",
        "0 2 2 1 0 0",
        "x 0 2 2 2 0",
        "x x 0 2 3 2",
        "x x 0 2 3 1",
        "0 2 2 0 0 0",
        "x 0 2 2 1 0",
        "x 2 4 4 4 2",
        "2 4 4 3 2 2",
        "x 2 1 2 0 2",
        "x 1 3 3 3 1",
    ] {
        assert_eq!(shape("guitar", chord).verdict.class(), Class::Innocent, "{chord}");
    }
}

/// What is found sounds what was asked for.
#[test]
fn what_is_found_is_what_was_asked() {
    for id in ["guitar", "ukulele", "mandolin", "five-string-banjo", "lute"] {
        let (instrument, lowest) = (row(id), row(id).open_strings[0].sounding);
        for low in 0..20 {
            for third in [2, 3, 4, 7] {
                let notes = [0, third, 12].map(|up| lowest.transposed(0, low + up));
                let found = chord(instrument, &notes).unwrap();
                assert_eq!(found.verdict == Verdict::Impossible, found.notes.is_empty());
                for (note, on) in notes.iter().zip(&found.notes) {
                    let open = instrument.open_strings[on.string].sounding.midi();
                    assert_eq!(open + on.offset, note.midi(), "{id}");
                }
            }
        }
    }
}
