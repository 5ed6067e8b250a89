//! Planing; the passages are composed.

use crate::rule_tests::said_in;

fn said(music: &str) -> Vec<String> {
    said_in("planing", &format!("X:1\nM:4/4\nL:1/4\nK:C\n{music}\n"))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentences() {
    assert_eq!(
        said("[A,CE] [DFA] [EGB]2|[DFA]2 [A,CE]2|]"),
        ["Five minor triads move in parallel, bars 1–2."]
    );
    assert_eq!(said("[E=GC'] z3|[EGc] [FAd'] [^F^A^c] [^G^B^d]|]"), NONE);
    assert_eq!(
        said("[EGc] [^FAd] [^GBe]2|]"),
        ["Three major triads in first inversion move in parallel, bar 1."]
    );
}

#[test]
fn what_is_none() {
    assert_eq!(said("[A,CE] [B,DF] [CEG]2|]"), NONE, "other qualities");
    assert_eq!(said("[A,CE] [DFA]2 z|]"), NONE, "two chords");
    assert_eq!(said("[A,CE] [DFA] z [EGB]|]"), NONE, "a rest between");
    assert_eq!(said("[CE] [DF] [EG] [FA]|]"), NONE, "no chords");
}

#[test]
fn a_held_note_does_not_count() {
    let music = "V:1\nV:2 clef=bass\n[V:1] [A,CE] [DFA] [EGB]2|]\n[V:2] A,,4|]";
    assert_eq!(said(music).len(), 1);
}

#[test]
fn only_where_it_is_asked_for() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\n[A,CE] [DFA] [EGB]2|]\n";
    let document = recte_notation::Document::new(text);
    let found = crate::rule_tests::findings_in(&document, &crate::config::Config::default());
    assert_eq!(found, []);
}
