//! Section 3 of the specification, statement by statement.

use super::levers::levers;
use super::*;
use crate::playability::Figures;
use crate::playability::testing::{pitch, pitches, row};

/// Moments at so many a second, parted by commas.
fn moments(text: &str) -> Vec<Vec<Pitch>> {
    text.split(',').map(pitches).collect()
}

fn timed(chords: &[Vec<Pitch>], per_second: f64) -> Vec<Moment<'_>> {
    let timed = chords.iter().enumerate();
    let at = |place| place as f64 / per_second;
    timed.map(|(place, notes)| Moment { seconds: at(place), notes }).collect()
}

fn asked(text: &str, per_second: f64) -> Passage {
    let chords = moments(text);
    passage(row("harp"), &timed(&chords, per_second)).unwrap()
}

fn chord(text: &str) -> (Verdict, Option<String>) {
    let found = asked(text, 1.0);
    let names = |respelled: Respelled| {
        respelled.notes[0].iter().map(Pitch::to_string).collect::<Vec<_>>().join(" ")
    };
    (found.verdict, found.respelled.map(names))
}

fn moves(text: &str) -> usize {
    let chords = moments(text);
    fewest(row("harp"), &timed(&chords, 1.0)).unwrap().pedalling.moves.len()
}

#[test]
fn forty_seven_strings() {
    let harp = row("harp");
    let strings = Strings::new(harp).unwrap();
    assert_eq!(strings.highest - strings.lowest + 1, 47);
    let low = asked("B0", 1.0);
    assert_eq!(low.written.clash, Some(Clash::NoString { moment: 0, note: 0 }));
    assert_eq!(low.verdict, Verdict::Impossible);
}

#[test]
fn one_letter_has_one_inflection_in_all_octaves() {
    let found = asked("C4 C#5", 1.0);
    let clash = Clash::OneLetter { moment: 0, notes: [0, 1] };
    assert_eq!((found.verdict, found.written.clash), (Verdict::Respell, Some(clash)));
    assert_eq!(asked("C4 E4 C5", 1.0).verdict, Verdict::Easy);
}

#[test]
fn left_foot_d_c_b_right_foot_e_f_g_a() {
    let harp = row("harp");
    let strings = Strings::new(harp).unwrap();
    let left: Vec<Letter> = Letter::ALL.into_iter().filter(|l| strings.is_left(*l)).collect();
    assert_eq!(left, [Letter::C, Letter::D, Letter::B]);
}

#[test]
fn the_lowest_strings_have_no_pedal() {
    let found = asked("C1,C#1", 0.5);
    assert_eq!(found.verdict, Verdict::Impossible);
    assert_eq!(found.written.clash, Some(Clash::NoPedal { moment: 1, note: 0 }));
    // Tuned so throughout, and no matter of the pedal: C natural sounds with it.
    assert_eq!(asked("Cb1 C4,Cb1 G4", 1.0).verdict, Verdict::Easy);
    assert_eq!(asked("C2,C#2", 0.5).verdict, Verdict::Easy);
}

#[test]
fn homophones_and_what_has_none() {
    use Verdict::{Easy, Impossible, Respell};
    assert_eq!(chord("C4 Db4"), (Easy, None));
    assert_eq!(chord("C4 C#4"), (Respell, Some("C4 Db4".into())));
    for (notes, names) in [
        ("C4 C#4 D4", "B#3 C#4 D4"),
        ("D4 D#4 E4", "D4 Eb4 Fb4"),
        ("A4 A#4 B4", "A4 Bb4 Cb5"),
        ("F4 F#4 G4", "E#4 F#4 G4"),
    ] {
        assert_eq!(chord(notes), (Respell, Some(names.into())), "{notes}");
    }
    assert_eq!(chord("G4 G#4 A4"), (Impossible, None));
    assert_eq!(chord("D4 Eb4 E4 F4 F#4"), (Impossible, None));
    // No double signs: the name of the same sound helps.
    assert_eq!(chord("F##4 B4"), (Respell, Some("G4 B4".into())));
}

#[test]
fn two_names_of_one_sound_are_two_strings() {
    assert_eq!(chord("B#3 C4"), (Verdict::Easy, None));
    assert_eq!(chord("B#3 C4 C#4").0, Verdict::Respell);
    assert_eq!(chord("D4 D4"), (Verdict::Easy, None));
}

#[test]
fn a_chromatic_scale_needs_five_moves_and_two_octaves_eleven() {
    let octave = "C4,C#4,D4,D#4,E4,F4,F#4,G4,G#4,A4,A#4,B4,C5";
    assert_eq!(moves(octave), 5);
    let second = "C#5,D5,D#5,E5,F5,F#5,G5,G#5,A5,A#5,B5,C6";
    assert_eq!(moves(&format!("{octave},{second}")), 11);
    // All spellings, tried one by one, need no fewer for a part of it.
    let part = moments("G4,G#4,A4,A#4,B4");
    assert_eq!(moves("G4,G#4,A4,A#4,B4"), fewest_by_trying(&part));
}

