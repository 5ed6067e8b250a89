//! The rules of the metre table (shared with the cases), one test each, named by its section and number there:
//! 2 notes, 3 rests, 4 beams, 5 tuplets, 7 bars.

use super::cases::{of_metre, portrait, tune};
use recte_notation::write::apply;

/// What is said, by rules.
fn said(metre: &str, rhythm: &str) -> Vec<&'static str> {
    of_metre(&tune(metre, rhythm)).iter().map(|finding| finding.rule).collect()
}

fn quiet(metre: &str, rhythm: &str) {
    let found = of_metre(&tune(metre, rhythm));
    assert!(found.is_empty(), "{metre} {rhythm}: {found:?}");
}

/// The one remark is of this rule, and its first fix writes this.
fn mended(rule: &str, metre: &str, rhythm: &str, wanted: &str) {
    let text = tune(metre, rhythm);
    let found = of_metre(&text);
    assert_eq!(found.iter().map(|f| f.rule).collect::<Vec<_>>(), [rule], "{metre} {rhythm}");
    let after = apply(&text, &found[0].fixes[0].edits).unwrap();
    assert_eq!(portrait(&after), portrait(&tune(metre, wanted)), "{after}");
}

#[test]
fn rule_2_1_no_note_crosses_a_line_stronger_than_its_beginning() {
    quiet("3/4", "B4 B8 | B6 B2 B4");
    mended("beat-grouping", "4/4", "B4 B6 B6", "B4 B4- B2 B6");
    // In unequal groups a note ends where groups meet.
    mended("beat-grouping", "3+2/4", "B16 B4", "B12- B4 B4");
    quiet("3+2/4", "B12 B8");
}

#[test]
fn rule_2_2_accepted_syncopations() {
    quiet("4/4", "B4 B8 B4 | B2 B4 B2 B8 | BB2B B4 B8 | B4 B12");
    quiet("4/2", "B8 B16 B8");
    quiet("12/8", "B6 B12 B6");
    quiet("3/4", "B2 B4 B2 B4");
    mended("beat-grouping", "3/4", "B2 B4 B4 B2", "B2B2- B2B2- B2B2");
    // With ties it is always right too.
    quiet("4/4", "B4 B4- B4 B4");
}

#[test]
fn rule_2_3_eighths_never_hide_the_middle_of_four() {
    mended("beat-grouping", "4/4", "B2 B4 B4 B4 B2", "B2 B4 B2- B2 B4 B2");
    mended("beat-grouping", "4/4", "B2 B8 B2 B4", "B2 B6- B2B2 B4");
}

#[test]
fn rule_2_4_compound_beats_are_dotted() {
    mended("beat-grouping", "6/8", "B8 B4", "B6- B2 B4");
    quiet("6/8", "B12");
}

#[test]
fn rule_2_5_dotted_and_short() {
    quiet("4/4", "B6 B2 B3B B3B | BB3 BB3 B2 B6");
    mended("beat-grouping", "4/4", "B2B3B3 B8", "B2B2- BB3 B8");
}

#[test]
fn rule_2_6_ties_join_beats_and_needless_ones_are_told() {
    mended("beat-grouping", "12/8", "B8 B8 B8", "B6- B2 B4- B4 B2- B6");
    mended("beat-grouping", "4/4", "B4- B4 B8", "B8 B8");
    quiet("4/4", "B4 B4- B4 B4");
    quiet("9/8", "B12- B6");
}

#[test]
fn rule_2_7_nine_eighths_are_three_threes() {
    mended("metre-fit", "9/8", "B4 B4 B6 B4", "[M:2/4] B4 B4 | [M:5/8] B6 B4");
    mended(
        "metre-fit",
        "9/8",
        "B4 B4 B4 B6 | B4 B4 B4 B6",
        "[M:2+2+2+3/8] B4 B4 B4 B6 | B4 B4 B4 B6",
    );
    quiet("9/8", "B4 B2 B2 B4 B6");
}

#[test]
fn rule_2_8_threes_in_three_four_that_last() {
    mended("metre-fit", "3/4", "B6 B6 | B6 B6 | B6 B6", "[M:6/8] B6 B6 | B6 B6 | B6 B6");
    mended("beat-grouping", "3/4", "B4 B4 B4 | B6 B6 | B12", "B4 B4 B4 | B6 B2- B4 | B12");
}

#[test]
fn rule_3_1_a_silent_bar_takes_one_sign() {
    mended("rest-grouping", "3/4", "z4 z4 z4", "Z");
    quiet("7/8", "Z | B4 B4 B6");
}

#[test]
fn rule_3_2_rests_in_simple_time() {
    mended("rest-grouping", "4/4", "z12 B4", "z8 z4 B4");
    mended("rest-grouping", "4/4", "B4 z8 B4", "B4 z4 z4 B4");
    mended("rest-grouping", "3/4", "B4 z8", "B4 z4 z4");
    quiet("3/4", "z8 B4");
}

#[test]
fn rule_3_3_rests_in_compound_time() {
    mended("rest-grouping", "6/8", "B6 z4 z2", "B6 z6");
    mended("rest-grouping", "6/8", "B2 z4 B6", "B2 z2 z2 B6");
    quiet("6/8", "z4 B2 B6");
}

