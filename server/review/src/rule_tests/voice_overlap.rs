//! Crossing and overlap. Open Music Theory, "Introduction to strict four-part writing" (from memory).

use crate::rule_tests::{chorale, said_in};

fn said(voices: [&str; 4]) -> Vec<String> {
    said_in("voice-overlap", &chorale("strict", voices))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentences() {
    assert_eq!(
        said(["e2 e2|e4|]", "c2 E2|c4|]", "g2 g2|g4|]", "C,2 C,2|C,4|]"]),
        ["Alto crosses below the tenor; strict style keeps voices in their order."]
    );
    assert_eq!(
        said(["g2 c'2|]", "c2 a2|]", "e2 f'2|]", "C,2 F,2|]"])[0],
        "Tenor goes above C, which the alto has just left; strict style does not let voices overlap."
    );
}

#[test]
fn what_is_left_alone() {
    let quiet = |what: &str, voices: [&str; 4]| assert_eq!(said(voices), NONE, "{what}");
    quiet("inner voices for a beat", ["e2 e2|]", "c E c2|]", "g2 g2|]", "C,2 C,2|]"]);
    quiet("a third", ["e2 f2|]", "c2 A2|]", "g2 f2|]", "C,2 D,2|]"]);
    quiet("one harmony", ["e2 c'2|]", "c2 g2|]", "e2 g'2|]", "C,2 C,2|]"]);
}

/// The melody is not to be lost for a beat even.
#[test]
fn over_the_melody() {
    assert_eq!(said(["G2 c2|]", "c2 G2|]", "e2 e2|]", "C,2 C,2|]"]).len(), 1);
}
