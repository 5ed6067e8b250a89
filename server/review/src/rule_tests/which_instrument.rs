//! Names that the score settles, and names that it leaves open.

use crate::rule_tests::{findings_of, messages_of};

fn said(voices: &str, music: &str) -> Vec<String> {
    messages_of("which-instrument", &format!("X:1\nL:1/4\n{voices}K:C\n{music}\n"))
}

#[test]
fn the_sentence() {
    assert_eq!(
        said("V:b name=\"Cor.\"\n", "G4|"),
        ["“Cor.” may be a horn in F or a cornet in B-flat; say which with %%recte instrument b …"]
    );
    let text = "X:1\nV:1 name=\"Cor.\"\nK:C\nG4|\n";
    let titles: Vec<String> = findings_of("which-instrument", text)
        .into_iter()
        .flat_map(|finding| finding.fixes)
        .map(|fix| fix.title)
        .collect();
    assert_eq!(titles, ["It is a horn in F", "It is a cornet in B-flat"]);
}

#[test]
fn quiet_where_the_score_tells() {
    for (voices, music) in [
        ("V:1 name=\"Cor.\" transpose=-7\n", "G4|"),
        ("V:1 name=\"Alto\" clef=alto\n", "C4|"),
        ("V:1 name=\"Somebody\"\n", "C4|"),
        ("V:1 name=\"Cor.\"\n%%recte instrument 1 Cornet\n", "C4|"),
        ("V:1 name=\"Cor.\"\n", ""),
    ] {
        assert_eq!(said(voices, music), [] as [String; 0], "{voices}");
    }
}

#[test]
fn an_ambiguous_instruction_is_asked_about_too() {
    assert_eq!(said("V:1\n%%recte instrument 1 Cor.\n", "G4|").len(), 1);
}
