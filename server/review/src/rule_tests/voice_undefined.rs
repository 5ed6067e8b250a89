//! Names of voices.

use crate::finding::Severity;
use crate::rule_tests::findings_of;

fn said(head: &str, body: &str) -> Vec<(String, Severity)> {
    let text = format!("{head}K:C\n{body}");
    let found = findings_of("voice-undefined", &text);
    found.into_iter().map(|f| (text[f.span.range()].to_owned(), f.severity)).collect()
}

#[test]
fn a_grouping_that_names_nobody() {
    let head = "%abc-2.1\nX:1\nT:\n%%score (1 2) 9\nV:1\nV:2\n";
    assert_eq!(said(head, "[V:1]CD|\n[V:2]EF|\n"), [("9".to_owned(), Severity::Warning)]);
    assert_eq!(said("X:1\n%%score 1 | 2\n", "V:1\nCD|\nV:2\nEF|\n"), []);
}

#[test]
fn declared_and_silent_used_and_undeclared() {
    let head = "X:1\nV:1\nV:2\n";
    assert_eq!(said(head, "V:1\nCD|\n"), [("V:2".to_owned(), Severity::Hint)]);
    assert_eq!(said(head, "V:1\nCD|\nV:2\nEF|\nV:3\nG2|\n"), [("V:3".to_owned(), Severity::Hint)]);
    assert_eq!(said("X:1\n", "V:1\nCD|\nV:2\nEF|\n"), []);
    assert_eq!(said(head, ""), []);
}

#[test]
fn names_alike_in_twenty_characters() {
    let body = "[V:abcdefghijklmnopqrstA]CD|\n[V:abcdefghijklmnopqrstB]EF|\n";
    assert_eq!(said("X:1\n", body), [("[V:abcdefghijklmnopqrstB]".to_owned(), Severity::Warning)]);
}