#[test]
fn rule_3_4_rests_fill_up_to_the_beat() {
    mended("rest-grouping", "4/4", "B2 z6 B8", "B2 z2 z4 B8");
    mended("rest-grouping", "4/4", "B2 z4 B2 B8", "B2 z2 z2 B2 B8");
    quiet("7/8", "z4 z4 B6");
}

#[test]
fn rule_4_1_a_beam_for_each_group() {
    quiet("2/4", "B2B2B2B2");
    quiet("3/4", "B2B2B2B2B2B2");
    mended("beam-grouping", "4/4", "B2B2 B2B2B2B2 B2B2", "B2B2 B2B2 B2B2 B2B2");
}

#[test]
fn rule_4_2_sixteenths_keep_to_one_beat() {
    mended("beam-grouping", "2/4", "BBBBBBBB", "BBBB BBBB");
}

#[test]
fn rule_4_3_beams_follow_unequal_groups() {
    mended("beam-grouping", "3+2/8", "B2B2 B2B2B2", "B2B2B2 B2B2");
    quiet("5/8", "B2B2 B2B2B2 | B2B2B2 B2B2");
}

#[test]
fn rule_4_4_three_four_is_not_six_eight() {
    mended("beam-grouping", "3/4", "B2B2B2 B2B2B2", "B2B2 B2B2 B2B2");
    mended("beam-grouping", "6/8", "B2B2 B2B2 B2B2", "B2B2B2 B2B2B2");
}

#[test]
fn rule_4_5_sung_notes_may_keep_their_flags() {
    quiet("4/4", "B2 B2 B2 B2 B8\nw:come and see the light");
    assert_eq!(said("4/4", "B2 B2 B2 B2 B8"), ["beam-grouping"]);
}

#[test]
fn rule_4_6_a_beam_is_a_space_left_out() {
    let text = tune("6/8", "B2B2B2B2B2B2");
    let fix = &of_metre(&text)[0].fixes[0];
    assert!(fix.edits.iter().all(|edit| edit.text.trim().is_empty()), "{fix:?}");
}

#[test]
fn rule_5_borrowed_groups_fill_a_beat() {
    quiet("4/4", "(3B2B2B2 (3B2B2B2 (3B4 B4 B4");
    mended("tuplet-grouping", "4/4", "B4 (3B4 B4 B4 B4", "B4 (3:2:2B4 B2- (3:2:2B2 B4 B4");
    quiet("6/8", "(2B2B2 B6 | (2B2B2 (2B2B2");
    mended("tuplet-grouping", "6/8", "(2B2B2 B6 | B3B3 B6", "(2B2B2 B6 | (2B2B2 B6");
    mended("tuplet-grouping", "6/8", "B3B3 B6 | (2B2B2 B6", "B3B3 B6 | B3B3 B6");
    mended("tuplet-grouping", "4/4", "(5:2:5B2B2B2B2B2 B4 B8", "(5:4:5BBBBB B4 B8");
}

#[test]
fn rule_7_1_split_once_and_sign_what_repeats() {
    mended("metre-fit", "9/8", "B6 B4 B4 B4", "[M:5/8] B6 B4 | [M:2/4] B4 B4");
    mended(
        "metre-fit",
        "9/8",
        "B6 B4 B4 B4 | B6 B4 B4 B4",
        "[M:3+2+2+2/8] B6 B4 B4 B4 | B6 B4 B4 B4",
    );
}

#[test]
fn rule_7_2_a_pause_and_no_odd_bar() {
    let rhythm = "B4 B4 B4 B4 | [M:5/4] B4 B4 B12 | [M:4/4] B8 B8";
    let found = of_metre(&tune("4/4", rhythm));
    assert_eq!(found.len(), 1);
    assert!(found[0].fixes[0].title.contains("pause"), "{found:?}");
    quiet("3/4", "B4 B4 B4 | [M:7/8] B4 B4 B2B2B2 | [M:3/4] B12");
}

#[test]
fn rule_7_3_pickups_count_from_their_bar_line() {
    quiet("4/4", "B4 | B4 B4 B4 B4 | B4 B4 B4");
    quiet("6/8", "B2 | B6 B6 | B6 B4");
    // An eighth and a quarter are the last three eighths of the bar; as its first they would hide beat 2.
    quiet("3/4", "B2 B4 | B12 | B6");
    mended("beat-grouping", "4/4", "B4 B6 | B16 | B6", "B2- B2 B6 | B16 | B6");
}

#[test]
fn rule_7_4_a_hemiola_stays() {
    quiet("3/4", "B4 B4 B4 | B8 B4- | B4 B8 | B12");
}

#[test]
fn rule_7_5_a_beat_that_can_be_counted() {
    let tempo = |tempo: &str| format!("X:1\nM:4/4\nL:1/4\nQ:{tempo}\nK:C\nBBBB|\n");
    assert!(of_metre(&tempo("1/4=120")).is_empty());
    assert_eq!(of_metre(&tempo("1/4=210"))[0].rule, "beat-unit");
    assert_eq!(of_metre(&tempo("1/4=36"))[0].rule, "beat-unit");
}
