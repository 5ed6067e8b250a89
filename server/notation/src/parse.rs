//! Text → syntax tree.

use std::cell::RefCell;
use tree_sitter::{Parser, Tree};

thread_local! {
    static PARSER: RefCell<Parser> = RefCell::new(Parser::new());
}

/// The syntax tree of a text. The grammar takes any text; `None` only if the parser itself cannot start.
pub fn parse(text: &str) -> Option<Tree> {
    PARSER.with_borrow_mut(|parser| {
        if parser.language().is_none() {
            parser.set_language(&recte_grammar::LANGUAGE.into()).ok()?;
        }
        parser.parse(text, None)
    })
}
