//! What the standard has left behind.

use crate::finding::Severity;
use crate::rule_tests::{findings_of, first_fix};

fn said(text: &str) -> Vec<(String, Severity)> {
    let found = findings_of("outdated", text);
    found.into_iter().map(|f| (text[f.span.range()].to_owned(), f.severity)).collect()
}

#[test]
fn strict_files() {
    use Severity::{Error, Warning};
    let one = |header: &str, music: &str, place: &str, severity| {
        let text = format!("%abc-2.1\nX:1\nT:\n{header}L:1/4\nK:C\n{music}|\n");
        assert_eq!(said(&text), [(place.to_owned(), severity)], "{text}");
    };
    one("A:a town\n", "C4", "A:a town", Warning);
    one("Q:C=120\n", "C4", "Q:C=120", Warning);
    one("%%continueall true\n", "C4", "%%continueall true", Warning);
    one("N:one \\\n", "C4", "\\", Error);
    one("", "+f+C4", "+f+", Warning);
    one("", "C4!", "!", Warning);
    let layers = said("%abc-2.1\nX:1\nT:\nK:C\n(&C4&)D4|\n");
    assert_eq!(layers, [("(&".to_owned(), Error), ("&)".to_owned(), Error)]);
}

#[test]
fn fixes() {
    let text = "%abc-2.1\nX:1\nT:\nH:one\ntwo\nK:C\nC|\n";
    assert_eq!(first_fix("outdated", text), text.replace("two", "+:two"));
    let text = "%abc-2.1\nX:1\nT:\nK:C\n+ff+C|\n";
    assert_eq!(first_fix("outdated", text), text.replace("+ff+", "!ff!"));
}

#[test]
fn old_files_only_hear_of_what_is_gone() {
    assert_eq!(said("T:no number\nA:a town\nQ:120\nH:one\ntwo\nK:C\n!trill!C!\nD|\n"), []);
    assert_eq!(said("X:1\nK:C\n+CE+D|\n"), [("+CE+".to_owned(), Severity::Warning)]);
}

#[test]
fn chords_between_plus_signs_in_a_strict_file() {
    let text = "%abc-2.1\nX:1\nT:\nM:4/4\nL:1/4\nK:C\n+CEG+4|!f!C4|]\n";
    assert_eq!(said(text), [("+CEG+".to_owned(), Severity::Error)]);
    assert_eq!(first_fix("outdated", text), text.replace("+CEG+", "[CEG]"));
}
