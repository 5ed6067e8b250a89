//! What could not be read, said to a person.

use crate::write::TextEdit;
use recte_score::Span;

/// What is the matter, by the remark that speaks of it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum ProblemKind {
    /// A sign, key, metre, tempo or tuplet that says nothing known.
    Unreadable,
    /// A sign that the standard keeps for later (8.1).
    Reserved,
    /// A whole-bar rest where bars have no length.
    FreeRest,
    /// Something opened and not closed.
    Unclosed,
    /// Something closed that was not opened.
    NotOpened,
    /// A slur opened and not closed.
    OpenSlur,
    /// A tuplet that ends before its notes.
    ShortTuplet,
    /// A file to include that is not there.
    NotFound,
    /// A field the standard does not know.
    UnknownField,
    /// A field where it may not stand.
    MisplacedField,
    /// A header whose fields come in another order than the standard's.
    HeaderOrder,
    /// Two ids of voices that differ only after their twentieth character.
    VoicesAlike,
    /// A tie that is not typed right after its note.
    DetachedTie,
    /// A tie after a rest.
    TiedRest,
    /// More syllables than notes.
    WordsOver,
    /// A verse shorter than another under the same notes.
    WordsShort,
    /// Two accidentals before one note.
    AccidentalTwice,
    /// Broken rhythm without a note on both sides.
    BrokenAlone,
    /// Broken rhythm between notes of unequal length.
    BrokenUneven,
    /// A length that no note can have.
    Length,
    /// A decoration between other signs than the file asks for, or with a space in its name.
    Decoration,
    /// An instruction to recte that it does not know.
    Directive,
    /// It works, and the standard advises against it.
    Deprecated,
    /// The standard no longer has it.
    Obsolete,
}

/// A place that could not be read as music, or not fully.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Where, relative to the tune.
    pub span: Span,
    /// One calm sentence: what stands there, and what would be right.
    pub message: String,
    /// What is the matter.
    pub kind: ProblemKind,
    /// What a copyist would surely do: the result as a title, and the change of text.
    pub fix: Option<(String, Vec<TextEdit>)>,
}

impl Problem {
    /// A problem without a sure fix.
    pub(crate) fn new(kind: ProblemKind, span: Span, message: impl Into<String>) -> Problem {
        Problem { span, message: message.into(), kind, fix: None }
    }

    /// The same with a fix.
    pub(crate) fn with_fix(self, title: impl Into<String>, edits: Vec<TextEdit>) -> Problem {
        Problem { fix: Some((title.into(), edits)), ..self }
    }
}
