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
