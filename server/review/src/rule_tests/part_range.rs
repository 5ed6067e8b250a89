//! Ranges of the four voices. Open Music Theory, "Introduction to strict four-part writing" (from memory).

use crate::rule_tests::{chorale, said_in};

fn said(voices: [&str; 4]) -> Vec<String> {
    said_in("part-range", &chorale("strict", voices))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentence() {
    assert_eq!(
        said(["e2 e2|]", "c2 c2|]", "g2 g2|]", "C,,2 C,,2|]"]),
        ["C is below what strict style asks of the bass (E2 to D4)."]
    );
    assert_eq!(
        said(["b2 e2|]", "c2 c2|]", "g2 g2|]", "C,2 C,2|]"]),
        ["B is above what strict style asks of the soprano (C4 to G5)."]
    );
}

#[test]
fn what_is_left_alone() {
    let quiet = |what: &str, voices: [&str; 4]| assert_eq!(said(voices), NONE, "{what}");
    quiet("a step beyond", ["a2 e2|]", "e2 F,2|]", "a2 g2|]", "D,,2 E,2|]"]);
}

/// One remark for each end of a part; it names the other places.
#[test]
fn the_first_speaks_for_all() {
    let text = chorale("strict", ["e4|e4|]", "c4|c4|]", "g4|g4|]", "C,,4|C,,4|]"]);
    let found = crate::rule_tests::findings_of("part-range", &text);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].related[0].message, "C in bar 2 too.");
}

/// Four voices without names are a choir by their order; other instruments are none.
#[test]
fn who_is_who() {
    let text = chorale("strict", ["b2|]", "c2|]", "g2|]", "C,2|]"]);
    let unnamed = text.lines().map(|line| line.split(" name=").next().unwrap()).collect::<Vec<_>>();
    let unnamed = unnamed.join("\n").replace("V:T\n", "V:T clef=treble-8\n");
    assert_eq!(said_in("part-range", &unnamed).len(), 1, "{unnamed}");
    let flute = text.replace("\"Soprano\"", "\"Flute\"");
    assert_eq!(said_in("part-range", &flute), NONE);
}
