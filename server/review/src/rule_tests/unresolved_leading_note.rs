//! Leading notes on top and in the bass. Open Music Theory, "Introduction to strict four-part writing" (from memory).

use crate::rule_tests::{chorale, said_in};

fn said(voices: [&str; 4]) -> Vec<String> {
    said_in("unresolved-leading-note", &chorale("strict", voices))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentence() {
    assert_eq!(
        said(["c2 B2|G4|]", "G2 G2|E4|]", "e2 d2|c4|]", "C,2 G,,2|C,4|]"]),
        [
            "Soprano leaves the leading note, B, for G; in an outer line strict style leads it up to C."
        ]
    );
}

#[test]
fn what_is_left_alone() {
    let quiet = |what: &str, voices: [&str; 4]| assert_eq!(said(voices), NONE, "{what}");
    quiet("led up", ["c2 B2|c4|]", "G2 G2|G4|]", "e2 d2|e4|]", "C,2 G,,2|C,4|]"]);
    quiet("an inner line", ["e2 d2|c4|]", "c2 B2|G4|]", "g2 g2|e4|]", "C,2 G,,2|C,4|]"]);
    quiet(
        "the end of a phrase",
        [
            "c2 !fermata!B2|G4|]",
            "G2 !fermata!G2|E4|]",
            "e2 !fermata!d2|c4|]",
            "C,2 !fermata!G,,2|C,4|]",
        ],
    );
    quiet("held over", ["c2 B2-|B c3|]", "G2 G2|G4|]", "e2 d2|e4|]", "C,2 G,,2|C,4|]"]);
}
