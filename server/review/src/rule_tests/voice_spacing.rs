//! Upper voices far apart. Open Music Theory, "Introduction to strict four-part writing" (from memory).

use crate::rule_tests::{chorale, said_in};

fn said(voices: [&str; 4]) -> Vec<String> {
    said_in("voice-spacing", &chorale("strict", voices))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentences() {
    assert_eq!(
        said(["g2 g2|]", "E2 G2|]", "c2 e2|]", "C,2 C,2|]"]),
        ["Soprano and alto lie more than an octave apart; strict style keeps upper voices closer."]
    );
    assert_eq!(
        said(["e2 e2|]", "c2 c2|]", "A2 B2|]", "C,2 C,2|]"]),
        ["Alto and tenor lie more than an octave apart; strict style keeps upper voices closer."]
    );
}

#[test]
fn what_is_left_alone() {
    let quiet = |what: &str, voices: [&str; 4]| assert_eq!(said(voices), NONE, "{what}");
    quiet("an octave", ["e2 e2|]", "E2 G2|]", "c2 e2|]", "C,2 C,2|]"]);
    quiet("one beat", ["e g e2|]", "E2 G2|]", "c2 e2|]", "C,2 C,2|]"]);
    quiet("tenor and bass", ["e2 e2|]", "c2 c2|]", "g2 g2|]", "C,,2 C,,2|]"]);
}

/// A passage is told of once.
#[test]
fn once_for_a_passage() {
    assert_eq!(said(["g2 a2|g4|]", "E2 F2|E4|]", "c2 c2|c4|]", "C,2 F,,2|C,4|]"]).len(), 1);
}
