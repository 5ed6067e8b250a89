//! What is said of values and ties, what hangs on them, and habits.

use crate::metre::cases::tune;
use crate::rule_tests::{findings_of, messages_of, music_after};

const ID: &str = "beat-grouping";

fn messages(metre: &str, rhythm: &str) -> Vec<String> {
    messages_of(ID, &tune(metre, rhythm))
}

fn after(metre: &str, rhythm: &str) -> String {
    music_after(ID, &tune(metre, rhythm))
}

#[test]
fn the_sentences() {
    assert_eq!(
        messages("4/4", "B4 A6 G6"),
        ["This dotted quarter runs over beat 3; a tie there would show it."]
    );
    assert_eq!(
        messages("3/4", "B2 A4 G4 F2"),
        ["These notes run over beat 2 and beat 3; ties there would show it."]
    );
    assert_eq!(
        messages("4/4", "B4- B4 A8"),
        ["These tied notes are one half note; the tie shows no beat."]
    );
}

#[test]
fn chords_symbols_and_words_go_along() {
    assert_eq!(after("4/4", "B4 !f!\"Am\"[^CE]6 G6"), "B4 !f!\"Am\"[^CE]4- [CE]2 G6|");
    assert_eq!(after("4/4", "B4 A6 G6\nw: one two three"), "B4 A4- A2 G6|\nw: one two_ three");
}

#[test]
fn a_habit_is_told_twice() {
    let bars = "B4 A7 G F4 | ".repeat(5);
    let found = findings_of(ID, &tune("4/4", bars.trim_end_matches(" | ")));
    assert_eq!(found.iter().map(|finding| finding.bar).collect::<Vec<_>>(), [Some(0), Some(1)]);
    assert!(found.iter().all(|finding| finding.fixes.is_empty()), "{found:?}");
}

#[test]
fn no_metre_and_no_full_bar_no_remark() {
    assert!(messages("none", "B4 A6 G6").is_empty());
    assert!(messages("4/4", "B16 | B4 A6 | B16").is_empty());
}
