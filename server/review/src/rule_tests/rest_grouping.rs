//! What is said of rests, and what is left.

use crate::metre::cases::tune;
use crate::rule_tests::{messages_of, music_after};

const ID: &str = "rest-grouping";

fn messages(metre: &str, rhythm: &str) -> Vec<String> {
    messages_of(ID, &tune(metre, rhythm))
}

fn after(metre: &str, rhythm: &str) -> String {
    music_after(ID, &tune(metre, rhythm))
}

#[test]
fn the_sentences() {
    assert_eq!(
        messages("4/4", "B4 z8 B4"),
        ["This half rest hides beat 3; a quarter rest and a quarter rest would show it."]
    );
    assert_eq!(
        messages("4/4", "z4 z4 B8"),
        ["These rests fill what one sign says; a half rest would show the beat."]
    );
    assert_eq!(
        messages("2/4", "z8"),
        ["This bar is silent; the rest of a whole bar says so at once."]
    );
}

#[test]
fn signs_on_rests_stay() {
    assert_eq!(
        after("4/4", "B4 !fermata!z8 B4"),
        "B4 !fermata!z4 B4|".replace("z4", "z4z4").replace("z4z4", "z4 z4")
    );
    assert!(messages("4/4", "z4 !fermata!z4 B8").is_empty());
}

#[test]
fn rests_of_five_quarters() {
    assert_eq!(after("3+2/4", "B4 z16"), "B4 z4 z4 z8|");
    assert_eq!(messages("3+2/4", "B4 z8 z8"), [""; 0]);
}

#[test]
fn one_odd_bar_does_not_change_how_the_others_are_read() {
    let text = "X:1\nM:7/8\nL:1/8\nK:C\nAB cB ABc|d2 c2 B3|cBA GABG|A2 z5|]\n";
    assert_eq!(music_after(ID, text).split('|').nth(3), Some("A2 z2 z3"));
}
