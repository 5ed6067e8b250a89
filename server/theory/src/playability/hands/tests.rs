//! Section 2 of the specification, and what section 3 says of harp hands, statement by statement.

use super::*;
use crate::playability::Class;
use crate::playability::testing::{pitches, row};

const PRO: Level = Level::Professional;

fn one(id: &str, notes: &str, level: Level) -> Grip {
    one_hand(row(id), &pitches(notes), level).unwrap()
}

fn two(notes: &str) -> Grip {
    two_hands(row("piano"), &pitches(notes), PRO).unwrap()
}

#[test]
fn five_notes_a_hand_ten_in_all() {
    assert_eq!(one("piano", "C4 D4 E4 F4 G4", PRO).verdict, Verdict::Easy);
    assert_eq!(two("C3 D3 E3 F3 G3 C4 D4 E4 F4 G4").verdict, Verdict::Easy);
    let eleven = two("C3 D3 E3 F#3 G#3 A#3 C4 D4 E4 F#4 G#4 A#4 C5");
    assert!(matches!(eleven.obstacle, Some(HandObstacle::TooManyNotes { .. })));
}

#[test]
fn a_thumb_holds_two_white_neighbours() {
    assert_eq!(one("piano", "C4 D4 E4 F4 G4 A4", PRO).verdict, Verdict::Hard);
    let seven = one("piano", "C4 D4 E4 F4 G4 A4 B4", PRO);
    assert_eq!(seven.obstacle, Some(HandObstacle::TooManyNotes { notes: 7, most: 5 }));
    assert_eq!(one("piano", "C4 C#4 D4 E4 F4 F#4", PRO).verdict, Verdict::Impossible);
}

#[test]
fn the_span_of_a_hand() {
    use Verdict::{Easy, Hard, Impossible, Playable};
    for (high, verdict) in [
        ("C5", Easy),
        ("C#5", Playable),
        ("D5", Playable),
        ("Eb5", Hard),
        ("E5", Hard),
        ("F5", Impossible),
    ] {
        assert_eq!(one("piano", &format!("C4 {high}"), PRO).verdict, verdict, "{high}");
    }
    // Black and white keys are no difference.
    assert_eq!(one("piano", "Eb3 G4", PRO).verdict, Hard);
}

#[test]
fn school_hands() {
    let school = |notes| one("piano", notes, Level::School).verdict;
    assert_eq!(school("C4 C5").class(), Class::Innocent);
    assert_eq!(school("C4 D5"), Verdict::Hard);
    assert_eq!(school("C4 E5"), Verdict::Impossible);
}

#[test]
fn redistribution_names_the_split() {
    let found = staves(row("piano"), &[], &pitches("C3 E4 G4 C5"), PRO).unwrap();
    assert_eq!((found.verdict, found.left), (Verdict::Redistribute, 1));
    let busy = staves(row("piano"), &pitches("C2 C3"), &pitches("F3 A4 D5"), PRO).unwrap();
    assert_eq!(busy.verdict, Verdict::Impossible);
    let written = staves(row("piano"), &pitches("C3 G3"), &pitches("E4 C5"), PRO).unwrap();
    assert_eq!((written.verdict, written.left), (Verdict::Easy, 2));
    // Taken over by the hand that has room.
    let over = staves(row("piano"), &pitches("C3 G3"), &pitches("B3 G4 D5"), PRO).unwrap();
    assert_eq!((over.verdict, over.left), (Verdict::Redistribute, 3));
}

#[test]
fn what_the_pedal_holds_is_left_out() {
    assert_eq!(two("C1 C3 G3 E4 C5 E6").verdict, Verdict::Impossible);
    assert_eq!(two("C3 G3 E4 C5").verdict, Verdict::Easy);
}

#[test]
fn three_hands() {
    let found = two("C2 C3 G4 C5 E6 G6");
    assert!(matches!(found.obstacle, Some(HandObstacle::Span { reach: 16, .. })));
    let found = two("C2 G2 E4 G4 C5");
    assert_eq!((found.verdict, found.left), (Verdict::Easy, 2));
}

#[test]
fn close_thirds_low_down_are_thick() {
    let thick = thick_third(&pitches("C2 E2 C4")).map(|(a, b)| format!("{a} {b}"));
    assert_eq!(thick.as_deref(), Some("C2 E2"));
    assert_eq!(thick_third(&pitches("C3 E3")), None);
    assert_eq!(thick_third(&pitches("C2 G2")), None);
}

#[test]
fn one_foot_a_note() {
    let feet = |notes| two_feet(row("organ"), &pitches(notes)).unwrap();
    assert_eq!(feet("C2 C3"), Verdict::Easy);
    assert_eq!(feet("C2 D2 C3"), Verdict::Hard);
    assert_eq!(feet("C2 E2 C3"), Verdict::Impossible);
    assert_eq!(two_feet(row("piano"), &pitches("C2")), None);
}

#[test]
fn harp_hands_have_four_fingers() {
    let five = one("harp", "C4 E4 G4 C5 E5", PRO);
    assert_eq!(five.obstacle, Some(HandObstacle::TooManyNotes { notes: 5, most: 4 }));
    let eight = two_hands(row("harp"), &pitches("C3 E3 G3 C4 E4 G4 C5 E5"), PRO).unwrap();
    assert_eq!((eight.verdict, eight.left), (Verdict::Easy, 4));
    assert_eq!(one("harp", "C3 E4", PRO).verdict, Verdict::Easy);
    assert_eq!(one("harp", "C3 G4", PRO).verdict, Verdict::Playable);
    assert_eq!(one("harp", "C3 A4", PRO).verdict, Verdict::Impossible);
}

/// A note left out makes nothing harder, except that six notes need a thumb on two neighbours.
#[test]
fn fewer_notes_lie_no_worse() {
    let all = pitches("C2 G2 E3 C4 E4 G4 C5 E5");
    for first in 0..all.len() {
        for last in first + 2..=all.len() {
            let (whole, part) = (&all[first..last], &all[first + 1..last]);
            let verdict = |notes| two_hands(row("piano"), notes, PRO).unwrap().verdict;
            assert!(verdict(part) <= verdict(whole));
        }
    }
}
