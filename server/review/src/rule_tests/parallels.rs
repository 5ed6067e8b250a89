//! Consecutive perfect intervals, and what is left alone. Each case is composed; the sources are named beside them.

use crate::rule_tests::{chorale, said_in};

fn said(style: &str, voices: [&str; 4]) -> Vec<String> {
    said_in("parallels", &chorale(style, voices))
}

const NONE: [String; 0] = [];

#[test]
fn the_sentences() {
    assert_eq!(
        said("strict", ["d e|]", "G G|]", "d c|]", "G, A,|]"]),
        ["Soprano and bass move in parallel fifths, G-D to A-E; strict style avoids them."]
    );
    assert_eq!(
        said("strict", ["c d|]", "G G|]", "e d|]", "C, D,|]"]),
        ["Soprano and bass move in parallel octaves, C-C to D-D; strict style avoids them."]
    );
    assert_eq!(
        said("strict", ["c B|]", "G G|]", "c B|]", "E, E,|]"]),
        ["Soprano and tenor move in parallel octaves, C-C to B-B; strict style avoids them."]
    );
}

/// Open Music Theory, "Introduction to strict four-part writing" (from memory): antiparallels are parallels.
#[test]
fn contrary_motion_does_not_help() {
    let text = ["g c|]", "e e|]", "g g|]", "C, F,|]"];
    let found = said("strict", text);
    assert_eq!(
        found,
        [
            "Soprano and bass move from one fifth to another by contrary motion, C-G to F-C; strict style avoids that."
        ]
    );
}

/// Fux, "Gradus ad Parnassum" (from memory): no direct motion to a perfect interval.
#[test]
fn direct_fifths_and_octaves_at_will() {
    let text = ["d g|]", "G G|]", "d e|]", "B,, C,|]"];
    assert_eq!(said("strict", text), NONE);
    assert_eq!(
        said("strict direct", text),
        [
            "Soprano and bass come to a fifth in the same direction, B-D to C-G; strict style wants the upper one to step."
        ]
    );
    // The upper line steps.
    assert_eq!(said("strict direct", ["f g|]", "B c|]", "d e|]", "G,, C,|]"]), NONE);
}

/// The usual exceptions: Open Music Theory, "Embellishing tones" (from memory), for passing notes, anticipations and
/// suspensions; the others are common practice, no source.
#[test]
fn what_is_left_alone() {
    let quiet = |what: &str, voices: [&str; 4]| assert_eq!(said("strict", voices), NONE, "{what}");
    quiet("a chord repeated", ["d d|]", "G G|]", "B B|]", "G, G,|]"]);
    quiet("a perfect fifth, then a diminished one", ["e f|]", "A A|]", "c d|]", "A, B,|]"]);
    quiet(
        "the end of a phrase",
        ["!fermata!d e|]", "!fermata!G G|]", "!fermata!d c|]", "!fermata!G, A,|]"],
    );
    quiet("a double bar", ["d||e|]", "G||G|]", "d||c|]", "G,||A,|]"]);
    quiet("a rest between", ["d z e|]", "G z G|]", "d z c|]", "G, z A,|]"]);
    quiet("a passing note between the beats", ["c B|]", "G G|]", "e d|]", "E,/F,/ G,|]"]);
    quiet("an anticipation", ["c3/2 d/ d|]", "G2 G|]", "e2 d|]", "F,3/2 G,/ G,|]"]);
    quiet("a suspension", ["d2 e2|]", "G2 G2|]", "B2 c2|]", "G,2- G,A,|]"]);
}

/// Two notes that pass together in fifths are fifths all the same.
#[test]
fn both_pass() {
    assert_eq!(said("strict", ["c/d/ e|]", "G G|]", "g g|]", "F,/G,/ A,|]"]).len(), 2);
}

#[test]
fn only_where_it_is_asked_for() {
    let voices = ["d e|]", "G G|]", "d c|]", "G, A,|]"];
    assert_eq!(said("free", voices), NONE);
    let asked = chorale("strict", voices);
    let in_file =
        format!("%%recte style strict\n\n{}", asked.replace("%%recte style strict\n", ""));
    assert_eq!(said_in("parallels", &in_file).len(), 1);
    let taken_back = format!("%%recte style strict\n\n{}", asked.replace("strict\n", "free\n"));
    assert_eq!(said_in("parallels", &taken_back), NONE);
    let in_body = asked.replace("%%recte style strict\n", "").replacen(
        "[V:S] ",
        "[V:S] [I:recte style strict]",
        1,
    );
    assert_eq!(said_in("parallels", &in_body).len(), 1);
}

/// Chords and layers in two staves are four lines as well.
#[test]
fn two_staves() {
    let head = "X:1\nM:4/4\nL:1/4\n%%recte style strict\nK:C\n";
    let chords = format!("{head}V:1\nV:2 clef=bass\n[V:1] [dG] [eG]|]\n[V:2] [DG,] [CA,]|]\n");
    assert_eq!(said_in("parallels", &chords).len(), 1);
    let layers = format!("{head}V:1\nV:2 clef=bass\n[V:1] d e & G G|]\n[V:2] D C & G, A,|]\n");
    assert_eq!(said_in("parallels", &layers).len(), 1);
}

/// An instrument that doubles the melody makes no parallels.
#[test]
fn a_part_played_twice() {
    let text = "X:1\nM:4/4\nL:1/4\n%%recte style strict\nK:C\nV:S name=\"Soprano\"\nV:O name=\"Oboe\"\n[V:S] c d e f|g f e d|c4|]\n[V:O] c d e f|g f e d|c4|]\n";
    assert_eq!(said_in("parallels", text), NONE);
}
