//! No text has an error in its tree, and every byte of it is in a leaf or is white space.

#![allow(clippy::unwrap_used)] // a test may stop at the first surprise

mod support;

use std::fs;
use std::path::{Path, PathBuf};

use support::{cases, parse, parser};
use tree_sitter::{InputEdit, Point, Tree};

/// Pieces of text that mean something, and some that do not.
const PIECES: [&str; 84] = [
    "A",
    "b",
    "c",
    "z",
    "Z",
    "x",
    "X",
    "y",
    "H",
    "T",
    "u",
    "s",
    "|",
    ":",
    "[",
    "]",
    "(",
    ")",
    "{",
    "}",
    "\"",
    "!",
    "+",
    "%",
    "%%",
    "\n",
    "\r",
    "\r\n",
    "\n\n",
    "\n \t\n",
    " ",
    "\t",
    "\\",
    "`",
    "^",
    "_",
    "=",
    ".",
    "-",
    "&",
    "<",
    ">",
    "/",
    "1",
    "23",
    ",",
    "'",
    "~",
    "$",
    "#",
    "*",
    ";",
    "?",
    "@",
    "é",
    "\u{feff}",
    "𝄞",
    "\u{1}",
    "K:",
    "\nK:C\n",
    "X:1",
    "\nX:2\n",
    "T:x",
    "\nH:a",
    "w:",
    "\nw:a",
    "V:",
    "P:",
    "+:",
    "[V:",
    "[K:",
    "[r:",
    "[M:C|",
    "[\"1.",
    "[1",
    "(3:",
    "\"^",
    "{/",
    "%%begintext",
    "\n%%begintext\n",
    "\n%%foo\n",
    "\n%%endtext",
    "%%endtext",
    "\n% c\n",
];

/// Numbers without order, the same at every run: Knuth's MMIX generator (The Art of Computer
/// Programming, vol. 2, 3.3.4; constants from memory).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, limit: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % limit
    }
}

#[test]
fn half_typed_cases() {
    for case in cases() {
        for (at, _) in case.input.char_indices() {
            check(&case.input[..at], &parse(&case.input[..at]));
            check(&case.input[at..], &parse(&case.input[at..]));
        }
        check(&case.input, &parse(&case.input));
    }
}

#[test]
fn typed_letter_by_letter() {
    let mut parser = parser();
    for case in cases() {
        let mut tree = parse("");
        let mut before = 0;
        for (at, sign) in case.input.char_indices() {
            let text = &case.input[..at + sign.len_utf8()];
            tree.edit(&InputEdit {
                start_byte: before,
                old_end_byte: before,
                new_end_byte: text.len(),
                start_position: point(&text[..before]),
                old_end_position: point(&text[..before]),
                new_end_position: point(text),
            });
            tree = parser.parse(text, Some(&tree)).unwrap();
            before = text.len();
            check(text, &tree);
            let fresh = parse(text).root_node().to_sexp();
            assert_eq!(tree.root_node().to_sexp(), fresh, "{}: {text:?}", case.name);
        }
    }
}

/// Row and column, rows ended by line feeds only, as tree-sitter counts.
fn point(text: &str) -> Point {
    let row = text.matches('\n').count();
    Point { row, column: text.len() - text.rfind('\n').map_or(0, |at| at + 1) }
}

#[test]
fn any_signs_in_any_order() {
    let openings = ["", "K:C\n", "X:1\n", "X:1\nH:a\n", "%%begintext\n", "K:C\n%%begintext\n"];
    let mut parser = parser();
    let mut numbers = Numbers(1);
    for round in 0..12_000 {
        let mut text = openings[round % openings.len()].to_owned();
        for _ in 0..=numbers.below(30) {
            text.push_str(PIECES[numbers.below(PIECES.len())]);
        }
        check(&text, &parser.parse(&text, None).unwrap());
    }
}

#[test]
fn long_runs_of_one_sign() {
    for piece in PIECES {
        let text = format!("K:C\n{}", piece.repeat(3_000));
        check(&text, &parse(&text));
    }
}

/// The lexers tree-sitter generates take NUL for the end of the text: a reader must hand over
/// another control character in its place, which is one byte as well.
#[test]
fn nul_is_the_one_exception() {
    let text = "K:C\nC\0D|\nE|";
    assert!(parse(text).root_node().has_error());
    let replaced = text.replace('\0', "\u{1}");
    check(&replaced, &parse(&replaced));
}

#[test]
fn real_music() {
    let Some(folder) = std::env::var_os("RECTE_CORPUS").map(PathBuf::from) else {
        println!("RECTE_CORPUS names no folder: no real music was read");
        return;
    };
    let mut files = Vec::new();
    gather(&folder, &mut files);
    assert!(!files.is_empty(), "{} holds no .abc file", folder.display());
    let mut bytes = 0;
    for file in &files {
        let text = decoded(fs::read(file).unwrap());
        bytes += text.len();
        check(&text, &parse(&text));
    }
    println!("real music: {} files, {bytes} bytes", files.len());
}

fn gather(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(&path, files);
        } else if path.extension().is_some_and(|extension| extension == "abc") {
            files.push(path);
        }
    }
}

/// UTF-8, or else Latin-1.
fn decoded(bytes: Vec<u8>) -> String {
    String::from_utf8(bytes)
        .unwrap_or_else(|error| error.into_bytes().iter().map(|&byte| char::from(byte)).collect())
}

/// No error, and nothing but white space and backquotes between the leaves.
fn check(text: &str, tree: &Tree) {
    let start: String = text.chars().take(300).collect();
    assert!(!tree.root_node().has_error(), "{start:?}\n{}", tree.root_node().to_sexp());

    // tree-sitter skips a byte-order mark.
    let mut covered = if text.starts_with('\u{feff}') { 3 } else { 0 };
    let mut cursor = tree.walk();
    loop {
        if cursor.goto_first_child() {
            continue;
        }
        let leaf = cursor.node();
        if leaf.parent().is_some() {
            gap(&start, &text[covered..leaf.start_byte()]);
            covered = leaf.end_byte();
        }
        while !cursor.goto_next_sibling() {
            if !cursor.goto_parent() {
                gap(&start, &text[covered..]);
                return;
            }
        }
    }
}

fn gap(start: &str, between: &str) {
    let white = between.chars().all(|sign| matches!(sign, ' ' | '\t' | '\r' | '\n' | '`'));
    assert!(white, "{between:?} is in no leaf of {start:?}");
}
