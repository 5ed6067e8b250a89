//! Words under notes.

use crate::finding::Severity;
use crate::rule_tests::findings_of;

fn said(version: &str, body: &str) -> Vec<(String, Severity)> {
    let text = format!("{version}X:1\nT:\nL:1/4\nK:C\n{body}");
    let found = findings_of("lyrics-fit", &text);
    found.into_iter().map(|f| (text[f.span.range()].to_owned(), f.severity)).collect()
}

#[test]
fn too_many() {
    let body = "CDEF|\nw:one two three four five-six\n";
    assert_eq!(said("", body), [("five-six".to_owned(), Severity::Warning)]);
    assert_eq!(said("%abc-2.1\n", body).len(), 1);
    assert_eq!(said("", "CDEF|\nGABc|\nw:a b c d e\n"), [("e".to_owned(), Severity::Warning)]);
    assert_eq!(said("%abc-2.1\n", "CDEF|\nGABc|\nw:a b c d e\n"), []);
}

#[test]
fn verses_of_different_length() {
    let body = "CDEF|\nw:one two three four\nw:one two three\n";
    assert_eq!(said("", body), [("one two three".to_owned(), Severity::Hint)]);
}

#[test]
fn what_fits_is_quiet() {
    for body in [
        "CDEF|\nw:one two\n",
        "CDEF|\nw:one_ two_\n",
        "C-CEF|\nw:one two three four\n",
        "C2z2|[CE]{d}F|\nw:one two three\n",
        "CDEF|\nw:a b c d _ _\n",
        "CDEF|GABc|\nw:a b|c d e f\n",
    ] {
        assert_eq!(said("", body), [], "{body}");
        assert_eq!(said("%abc-2.1\n", body), [], "{body}");
    }
}
