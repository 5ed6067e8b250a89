//! What is said of tuplets.

use crate::metre::cases::tune;
use crate::rule_tests::{messages_of, music_after};

const ID: &str = "tuplet-grouping";

fn messages(metre: &str, rhythm: &str) -> Vec<String> {
    messages_of(ID, &tune(metre, rhythm))
}

fn after(metre: &str, rhythm: &str) -> String {
    music_after(ID, &tune(metre, rhythm))
}

#[test]
fn the_sentences() {
    assert_eq!(
        messages("4/4", "B4 (3B4 A4 G4 F4"),
        ["This triplet runs over beat 3; two triplets tied there would show it."]
    );
    assert_eq!(
        messages("4/4", "(3:4:3B2A2G2 F8"),
        ["3 in the time of 4 is rare; 3 in the time of 2 would be read at once."]
    );
    assert_eq!(
        messages("6/8", "(2B2A2 G6 | B3A3 G6"),
        ["These dotted notes are a duplet, as this piece writes it before."]
    );
}

#[test]
fn ratios_are_written_with_other_values() {
    assert_eq!(after("4/4", "(3:4:3B2A2G2 F8"), "(3:2:3B4A4G4 F8|");
}
