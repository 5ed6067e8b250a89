//! The only crate that knows ABC: text documents, text → score (never failing), and score-preserving edits back.

mod document;
mod encoding;
mod fields;
mod include;
mod lower;
mod parse;
mod problem;
mod segment;
mod syntax;
pub mod write;

pub use document::{Block, Change, Document, Lowered, TypedKey};
pub use encoding::Encoding;
pub use include::{Includes, include_name};
pub use lower::{Reach, lower};
pub use parse::parse;
pub use problem::{Problem, ProblemKind};
pub use segment::BlockKind;
pub use write::TextEdit;