/// The fewest moves over every spelling of single notes, by trying them all.
fn fewest_by_trying(line: &[Vec<Pitch>]) -> usize {
    let harp = row("harp");
    let names: Vec<Vec<Pitch>> = line.iter().map(|notes| names(notes[0]).collect()).collect();
    let all: usize = names.iter().map(Vec::len).product();
    let way = |mut number: usize| -> Vec<Vec<Pitch>> {
        let next = |names: &Vec<Pitch>| {
            let name = names[number % names.len()];
            number /= names.len();
            vec![name]
        };
        names.iter().map(next).collect()
    };
    let count = |number| {
        let way = way(number);
        as_written(harp, &timed(&way, 1.0)).unwrap().moves.len()
    };
    (0..all).map(count).min().unwrap()
}

#[test]
fn the_search_agrees_with_trying_everything() {
    for line in ["C4,C#4,C4,B3,Bb3", "E4,F4,E4,Eb4,D4,Db4", "Ab4,A4,G4,G#4,A4", "B3,C4,Cb4,B#3,Db4"]
    {
        let sounds = moments(line);
        assert_eq!(moves(line), fewest_by_trying(&sounds), "{line}");
    }
}

#[test]
fn fast_repeats_take_two_strings() {
    let second = |note| second_string(row("harp"), pitch(note)).map(|note| note.to_string());
    for (note, other) in
        [("C4", "B#3"), ("C#4", "Db4"), ("Eb4", "D#4"), ("E4", "Fb4"), ("B4", "Cb5")]
    {
        assert_eq!(second(note).as_deref(), Some(other));
    }
    assert_eq!(["D4", "G4", "A4"].map(second), [None, None, None]);
}

#[test]
fn two_moves_a_second_are_easy_four_hard_and_more_impossible() {
    use Verdict::{Awkward, Easy, Hard, Impossible};
    let feet = |text: &str, rate| {
        let chords = moments(text);
        as_written(row("harp"), &timed(&chords, rate)).unwrap().verdict
    };
    // One move of each foot, two of each, three and one, five in all.
    assert_eq!(feet("C4 E4,C#4 Eb4", 1.0), Easy);
    assert_eq!(feet("C4 D4 E4 F4,C#4 Db4 Eb4 F#4", 1.0), Awkward);
    assert_eq!(feet("C4 D4 B4 E4,C#4 Db4 Bb4 Eb4", 1.0), Hard);
    assert_eq!(feet("C4 D4 B4 E4 F4,C#4 Db4 Bb4 Eb4 F#4", 1.0), Impossible);
    assert_eq!(feet("C4 D4 B4 E4 F4,C#4 Db4 Bb4 Eb4 F#4", 0.25), Easy);
}

#[test]
fn one_pedal_a_foot_at_an_instant() {
    let feet = |text: &str| {
        let chords = moments(text);
        as_written(row("harp"), &timed(&chords, 10.0)).unwrap().verdict
    };
    assert_eq!(feet("C4 D4,C#4 Db4"), Verdict::Hard);
    assert_eq!(feet("C4 E4,C#4 Eb4"), Verdict::Easy);
}

#[test]
fn moves_are_told_with_the_time_there_is() {
    let found = asked("B4,C5,D5,Bb4", 1.0).written;
    let step = Move { letter: Letter::B, from: 0, to: -1, after: 0, before: 3 };
    assert_eq!(found.moves, [step]);
    assert_eq!(found.start, [Some(0), Some(0), None, None, None, None, Some(0)]);
}

#[test]
fn a_caution_as_spelled_keeps_its_better_spelling() {
    let found = asked("B3 C#4 D4 E4,Cb4 Db4 D4 Fb4,B3 C#4 D4 E4", 1.0);
    assert_eq!(found.written.clash, Some(Clash::OneLetter { moment: 1, notes: [1, 2] }));
    assert_eq!(found.verdict, Verdict::Respell);
    let found = asked("C4 D4 B4,C#4 D#4 Bb4", 1.0);
    assert_eq!((found.verdict, found.written.moves.len()), (Verdict::Hard, 3));
    let respelled = found.respelled.unwrap();
    assert_eq!((respelled.pedalling.verdict, respelled.pedalling.moves.len()), (Verdict::Easy, 1));
}

#[test]
fn levers_raise_one_string_at_a_time() {
    let asked = |text: &str, rate, left: &[f64]| {
        let chords = moments(text);
        levers(row("lever-harp"), &timed(&chords, rate), left, &Figures::default()).unwrap()
    };
    assert_eq!(asked("Eb4 G4 Bb4", 1.0, &[]).verdict, Verdict::Easy);
    // Each octave by itself.
    assert_eq!(asked("Eb4 E5", 1.0, &[]).verdict, Verdict::Easy);
    assert_eq!(asked("Eb4 E4", 1.0, &[]).verdict, Verdict::Impossible);
    // Raised only: D flat is C sharp, and there is no lowered F.
    assert_eq!(asked("Db4", 1.0, &[]).verdict, Verdict::Respell);
    assert_eq!(asked("Gb4 F4 F#5", 1.0, &[]).verdict, Verdict::Impossible);
    assert_eq!(asked("Eb4,E4", 1.0, &[]).verdict, Verdict::Easy);
    assert_eq!(asked("Eb4 Bb4,E4 B4", 1.0, &[]).verdict, Verdict::Impossible);
    // The left hand has to be free.
    assert_eq!(asked("Eb4,G4,E4", 1.0, &[0.5, 1.0, 1.5]).verdict, Verdict::Awkward);
    assert!(passage(row("piano"), &[]).is_none());
}
