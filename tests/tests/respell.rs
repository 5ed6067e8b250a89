//! `recte respell`, from outside: what is shown, written, narrowed and left alone.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::{run, run_in};
use std::fs;
use std::path::Path;

const TEXT: &str = "X:1\nT:Pebble\nL:1/4\nV:1\nV:2\nK:C\n\
    [V:1][E_AB]2c2|[E_AB]2c2|\n[V:2]E_AB2|C4|\n\nX:2\nT:Reed\nL:1/4\nK:C\n[E_AB]2c2|\n";

fn of_input(args: &[&str]) -> String {
    let ran =
        run_in(Path::new("/"), &[&["respell", "-", "--write"], args].concat(), TEXT.as_bytes());
    assert_eq!(ran.code, 0, "{}", ran.err);
    ran.out
}

#[test]
fn the_difference_is_shown_and_written_when_asked() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.abc"), TEXT).unwrap();
    fs::write(folder.path().join("b.abc"), "X:1\nK:C\nCDEF|\n").unwrap();
    let shown = run_in(folder.path(), &["respell", "."], b"");
    assert_eq!(shown.code, 0);
    assert!(shown.out.contains("-[V:2]E_AB2|C4|\n+[V:1][E^GB]2c2|"), "{}", shown.out);
    assert_eq!(shown.err, "4 notes in 1 of the scores; --write takes them.\n");
    assert_eq!(fs::read_to_string(folder.path().join("a.abc")).unwrap(), TEXT);
    let written = run_in(folder.path(), &["respell", ".", "--write"], b"");
    assert_eq!(written.err, "./a.abc: 4 notes.\n4 notes in 1 of the scores, written.\n");
    let after = fs::read_to_string(folder.path().join("a.abc")).unwrap();
    assert_eq!(after, TEXT.replace("_A", "^G"));
    let again = run_in(folder.path(), &["respell", "."], b"");
    assert_eq!((again.out.as_str(), again.err.as_str()), ("", "Nothing to respell.\n"));
}

#[test]
fn tunes_bars_and_voices_narrow_it() {
    let places: Vec<usize> = TEXT.match_indices("_A").map(|(at, _)| at).collect();
    let expected = |which: &[usize]| {
        let mut after = TEXT.to_owned();
        which.iter().for_each(|&one| after.replace_range(places[one]..places[one] + 2, "^G"));
        after
    };
    assert_eq!(of_input(&[]), expected(&[0, 1, 2, 3]));
    assert_eq!(of_input(&["--tune", "2"]), expected(&[3]));
    assert_eq!(of_input(&["--bars", "2"]), expected(&[1]));
    assert_eq!(of_input(&["--tune", "1", "--bars", "1"]), expected(&[0, 2]));
    assert_eq!(of_input(&["--tune", "1", "--voices", "2"]), expected(&[2]));
}

#[test]
fn what_is_not_there_is_said() {
    let said = |args: &[&str]| {
        let ran = run_in(Path::new("/"), &[&["respell", "-"], args].concat(), TEXT.as_bytes());
        assert_eq!(ran.code, 2);
        ran.err
    };
    assert!(said(&["--tune", "7"]).contains("-: there is no tune with the number 7 in it."));
    assert!(said(&["--bars", "9"]).contains("-: there are no bars 9; this tune has bars 1 to 2."));
    assert!(said(&["--voices", "Vn"]).contains("-: there is no voice “Vn”"));
}

#[test]
fn musicxml_is_left_with_a_sentence() {
    let ran = run(&["respell", "tests/scores/miller-at-the-weir.musicxml"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("it is MusicXML; `recte import` makes a text of it."), "{}", ran.err);
}

#[test]
fn a_tune_that_would_sound_otherwise_is_left_and_named() {
    // The second note of the macro leans on the accidental before it, and cannot be given one of its own.
    let text =
        "X:1\nT:Sedge\nL:1/4\nm:~E2=EA\nK:C\n[E_AB]2~E2|[E_AB]2c2|\n\nX:2\nK:C\n[E_AB]2c2|\n";
    let ran = run_in(Path::new("/"), &["respell", "-", "--write"], text.as_bytes());
    assert_eq!(ran.code, 2);
    let sentence = "-: “Sedge” was left as it is: respelled, it would not sound the same.\n";
    assert!(ran.err.starts_with(sentence), "{}", ran.err);
    let (first, second) = text.split_once("X:2").unwrap();
    assert_eq!(ran.out, format!("{first}X:2{}", second.replace("_A", "^G")));
}
