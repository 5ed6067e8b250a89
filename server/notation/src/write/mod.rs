//! Score-preserving edits back to the text.

mod alter;
mod layout;
mod pitch;
mod rebar;
mod respell;
pub mod rhythm;
mod same;
mod signs;

pub use alter::{Alteration, altered};
pub use layout::{Layout, layout, layout_at_bar};
pub use pitch::pitch_text;
pub use rebar::{
    MovedLines, NewBar, Refusal, Scale, carries_all, join_bars, length_text, move_lines,
    moved_lines, pause_instead, proved, scale_values, scaled_exactly, set_metre, split_bar,
    split_bar_as_typed, tempo_at, tempo_text, write_bars,
};
pub use respell::{Respelling, respell, retype, tied_together, typed};
pub use same::{reads_as_well, same_score, same_signs, same_sound};
pub use signs::{Retyped, Sign, signs};

use crate::Change;
use recte_score::Span;

/// Bytes to replace, relative to the tune, and what comes in their place.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TextEdit {
    /// Where.
    pub span: Span,
    /// What comes there.
    pub text: String,
}

impl TextEdit {
    /// The same as a change of a document in which the tune begins at this byte.
    pub fn change(&self, start: usize) -> Change {
        let span = self.span.range();
        Change { range: start + span.start..start + span.end, text: self.text.clone() }
    }
}

/// Why a set of edits cannot be applied.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Overlap;

/// Applies edits to a text. They may come in any order; two that touch the same byte are refused.
///
/// Several insertions at one place keep the order they come in.
pub fn apply(text: &str, edits: &[TextEdit]) -> Result<String, Overlap> {
    let mut sorted: Vec<&TextEdit> = edits.iter().collect();
    sorted.sort_by_key(|edit| (edit.span.start, edit.span.end));
    let mut result = String::with_capacity(text.len() + 16);
    let mut at = 0;
    for edit in sorted {
        let range = edit.span.range();
        let kept = text.get(at..range.start).ok_or(Overlap)?;
        text.get(range.clone()).ok_or(Overlap)?;
        result.push_str(kept);
        result.push_str(&edit.text);
        at = range.end;
    }
    result.push_str(&text[at..]);
    Ok(result)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edit(start: usize, end: usize, text: &str) -> TextEdit {
        TextEdit { span: Span::new(start, end), text: text.into() }
    }

    #[test]
    fn edits_apply_in_any_order() {
        let edits = [edit(4, 5, "X"), edit(0, 1, "Y"), edit(2, 2, "+")];
        assert_eq!(apply("abcdef", &edits).as_deref(), Ok("Yb+cdXf"));
    }

    #[test]
    fn overlapping_or_outside_edits_are_refused() {
        assert_eq!(apply("abc", &[edit(0, 2, ""), edit(1, 3, "")]), Err(Overlap));
        assert_eq!(apply("abc", &[edit(2, 9, "")]), Err(Overlap));
        assert_eq!(apply("é", &[edit(1, 2, "")]), Err(Overlap));
    }
}
