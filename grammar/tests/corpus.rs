//! The cases of `test/corpus`, so that they run without the tree-sitter program.

#![allow(clippy::unwrap_used)] // a test may stop at the first surprise

mod support;

use support::{cases, parse};

#[test]
fn trees_are_as_expected() {
    let cases = cases();
    assert!(cases.len() > 100, "only {} cases were found", cases.len());
    let wrong: Vec<String> = cases
        .iter()
        .filter_map(|case| {
            let found = parse(&case.input).root_node().to_sexp();
            (found != case.expected)
                .then(|| format!("{}\nwant {}\nhave {found}", case.name, case.expected))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn line_ends_make_no_difference() {
    for case in cases() {
        for line_end in ["\r\n", "\r"] {
            let text = case.input.replace('\n', line_end);
            let found = parse(&text).root_node().to_sexp();
            assert_eq!(found, case.expected, "{} with {line_end:?}", case.name);
        }
    }
}

#[test]
fn a_byte_order_mark_changes_nothing() {
    for case in cases() {
        let found = parse(&format!("\u{feff}{}", case.input)).root_node().to_sexp();
        assert_eq!(found, case.expected, "{}", case.name);
    }
}
