//! The checked-in parser is what `grammar.js` says, so nobody edits one without the other.
//!
//! `grammar.js` is evaluated by the JavaScript runtime that comes with `tree-sitter-generate`: neither
//! Node.js nor the tree-sitter program is needed.

#![allow(clippy::unwrap_used)] // a test may stop at the first surprise

use std::fs;
use std::path::{Path, PathBuf};

use tree_sitter_generate::{OptLevel, generate_parser_in_directory};

/// The version of the parser tables: the newest that all editors in use load.
const ABI: usize = 14;

/// What the generator writes, relative to `grammar/`.
const GENERATED: [&str; 6] = [
    "src/grammar.json",
    "src/node-types.json",
    "src/parser.c",
    "src/tree_sitter/alloc.h",
    "src/tree_sitter/array.h",
    "src/tree_sitter/parser.h",
];

#[test]
fn checked_in_parser_is_current() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let fresh = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("grammar");
    fs::create_dir_all(&fresh).unwrap();
    for input in ["grammar.js", "tree-sitter.json"] {
        fs::copy(root.join(input), fresh.join(input)).unwrap();
    }

    let mut remarks = Vec::new();
    generate_parser_in_directory(
        &fresh,
        None::<PathBuf>,
        None::<PathBuf>,
        ABI,
        None,
        Some("native"),
        true,
        OptLevel::default(),
        &mut remarks,
    )
    .unwrap();

    assert!(remarks.is_empty(), "the generator remarks: {remarks:?}");
    for file in GENERATED {
        let same = read(&fresh.join(file)) == read(&root.join(file));
        assert!(same, "{file} is not current: run `tree-sitter generate --abi {ABI}` in grammar/");
    }
}

/// A text file, whatever line ends a checkout gave it.
fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap().replace("\r\n", "\n")
}

#[test]
fn parser_has_the_stated_abi() {
    let language: tree_sitter::Language = recte_grammar::LANGUAGE.into();
    assert_eq!(language.abi_version(), ABI);
}
