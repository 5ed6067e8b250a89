//! The queries fit the grammar, and give the captures an editor expects.

#![allow(clippy::unwrap_used)] // a test may stop at the first surprise

mod support;

use support::parse;
use tree_sitter::{Query, QueryCursor, StreamingIterator};

/// Each capture with the text it takes, in order.
fn captures(source: &str, text: &str) -> Vec<(String, String)> {
    let query = Query::new(&recte_grammar::LANGUAGE.into(), source).unwrap();
    let names = query.capture_names();
    let tree = parse(text);
    let mut cursor = QueryCursor::new();
    let mut found = Vec::new();
    let mut all = cursor.captures(&query, tree.root_node(), text.as_bytes());
    while let Some((one, at)) = all.next() {
        let capture = one.captures()[*at];
        let name = names[capture.index as usize];
        if !name.starts_with('_') {
            found.push((name.to_owned(), text[capture.node.byte_range()].to_owned()));
        }
    }
    found
}

/// Compares with `expected`, one capture a line: its name, a space, its text.
fn expect(source: &str, text: &str, expected: &[&str]) {
    let found: Vec<String> =
        captures(source, text).iter().map(|(name, text)| format!("{name} {text}")).collect();
    assert_eq!(found, expected, "{text:?}");
}

#[test]
fn highlights_of_a_header() {
    expect(
        recte_grammar::HIGHLIGHTS,
        "%%score 1 % one\nX:1\nT:Ferry\nH:It was\nsung\nK:C",
        &[
            "keyword.directive %%score",
            "string.special  1 ",
            "comment % one",
            "property X:",
            "string 1",
            "property T:",
            "string Ferry",
            "markup.heading Ferry",
            "property H:",
            "string It was",
            "string sung",
            "property K:",
            "string C",
        ],
    );
}

#[test]
fn highlights_of_notes() {
    expect(
        &music(),
        "K:C\n\"G\"!p!^c'2-z[C]y{/g}",
        &[
            "string \"G\"",
            "attribute !p!",
            "operator ^",
            "variable c",
            "variable '",
            "number 2",
            "operator -",
            "constant z",
            "punctuation.bracket [",
            "variable C",
            "punctuation.bracket ]",
            "constant y",
            "punctuation.bracket {",
            "punctuation.bracket /",
            "variable g",
            "punctuation.bracket }",
        ],
    );
}

#[test]
fn highlights_of_bars() {
    expect(
        &music(),
        "K:C\n(3A>B&A)|1$[2#\\",
        &[
            "operator (3",
            "variable A",
            "operator >",
            "variable B",
            "operator &",
            "variable A",
            "punctuation.bracket )",
            "punctuation.delimiter |",
            "label 1",
            "punctuation.special $",
            "label [2",
            "punctuation.special #",
            "punctuation.special \\",
        ],
    );
}

#[test]
fn highlights_of_inline_fields_and_blocks() {
    expect(
        &music(),
        "K:C\n[K:D]\n%%begintext\n%%so\n%%endtext",
        &[
            "property [K:",
            "string D",
            "property ]",
            "keyword.directive %%begintext",
            "string %%so",
            "keyword.directive %%endtext",
        ],
    );
}

/// The highlights without those of fields on lines of their own, for shorter expectations.
fn music() -> String {
    let lines = recte_grammar::HIGHLIGHTS.lines();
    lines
        .filter(|line| !line.starts_with("(field name:") && !line.starts_with("(field value:"))
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn folds() {
    expect(
        recte_grammar::FOLDS,
        "X:1\nK:C\nC|\n\n%%begintext\na\n%%endtext",
        &["fold X:1\nK:C\nC|", "fold X:1\nK:C\n", "fold %%begintext\na\n%%endtext"],
    );
}

#[test]
fn indents() {
    expect(
        recte_grammar::INDENTS,
        "K:C\nC|\n  % mine\n%%stretch 1",
        &["indent.zero K:C", "indent.zero C|", "indent.zero   % mine", "indent.zero %%stretch 1"],
    );
}
