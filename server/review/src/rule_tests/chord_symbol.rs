//! Symbols against the notes.

use crate::rule_tests::{first_fix, messages_of};

const RULE: &str = "chord-symbol";

/// Two symbols that say what sounds, so that a third is believed to mean the notes as well.
const BEFORE: &str =
    "X:1\nM:4/4\nL:1/4\n%%score 1 2 3 4 5\nV:5\nK:C\n[V:5]\"C\"[CEG]4|\"G\"[GBd]4|\n";

fn text(music: &str) -> String {
    let music = if music.starts_with('[') && music.contains("V:") {
        music.to_owned()
    } else {
        format!("[V:1]{music}")
    };
    let later: Vec<String> = music.split('\n').map(|line| line.replacen(']', "]Z2|", 1)).collect();
    format!("{BEFORE}{}\n", later.join("\n"))
}

fn said(music: &str) -> Vec<String> {
    messages_of(RULE, &text(music))
}

#[test]
fn another_third_another_root() {
    assert_eq!(
        said("\"C\"[C_EGc]4|"),
        ["The symbol says C major (C, E, G); the notes C, E flat, G are C minor."]
    );
    let found = said("\"F\"[B,DGB]4|");
    assert_eq!(
        found,
        ["The symbol says F major (F, A, C); the notes G, B, D are G major, first inversion."]
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
        "\"F#dim\"[CA_ea]4|",
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
    let after = |music: &str| {
        let after = first_fix(RULE, &text(music));
        after.rsplit_once("Z2|").unwrap().1.trim().to_owned()
    };
    assert_eq!(after("\"C/E\"[FAd]4|"), "\"Dm/F\"[FAd]4|");
    assert_eq!(after("\"C\"[FAd]4|"), "\"Dm\"[FAd]4|");
    assert_eq!(after("\"A♭\"[_B,DF_B]4|"), "\"B♭\"[_B,DF_B]4|");
}

#[test]
fn words_among_the_notes_are_no_symbols() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\n\"E\"[CFA]4|\"A\"[B,DG]4|\"C\"[CEG]4|\n";
    assert_eq!(messages_of(RULE, text), [] as [&str; 0]);
}
