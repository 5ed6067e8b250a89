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

#[test]
fn lengths_that_no_single_note_has() {
    assert_eq!(
        messages_of(ID, &tune("4/4", "B10 B2 B4")),
        ["No single note lasts 5/8 of a whole note; a tie at beat 3 would write it."]
    );
    for (metre, before, after) in [
        ("4/4", "B10 B2 B4", "B8- B2B2 B4|"),
        ("3/4", "B10 B2", "B8- B2B2|"),
        ("5/8", "B10", "B6- B4|"),
        ("9/8", "B18", "B12- B6|"),
        ("4/4", "B9 BB2 B4", "B8- BBB2 B4|"),
        ("5/4", "B20", "B12- B8|"),
    ] {
        assert_eq!(music_after(ID, &tune(metre, before)), after, "{metre} {before}");
    }
}

#[test]
fn voices_that_hide_a_beat_together_do_it_once() {
    let voices = "[V:1] G A2 B2 c2 B|c8|]\n[V:2] E F2 G2 A2 G|A8|]\n[V:3] C D2 E2 F2 E|F8|]\n";
    let found = findings_of(ID, &format!("X:1\nM:4/4\nL:1/8\nK:C\n{voices}"));
    assert_eq!(found.len(), 3);
    assert!(found.iter().all(|one| one.fixes.len() == 1));
}

#[test]
fn beats_are_named_as_they_are_counted() {
    let said = |metre: &str, rhythm: &str| messages_of(ID, &tune(metre, rhythm)).join(" ");
    assert_eq!(
        said("3+2/4", "B4 B6 B6 B4"),
        "This dotted quarter runs over beat 4; a tie there would show it."
    );
    assert_eq!(
        said("3+2/8", "B4 B4 B2"),
        "This quarter runs over the second group; a tie there would show it."
    );
}
