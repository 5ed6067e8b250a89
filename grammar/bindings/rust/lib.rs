//! The tree-sitter grammar for ABC notation, generated from `grammar.js` (ABI 14).

// The one place in the project where unsafe code stands: the door to the generated C parser.
#![allow(unsafe_code)]

use tree_sitter_language::LanguageFn;

unsafe extern "C" {
    fn tree_sitter_abc() -> *const ();
}

/// The language, for `tree_sitter::Parser::set_language`.
pub const LANGUAGE: LanguageFn = unsafe { LanguageFn::from_raw(tree_sitter_abc) };

/// What an editor colours.
pub const HIGHLIGHTS: &str = include_str!("../../queries/highlights.scm");
/// What an editor folds.
pub const FOLDS: &str = include_str!("../../queries/folds.scm");
/// What an editor indents.
pub const INDENTS: &str = include_str!("../../queries/indents.scm");
