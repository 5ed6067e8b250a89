//! White space set in order, in bytes of a document: all of it, some lines, the line being typed.

use rayon::prelude::*;
use recte_notation::write::{Layout, layout, layout_at_bar};
use recte_notation::{Block, Change, Document};
use std::ops::Range;
use std::sync::Arc;

/// How the white space of a document is to be changed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LaidOut {
    /// The changes, in the order of the text and apart from each other.
    pub changes: Vec<Change>,
    /// So many lines are left as they are: set otherwise, they would not read as the same score.
    pub left: usize,
}

/// Lays out a document, each tune by itself.
pub fn layout_all(document: &Document) -> LaidOut {
    let blocks: Vec<(usize, Arc<Block>)> =
        document.blocks().map(|(start, block)| (start, block.clone())).collect();
    let laid = blocks.par_iter().map(|(start, block)| (*start, layout(block, 0..block.text.len())));
    gathered(laid.collect())
}

/// Lays out the lines that a range touches, and no others.
pub fn layout_lines(document: &Document, range: &Range<usize>) -> LaidOut {
    let lines = whole_lines(document, range);
    let touched = document
        .blocks()
        .filter(|(start, block)| *start < lines.end && lines.start < start + block.text.len());
    let one = |(start, block): (usize, &Arc<Block>)| {
        let inside = |byte: usize| byte.saturating_sub(start).min(block.text.len());
        (start, layout(block, inside(lines.start)..inside(lines.end)))
    };
    gathered(touched.map(one).collect())
}

/// Lays out a line up to the bar line that has just been typed before `cursor`; nothing behind it moves.
pub fn layout_typed(document: &Document, cursor: usize) -> LaidOut {
    let at = cursor.checked_sub(1).and_then(|byte| document.block_at(byte));
    let laid = at.map(|(start, block)| (start, layout_at_bar(block, cursor - start)));
    gathered(laid.into_iter().collect())
}

fn gathered(blocks: Vec<(usize, Layout)>) -> LaidOut {
    let mut all = LaidOut::default();
    for (start, layout) in blocks {
        all.left += layout.left;
        all.changes.extend(layout.edits.iter().map(|edit| edit.change(start)));
    }
    all
}

/// The lines that a range touches. One that ends at the beginning of a line does not touch that.
fn whole_lines(document: &Document, range: &Range<usize>) -> Range<usize> {
    let rope = document.rope();
    let end = range.end.min(rope.len_bytes());
    let start = range.start.min(end);
    let last = if end > start { end - 1 } else { end };
    let next = rope.byte_to_line(last) + 1;
    let after = if next < rope.len_lines() { rope.line_to_byte(next) } else { rope.len_bytes() };
    rope.line_to_byte(rope.byte_to_line(start))..after
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "X:1\nK:C\nA  B|\n\nX:2\nK:C\nA  B|  c|d|  \nA  B|\n";

    fn after(laid: &LaidOut) -> String {
        Document::new(TEXT).text_with(&laid.changes)
    }

    #[test]
    fn every_tune_is_laid_out() {
        let all = layout_all(&Document::new(TEXT));
        let expected =
            TEXT.replace("A  B", "A B").replace("  c|d|  ", "  c|d|").replace("|  c", "| c");
        assert_eq!((after(&all), all.left), (expected, 0));
    }

    #[test]
    fn only_the_lines_of_a_range_are() {
        let at = TEXT.rfind('d').unwrap();
        let next = TEXT[at..].find('\n').unwrap() + at + 1;
        for range in [at..at, at..at + 1, at..next] {
            let some = layout_lines(&Document::new(TEXT), &range);
            assert_eq!(after(&some), TEXT.replace("A  B|  c|d|  ", "A B| c|d|"), "{range:?}");
        }
        let both = layout_lines(&Document::new(TEXT), &(0..next));
        assert!(after(&both).ends_with("\nA B| c|d|\nA  B|\n"));
        assert_eq!(layout_lines(&Document::new(""), &(5..9)), LaidOut::default());
    }

    #[test]
    fn a_typed_bar_line_is() {
        let at = TEXT.find("|  c").unwrap() + 1;
        let typed = layout_typed(&Document::new(TEXT), at);
        assert_eq!(after(&typed), TEXT.replace("A  B|  c", "A B|  c"));
        assert_eq!(layout_typed(&Document::new(TEXT), 0), LaidOut::default());
        assert_eq!(layout_typed(&Document::new(TEXT), 3), LaidOut::default());
    }
}
