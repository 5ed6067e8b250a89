//! What a rule has to say.

use recte_notation::write::TextEdit;
use recte_score::Span;
use recte_theory::Time;
use serde::{Deserialize, Serialize};

/// How much a remark matters, from the least.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// For those who ask.
    Hint,
    /// Worth knowing.
    Info,
    /// A player would stumble.
    Warning,
    /// It cannot be played, or cannot be read.
    Error,
}

/// One remark on one tune. Spans are bytes from the beginning of the tune's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The rule's id.
    pub rule: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// Where.
    pub span: Span,
    /// One sentence to a colleague.
    pub message: String,
    /// Other places it speaks of.
    pub related: Vec<Related>,
    /// What could be done, the best first.
    pub fixes: Vec<Fix>,
    /// The voice, by index, if it is about one.
    pub voice: Option<u32>,
    /// The first bar it is about, by index, if it is about one.
    pub bar: Option<u32>,
    /// The last bar it is about.
    pub to_bar: Option<u32>,
    /// Time from the beginning of that bar, in whole notes.
    pub offset: Time,
}

/// Another place a remark speaks of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Related {
    /// Where.
    pub span: Span,
    /// What of it.
    pub message: String,
}

/// What taking a fix does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FixKind {
    /// It repairs the notation; what sounds stays.
    Fix,
    /// It changes the music, and says so in its title. Never applied unasked.
    Suggestion,
}

/// One thing that could be done about a remark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fix {
    /// The result, as a title: "Respell as E major: E G♯ B".
    pub title: String,
    /// Whether it is the one to take when nobody chooses.
    pub preferred: bool,
    /// What taking it does.
    pub kind: FixKind,
    /// The change of text.
    pub edits: Vec<TextEdit>,
}
