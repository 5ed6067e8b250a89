//! Fields in every place.

use crate::finding::Severity;
use crate::rule_tests::findings_of;

fn said(text: &str) -> Vec<(String, Severity)> {
    let found = findings_of("field-misplaced", text);
    found.into_iter().map(|f| (text[f.span.range()].to_owned(), f.severity)).collect()
}

#[test]
fn strict_files() {
    let strict = |header: &str, body: &str| {
        said(&format!("%abc-2.1\nX:1\nT:\n{header}K:C\nCD|\n{body}EF|\n"))
    };
    assert_eq!(strict("s:!p!\n", ""), [("s:!p!".to_owned(), Severity::Warning)]);
    assert_eq!(strict("", "H:once\n"), [("H:once".to_owned(), Severity::Warning)]);
    assert_eq!(strict("", "j:x\n"), [("j:x".to_owned(), Severity::Info)]);
    assert_eq!(strict("", "[w:la]"), [("[w:la]".to_owned(), Severity::Warning)]);
    for field in ["[C:Ann]", "[X:3]", "[z:t]"] {
        assert_eq!(strict("", field), [(field.to_owned(), Severity::Warning)]);
    }
    assert_eq!(
        strict("C:one\nr:two\nI:linebreak $\nW:three\n", "P:A\nT:Part\nr:x\nN:y\nw:la\nI:z\nK:D\n"),
        []
    );
    let order = said("%abc-2.1\nX:1\nM:4/4\nT:late\nK:C\nC|\n");
    assert_eq!(order, [("T:late".to_owned(), Severity::Hint)]);
}

#[test]
fn old_files_are_taken_as_they_are() {
    assert_eq!(said("X:1\nM:4/4\nT:late\nK:C\nC|[T:here]D|\n"), []);
    assert_eq!(said("X:1\nK:C\nCD|\nS:a book\nEF|\n"), [("S:a book".to_owned(), Severity::Hint)]);
}

#[test]
fn a_continuation_of_nothing() {
    assert_eq!(said("X:1\nH:one\n+:two\nK:C\nC|\nw:a\n% between\n+:b\n"), []);
    assert_eq!(said("+:one\nX:1\nK:C\nC|\n").len(), 0);
}
