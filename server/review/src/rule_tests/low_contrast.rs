//! Named sections that hardly differ; the pieces are composed.

use crate::rule_tests::said_in;

fn piece(head: &str, labels: [&str; 2], second: [&str; 2]) -> String {
    format!(
        "X:1\nM:2/4\nL:1/8\n{head}K:C\nV:1 name=\"Oboe\"\nV:2 name=\"Bassoon\" clef=bass\n\
         P:{}\n[V:1] c2 e2|d2 f2|e2 g2|d4|\n[V:2] C,2 C2|B,2 G,2|C2 E2|G,4|\n\
         P:{}\n[V:1] {}\n[V:2] {}\n",
        labels[0], labels[1], second[0], second[1]
    )
}

const ALIKE: [&str; 2] = ["e2 c2|f2 d2|g2 e2|c4|", "C2 E2|G,2 B,2|E2 C2|C,4|"];
const OTHER: [&str; 2] = ["e/f/g/a/ bc'|c'/b/a/g/ ab|e'/d'/c'/b/ c'd'|g'4|", "z4|z4|z4|z4|"];

fn said(text: &str) -> Vec<String> {
    said_in("low-contrast", text)
}

const NONE: [String; 0] = [];

#[test]
fn the_sentence() {
    let found = said(&piece("", ["A", "B"], ALIKE));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].starts_with("Sections A and B, bars 1–8, contrast little: "), "{found:?}");
    assert!(found[0].ends_with(" differ most."), "{found:?}");
}

#[test]
fn what_is_none() {
    assert_eq!(said(&piece("", ["A", "B"], OTHER)), NONE, "they differ");
    assert_eq!(said(&piece("", ["A", "A"], ALIKE)), NONE, "one name");
    assert_eq!(said(&piece("R:reel\n", ["A", "B"], ALIKE)), NONE, "a dance");
    assert_eq!(said(&piece("T:Six variations\n", ["A", "B"], ALIKE)), NONE);
    let text = piece("", ["A", "B"], ALIKE);
    assert_eq!(said(&text.replace("P:A\n", "").replace("P:B\n", "")), NONE, "no names");
    assert_eq!(said(&text.replace("K:C\n", "%%recte accept low-contrast\nK:C\n")), NONE);
}
