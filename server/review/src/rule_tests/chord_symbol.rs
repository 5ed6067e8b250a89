//! Symbols against the notes.

use crate::rule_tests::{first_fix, messages_of, music_after};

const RULE: &str = "chord-symbol";

fn said(music: &str) -> Vec<String> {
    messages_of(RULE, &format!("X:1\nM:4/4\nL:1/4\nK:C\n{music}\n"))
}

#[test]
fn another_third_another_root() {
    assert_eq!(
        said("\"C\"[C_EGc]4|"),
        ["The symbol says C major: C, E, G; the notes are C, E flat, G, C minor."]
    );
    let found = said("\"C\"[CEGc]4|\"F\"[B,DGB]4|");
    assert_eq!(
        found,
        ["The symbol says F major: F, A, C; the notes are G, B, D, G major, first inversion."]
    );
}

#[test]
fn shared_by_voices_and_broken() {
    assert_eq!(said("[V:1]\"Am\"e4|\n[V:2]c4|\n[V:3]G4|\n[V:4]C4|").len(), 1);
    assert_eq!(said("[V:1]\"Dm\"e4|\n[V:2]C/G/E/G/C/G/E/G/|").len(), 1);
}

#[test]
fn what_can_be_meant_together() {
    for music in [
        "\"C\"[CEG]4|",
        "\"C7\"[CEGc]4|",
        "\"C\"[CEG_B]4|",
        "\"Am\"[CEGA]4|",
        "\"C\"[ACEG]4|",
        "\"C6\"[CEGA]4|",
        "\"G\"[B,DFd]4|",
        "\"Csus4\"[CFGc]4|",
        "\"C\"[CFGc]2[CEGc]2|",
        "\"C/D\"[D,CEG]4|",
        "\"C9\"[CEG_Bd]4|",
        "\"G(Em)\"[EGB]4|",
        "\"Em;C\"[CEG]4|",
        "\"C\"\"Dm\"[DFA]4|",
        "\"Fine\"[DFA]4|",
        "\"N.C.\"[DFA]4|",
    ] {
        assert_eq!(said(music), [] as [&str; 0], "{music}");
    }
}

#[test]
fn a_thin_texture_or_another_pitch_says_nothing() {
    assert_eq!(said("\"F\"CEGc|"), [] as [&str; 0]);
    assert_eq!(said("[V:1]\"F\"e4|\n[V:2]c4|"), [] as [&str; 0]);
    assert_eq!(said("[V:1 transpose=-2]\"D\"[DFA]4|\n[V:2]C4|"), [] as [&str; 0]);
}

#[test]
fn the_symbol_that_sounds() {
    let after = |music: &str| music_after(RULE, &format!("X:1\nM:4/4\nL:1/4\nK:C\n{music}\n"));
    assert_eq!(
        after("\"F\"[E_AB]2\"F/A\"[E^GBe]2|").split('|').next(),
        Some("\"F\"[E_AB]2\"E\"[E^GBe]2")
    );
    assert_eq!(after("\"C/E\"[FAd]4|"), "\"Dm/F\"[FAd]4|");
    assert_eq!(after("\"C\"[FAd]4|"), "\"Dm\"[FAd]4|");
    assert_eq!(after("\"A♭\"[_B,DF_b]4|"), "\"B♭\"[_B,DF_b]4|");
    let text = "X:1\nM:4/4\nL:1/4\nK:C\n\"F\"[CEGc]4|\n";
    assert_eq!(first_fix(RULE, text), text.replace("\"F\"", "\"C\""));
}
