//! What is said of beams, and who is left alone.

use crate::metre::cases::tune;
use crate::rule_tests::{messages_of, music_after};

const ID: &str = "beam-grouping";

fn messages(metre: &str, rhythm: &str) -> Vec<String> {
    messages_of(ID, &tune(metre, rhythm))
}

fn after(metre: &str, rhythm: &str) -> String {
    music_after(ID, &tune(metre, rhythm))
}

#[test]
fn the_sentences() {
    assert_eq!(
        messages("3/4", "B2B2B2 B2B2B2"),
        ["These beams are felt as 3+3; 3/4 promises 2+2+2."]
    );
    assert_eq!(
        messages("4/4", "B4 A2A2G2G2 F4"),
        ["This beam runs over beat 3; a new one there would show it."]
    );
    assert_eq!(
        messages("2/4", "B2 A2 G4"),
        ["The eighths of one beat stand apart; a beam would show the beat."]
    );
}

#[test]
fn only_what_breaks_a_beat_is_mended() {
    assert_eq!(after("4/4", "B2A2G2 F2 B8"), "B2A2G2F2 B8|");
    assert_eq!(after("4/4", "B4 \"C\"A2(G2F2E2) D4"), "B4 \"C\"A2(G2 F2E2) D4|");
}

#[test]
fn who_types_no_spaces_is_told_twice() {
    let bar = "B2A2G2F2E2D2 | ".repeat(6);
    assert_eq!(messages("6/8", bar.trim_end_matches(" | ")).len(), 2);
}

#[test]
fn beats_told_by_the_composer_are_kept_to() {
    let text = |beats: &str, music: &str| {
        format!("X:1\n%%recte beats {beats}\nM:7/8\nL:1/8\nK:C\n{music}|]\n")
    };
    assert_eq!(messages_of(ID, &text("3+2+2", "CDE FG AB|cdc BA GF")), [""; 0]);
    let said = messages_of(ID, &text("3+2+2", "CDE FG AB|cd cB AGF"));
    assert_eq!(said, ["These beams are felt as 2+2+3; 7/8 promises 3+2+2."]);
    let rumba = "X:1\n%%recte beats 3+3+2/8\nM:4/4\nL:1/8\nK:C\nCDE FGA BG|EFG AGF ED|C8|]\n";
    for rule in [ID, "metre-fit", "beat-grouping"] {
        assert_eq!(messages_of(rule, rumba), [""; 0], "{rule}");
    }
}
