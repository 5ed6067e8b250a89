//! What could not be read, said to a person.

use recte_score::Span;

/// A place that could not be read as music, or not fully.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Where, relative to the tune.
    pub span: Span,
    /// One calm sentence: what stands there, and what would be right.
    pub message: String,
}
