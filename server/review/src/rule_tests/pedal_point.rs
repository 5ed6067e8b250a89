//! Pedal points; the passages are composed.

use crate::rule_tests::said_in;

fn said(upper: &str, lower: &str) -> Vec<String> {
    let head = "X:1\nM:4/4\nL:1/4\nK:C\nV:1\nV:2 clef=bass";
    said_in("pedal-point", &format!("{head}\n[V:1] {upper}\n[V:2] {lower}\n"))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentences() {
    let chords = "[EGc]4|[FAc]4|[GBdf]4|[EGc]4|]";
    assert_eq!(said(chords, "C,4-|C,4-|C,4-|C,4|]"), ["The bass holds C under bars 1–4."]);
    assert_eq!(said(chords, "C,C,C,C,|C,4|C,2C,2|C,4|]"), ["The bass holds C under bars 1–4."]);
    let top = "g4-|g4-|g4-|g4|]";
    assert_eq!(
        said(top, "[C,E,G,C]4|[F,A,CF]4|[G,B,DG]4|[C,E,G,C]4|]"),
        ["The highest voice holds G over bars 1–4."]
    );
}

#[test]
fn a_note_held_for_two_bars_is_none() {
    let short = "[EGc]2[GBdf]2|[EGc]4|";
    assert_eq!(said(&format!("{short}[FAc]4|]"), "C,4-|C,4|F,4|]"), NONE, "two bars");
    let more = format!("{short}[GBdf]4|[EGc]4|]");
    assert_eq!(said(&more, "C,4-|C,4-|C,4-|C,4|]"), ["The bass holds C under bars 1–4."]);
}

#[test]
fn what_is_none() {
    let chords = "[EGc]4|[FAc]4|[EGc]4|[FAc]4|[EGc]4|]";
    assert_eq!(said(chords, "C,4-|C,4-|C,4-|C,4-|C,4|]"), NONE, "foreign to none");
    assert_eq!(
        said("[EGc]4|[FAc]4|[GBd]4|[EGc]4|]", "C,4|F,4|G,4|C,4|]"),
        NONE,
        "a bass that moves"
    );
}
