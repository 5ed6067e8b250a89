//! MusicXML through the command line: imported, checked, walked for; and what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::{folder, root, run, run_in};
use std::fs;
use std::path::Path;

const SCORE: &str = "tests/scores/miller-at-the-weir.musicxml";

/// A score of one bar whose chord players expect with G sharp.
const REMARKED: &str = "<score-partwise><part-list><score-part id=\"P1\"><part-name>Guitar</part-name></score-part></part-list>\
    <part id=\"P1\"><measure number=\"12\"><attributes><divisions>1</divisions><time><beats>2</beats><beat-type>4</beat-type></time></attributes>\
    <note><rest/><duration>1</duration></note>\
    <note><pitch><step>E</step><octave>4</octave></pitch><duration>1</duration></note>\
    <note><chord/><pitch><step>A</step><alter>-1</alter><octave>4</octave></pitch><duration>1</duration></note>\
    <note><chord/><pitch><step>B</step><octave>4</octave></pitch><duration>1</duration></note></measure></part></score-partwise>";

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap()
}

#[test]
fn one_score_goes_to_standard_output_and_what_it_lacks_to_standard_error() {
    let ran = run_in(&root(), &["import", SCORE], b"");
    assert_eq!(ran.code, 0);
    assert!(ran.out.starts_with("%abc-2.1\nX:1\nT:The Miller at the Weir\n"), "{}", ran.out);
    let lacks = format!(
        "{SCORE}: not all of it can be held in text.\n\
         \x20 Clarinet in B♭, bar 2: tremolo strokes are left out.\n\
         \x20 Piano, bar 5: octave lines are left out; the notes are written where they sound.\n"
    );
    assert_eq!(ran.err, lacks);
    let piped = run_in(&root(), &["import", "-"], &fs::read(root().join(SCORE)).unwrap());
    assert_eq!(piped.out, ran.out);
}

#[test]
fn the_text_reads_without_a_remark() {
    let text = run_in(&root(), &["import", SCORE], b"").out;
    let ran = run_in(&root(), &["check", "-", "--fail-on", "hint"], text.as_bytes());
    assert_eq!((ran.code, ran.out.as_str()), (0, "Nothing to remark in 1 score.\n"));
}

#[test]
fn strict_takes_all_or_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().to_str().unwrap();
    let ran = run_in(&root(), &["import", "--strict", SCORE, "-o", out], b"");
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("was not taken, for its text cannot hold all of it:\n  Clarinet"),
        "{}",
        ran.err
    );
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 0);
}

#[test]
fn folders_are_imported_as_they_lie_and_no_text_is_written_over() {
    let dir = folder(&[
        ("in/a.musicxml", REMARKED),
        ("in/deep/b.xml", REMARKED),
        ("in/other.xml", "<x/>"),
    ]);
    let import = || run_in(dir.path(), &["import", "in", "-o", "out"], b"");
    assert_eq!(import().code, 0);
    assert!(read(dir.path(), "out/a.abc").contains("\nT:a\n"));
    assert!(read(dir.path(), "out/deep/b.abc").contains("\nT:b\n"));
    assert!(!dir.path().join("out/other.abc").exists());
    // The same again changes nothing; an edited text stays.
    assert_eq!(import().code, 0);
    fs::write(dir.path().join("out/a.abc"), "mine").unwrap();
    let again = import();
    assert_eq!(again.code, 2);
    assert!(
        again.err.contains("out/a.abc was left as it is: there is a file of this name already"),
        "{}",
        again.err
    );
    assert_eq!(read(dir.path(), "out/a.abc"), "mine");
    let two = run_in(dir.path(), &["import", "in"], b"");
    assert_eq!(
        (two.code, two.err.as_str()),
        (2, "Several scores need a folder to go to; name it with -o.\n")
    );
    let alike = run_in(dir.path(), &["import", "in/a.musicxml", "in/a.xml", "-o", "new"], b"");
    assert_eq!(alike.code, 2);
    assert!(!dir.path().join("new").exists());
}

#[test]
fn a_bad_score_is_named_and_the_others_are_taken() {
    let cut = &REMARKED[..REMARKED.find("<octave>").unwrap()];
    let dir =
        folder(&[("cut.musicxml", cut), ("good.musicxml", REMARKED), ("text.mxl", "X:1\nK:C\n")]);
    let ran = run_in(dir.path(), &["import", ".", "-o", "out"], b"");
    assert_eq!(ran.code, 2);
    for said in [
        "cut.musicxml: part “Guitar”, measure 12: the file ends in the middle; something of it is missing.",
        "text.mxl: this is not a MusicXML score; one begins with <score-partwise> or <score-timewise>.",
    ] {
        assert!(ran.err.contains(said), "{}", ran.err);
    }
    assert!(dir.path().join("out/good.abc").exists());
    assert!(!dir.path().join("out/cut.abc").exists());
}

#[test]
fn import_checks_when_asked() {
    let dir = folder(&[("a.musicxml", REMARKED)]);
    let ran = run_in(dir.path(), &["import", "--check", "a.musicxml"], b"");
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("players expect G sharp. (chord-spelling)"), "{}", ran.err);
    assert!(ran.out.starts_with("%abc-2.1"));
}

#[test]
fn a_score_is_checked_as_it_is() {
    let dir =
        folder(&[("a.xml", REMARKED), ("b.abc", "X:1\nT:Reed\nM:4/4\nL:1/4\nK:C\nC D E F|]\n")]);
    let ran = run_in(dir.path(), &["check", "."], b"");
    assert_eq!(ran.code, 1);
    let place = "./a.xml  a, bar 12, beat 2\n  warning: E, A flat, B is an E major triad; players expect G sharp. (chord-spelling)\n  try: Respell as E major: E G♯ B\n";
    assert!(ran.out.starts_with(place), "{}", ran.out);
    assert!(ran.out.ends_with("1 warning in 2 scores.\n"), "{}", ran.out);
    let json = run_in(dir.path(), &["check", "--format", "json", "a.xml"], b"").json();
    let remark = &json["files"][0]["diagnostics"][0];
    assert!(remark["range"].is_null());
    assert_eq!((&remark["measure"], &remark["beat"]), (&"12".into(), &"2".into()));
    assert_eq!(remark["fixes"][0]["edits"].as_array().unwrap().len(), 0);
    assert_eq!(
        run_in(dir.path(), &["notes", "a.xml"], b"").json()["tunes"][0]["voices"][0]["name"],
        "Guitar"
    );
}

#[test]
fn a_score_that_is_not_read_whole_is_checked_and_that_is_said() {
    let ran = run_in(&root(), &["check", SCORE], b"");
    let said = format!(
        "{SCORE}: read without 2 things that a text cannot hold; `recte import` says which.\n"
    );
    assert_eq!((ran.code, ran.err), (0, said));
    let dir = folder(&[("a.musicxml", REMARKED)]);
    assert_eq!(run_in(dir.path(), &["check", "a.musicxml"], b"").err, "");
}

#[test]
fn emending_leaves_a_score_that_is_no_text_alone() {
    let dir = folder(&[("a.musicxml", REMARKED)]);
    let ran = run_in(dir.path(), &["emend", "--write", "a.musicxml"], b"");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("it is MusicXML; `recte import` makes a text of it."), "{}", ran.err);
    assert_eq!(read(dir.path(), "a.musicxml"), REMARKED);
    assert_eq!(run(&["import"]).code, 2);
}
