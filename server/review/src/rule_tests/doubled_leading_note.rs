//! Leading notes in two lines. Open Music Theory, "Introduction to strict four-part writing" (from memory).

use crate::rule_tests::{chorale, said_in};

fn said(voices: [&str; 4]) -> Vec<String> {
    said_in("doubled-leading-note", &chorale("strict", voices))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentence() {
    assert_eq!(
        said(["c2 B2|c4|]", "G2 G2|G4|]", "e2 d2|e4|]", "C,2 B,,2|C,4|]"]),
        ["Soprano and bass both have the leading note, B; strict style keeps it in one line."]
    );
}

#[test]
fn what_is_left_alone() {
    let quiet = |what: &str, voices: [&str; 4]| assert_eq!(said(voices), NONE, "{what}");
    quiet("once", ["c2 B2|c4|]", "G2 G2|G4|]", "e2 d2|e4|]", "C,2 G,,2|C,4|]"]);
    quiet("passing through", ["c2 B2|c4|]", "G2 G2|G4|]", "e2 d2|e4|]", "C,2 G,3/2B,/|C4|]"]);
    quiet("no dominant", ["B2 B2|A4|]", "G2 G2|E4|]", "e2 e2|c4|]", "E,2 B,,2|A,,4|]"]);
}
