//! A place in the text a tune came from.

use std::ops::Range;

/// Bytes from `start` up to `end`, counted from the beginning of the tune's own text.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// The byte after the last.
    pub end: u32,
}

impl Span {
    /// The span from `start` to `end`.
    pub fn new(start: usize, end: usize) -> Span {
        Span { start: start as u32, end: end as u32 }
    }

    /// As a range for slicing.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }

    /// The smallest span that holds both.
    pub fn join(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// Whether a byte offset lies in it; the end counts, so that a cursor after a note is on the note.
    pub fn touches(self, offset: usize) -> bool {
        self.start as usize <= offset && offset <= self.end as usize
    }

    /// Whether the two share a byte.
    pub fn overlaps(self, other: Span) -> bool {
        self.start < other.end && other.start < self.end
    }
}
