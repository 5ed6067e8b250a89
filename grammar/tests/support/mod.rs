//! What the grammar's tests share: a parser, and the cases of `test/corpus`.

#![allow(dead_code)] // each test program uses its own part

use std::fs;
use std::path::{Path, PathBuf};

use tree_sitter::{Parser, Tree};

/// One case of `test/corpus`: its text, and the tree it must have.
pub(crate) struct Case {
    /// The file and the title.
    pub(crate) name: String,
    /// The text parsed.
    pub(crate) input: String,
    /// The tree as an s-expression on one line.
    pub(crate) expected: String,
}

/// A parser for the grammar.
pub(crate) fn parser() -> Parser {
    let mut parser = Parser::new();
    parser.set_language(&recte_grammar::LANGUAGE.into()).unwrap();
    parser
}

/// The tree of a text, parsed afresh.
pub(crate) fn parse(text: &str) -> Tree {
    parser().parse(text, None).unwrap()
}

/// Every case of every file in `test/corpus`, in order.
pub(crate) fn cases() -> Vec<Case> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("test/corpus");
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.iter().flat_map(|file| cases_of(file)).collect()
}

fn cases_of(file: &Path) -> Vec<Case> {
    let text = fs::read_to_string(file).unwrap().replace("\r\n", "\n");
    let stem = file.file_stem().unwrap().to_string_lossy().into_owned();
    let title_rule = format!("{}\n", "=".repeat(80));
    let tree_rule = format!("\n{}\n", "-".repeat(80));
    let parts: Vec<&str> = text.split(title_rule.as_str()).skip(1).collect();
    assert_eq!(parts.len() % 2, 0, "{stem}: each title stands between two rules");
    parts
        .chunks(2)
        .map(|part| {
            let (input, tree) = part[1].split_once(tree_rule.as_str()).unwrap();
            Case {
                name: format!("{stem}: {}", part[0].trim()),
                input: input.to_owned(),
                expected: one_line(tree),
            }
        })
        .collect()
}

fn one_line(tree: &str) -> String {
    tree.split_whitespace().collect::<Vec<_>>().join(" ").replace(" )", ")")
}
