//! Score-preserving edits back to the text.

/// Bytes to replace, relative to the tune, and what comes in their place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextEdit {
    /// Where.
    pub span: recte_score::Span,
    /// What comes there.
    pub text: String,
}
