//! Text → syntax tree.

use std::borrow::Cow;
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
        // Generated parsers take NUL for the end of the text; another control character is as meaningless.
        let text =
            if text.contains('\0') { Cow::Owned(text.replace('\0', "\u{1}")) } else { text.into() };
        parser.parse(&*text, None)
    })
}
