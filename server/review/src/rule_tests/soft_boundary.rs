//! Joints that slide; the pieces are composed.

use crate::rule::RULES;
use crate::rule_tests::said_in;

fn said(text: &str) -> Vec<String> {
    said_in("soft-boundary", text)
}

const NONE: [String; 0] = [];

/// The flagged example of the page.
fn sliding() -> String {
    let rule = RULES.iter().find(|rule| rule.id == "soft-boundary").unwrap();
    let flagged = rule.examples().into_iter().find(|example| example.kind == "flagged");
    flagged.unwrap().text
}

#[test]
fn the_sentence() {
    assert_eq!(
        said(&sliding()),
        [
            "Section B differs clearly from what comes before, but by bar 9 most of the change has come by and by; \
          if it is to be heard at once, keep what is new for that bar line."
        ]
    );
}

#[test]
fn what_is_meant() {
    let text = sliding();
    assert_eq!(said(&text.replace("E2 F2|", "!<(!E2 F2!<)!|")), NONE, "a hairpin leads over");
    assert_eq!(said(&text.replace("E2 F2|", "\"^poco rit.\"E2 F2|")), NONE, "a word does");
    assert_eq!(said(&text.replace("P:B\n", "P:A\n")), NONE, "one name");
    assert_eq!(said(&text.replace("K:C\n", "R:march\nK:C\n")), NONE, "a dance");
    let key = text.replace("P:B\n[V:1] ", "P:B\n[V:1] [K:D]");
    assert_eq!(said(&key), NONE, "another key shows it");
}
