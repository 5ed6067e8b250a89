//! Ties, right and wrong.

use crate::finding::Severity;
use crate::rule_tests::{findings_of, first_fix, prove_fixes};

fn said(music: &str) -> Vec<(String, Severity)> {
    let text = format!("%abc-2.1\nX:1\nT:\nM:4/4\nL:1/4\nK:C\n{music}\n");
    prove_fixes("tie-target", &text);
    let found = findings_of("tie-target", &text);
    found.into_iter().map(|f| (f.message, f.severity)).collect()
}

#[test]
fn the_sentences() {
    let say = |music: &str| said(music).into_iter().map(|(message, _)| message).collect::<Vec<_>>();
    assert_eq!(say("C2-D2|"), ["This tie leads from C to D; between two pitches a slur is meant."]);
    assert_eq!(say("C2-z2|"), ["This tie on C leads to a rest."]);
    assert_eq!(say("C4-|"), ["This tie on C leads to no note."]);
    assert_eq!(
        say("C2-c2|"),
        ["This tie leads from C to another C; between two pitches a slur is meant."]
    );
    assert_eq!(
        say("^F2-_G2|"),
        ["This note is tied from F sharp to G flat: one sound with two names."]
    );
    assert_eq!(
        say("abc|-cba|"),
        ["A tie stands right after the note it holds, before any space or bar line."]
    );
    assert_eq!(
        say("z2 -c2|"),
        ["This tie leaves no note; it stands right after the note it holds, as in c-c."]
    );
    assert_eq!(say("[CE]2-[DF]2|").len(), 1);
}

#[test]
fn a_tie_that_skips_to_another_voice() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\nV:1 nm=Flute\nC2G2-|C4|\nV:2 nm=Oboe\nE4|G4|\n";
    let found = findings_of("tie-target", text);
    let message = "This tie leads from G in Flute to G in Oboe; each part is read alone.";
    assert_eq!((found.len(), found[0].message.as_str()), (1, message));
}

#[test]
fn right_ties_are_quiet() {
    for music in [
        "C2-C2|",
        "^C4-|C4|",
        "C4-|\nC4|",
        "[C-E]2[CF]2|",
        "[CEG]2-[CFA]2|",
        "C-{d}C2|",
        "|:C4-:|C4|",
        "C4-|1C4-:|2C4|",
        "(C2-C2)|",
        "C2.-C2|",
        "c4-&E4|c4&E4|",
        "C2-\"Am\"!f!C2|",
    ] {
        assert_eq!(said(music), [], "{music}");
    }
}

#[test]
fn the_slur_stands_before_the_decorations() {
    let head = "X:1\nL:1/4\nK:C\n";
    let fixed = first_fix("tie-target", &format!("{head}\"Am\"!p!C2-D2|\n"));
    assert_eq!(fixed, format!("{head}\"Am\"(!p!C2D2)|\n"));
}

#[test]
fn a_tie_at_the_head_of_an_ending_is_not_moved() {
    let found = findings_of("tie-target", "X:1\nM:4/4\nL:1/4\nK:C\n|:C4-|1C4:|2-C4|]\n");
    assert!(found.iter().all(|finding| finding.fixes.is_empty()), "{found:?}");
}
