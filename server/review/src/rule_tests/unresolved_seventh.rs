//! Sevenths. Open Music Theory, "Strict four-part writing with seventh chords" (from memory).

use crate::rule_tests::{chorale, said_in};

fn said(voices: [&str; 4]) -> Vec<String> {
    said_in("unresolved-seventh", &chorale("strict", voices))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentence() {
    assert_eq!(
        said(["d2 f2|g4|]", "B2 B2|c4|]", "g2 g2|e4|]", "G,,2 G,,2|C,4|]"]),
        ["Soprano has the seventh of G7, F, and goes to G; strict style leads it down by step."]
    );
}

#[test]
fn what_is_left_alone() {
    let quiet = |what: &str, voices: [&str; 4]| assert_eq!(said(voices), NONE, "{what}");
    quiet("down", ["d2 f2|e4|]", "B2 B2|c4|]", "g2 g2|g4|]", "G,,2 G,,2|C,4|]"]);
    quiet(
        "held, then down",
        ["d2 f2|f2 e2|]", "B2 B2|c2 c2|]", "g2 g2|a2 g2|]", "G,,2 G,,2|F,,2 C,2|]"],
    );
    quiet("taken over", ["d f d2|c4|]", "B2 B2|c4|]", "g2 f2|e4|]", "G,,2 G,,2|C,4|]"]);
    quiet("the bass resolves it", ["d2 f2|g4|]", "B2 B2|c4|]", "g2 g2|g4|]", "G,,2 G,,2|E,,4|]"]);
    quiet("rising with the bass", ["e2 f2|g4|]", "G2 G2|G4|]", "c2 B2|c4|]", "C,2 D,2|E,4|]"]);
    quiet(
        "the end of a phrase",
        [
            "d2 !fermata!f2|g4|]",
            "B2 !fermata!B2|c4|]",
            "g2 !fermata!g2|e4|]",
            "G,,2 !fermata!G,,2|C,4|]",
        ],
    );
}
