//! Setting the white space of a tune in order without touching its score.
//!
//! Runs of spaces and tabs become one space, white space at the ends of lines goes, bar lines take the spacing
//! that most bar lines of the tune have, and the bar lines of voices typed under each other come to stand under
//! each other. Whether there is a space between two notes decides their beam, so it is kept; so is whatever is
//! no music: comments, texts, directives, what fields say, indentation, line ends, blank lines.
//!
//! Every edit lies within one line. What would not read as the same score is left as it is typed.

mod columns;
mod lines;
mod spacing;

use super::{TextEdit, same_score};
use crate::{Block, BlockKind};
use lines::{Line, Page};
use recte_score::Span;
use std::ops::Range;

/// How many bytes may be read again for one block to find the lines that have to be left.
const READINGS: usize = 8 << 20;

/// How the white space of a block is to be changed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Layout {
    /// The changes, in the order of the text, each within one line.
    pub edits: Vec<TextEdit>,
    /// So many lines are left as they are: set otherwise, they would not read as the same score.
    pub left: usize,
}

/// Lays out the lines of a block; nothing outside `within` (bytes of the block) is touched.
pub fn layout(block: &Block, within: Range<usize>) -> Layout {
    if block.kind == BlockKind::FreeText {
        return Layout::default();
    }
    let Some(page) = Page::read(&block.text) else { return Layout::default() };
    sure(block, page, within)
}

/// Lays out a line up to the bar line that has just been typed before `cursor` (a byte of the block); nothing
/// if none ends there.
pub fn layout_at_bar(block: &Block, cursor: usize) -> Layout {
    let page = Some(&block.text).filter(|_| block.kind == BlockKind::Tune);
    let Some(page) = page.and_then(|text| Page::read(text)) else { return Layout::default() };
    let before = page.lines.iter().find_map(|line| Some(line.start..line.bar_before(cursor)?));
    before.map_or_else(Layout::default, |within| sure(block, page, within))
}

/// The edits that surely keep the score.
fn sure(block: &Block, mut page: Page, within: Range<usize>) -> Layout {
    spacing::set(block, &mut page.lines);
    columns::align(block, &mut page.lines);
    let inside = |edit: &TextEdit| {
        within.start <= edit.span.start as usize && edit.span.end as usize <= within.end
    };
    let mut lines: Vec<Vec<TextEdit>> =
        page.lines.iter().map(|line| line_edits(&block.text, line)).collect();
    lines.extend(page.ends.iter().map(|end| vec![removal(end.clone())]));
    lines.iter_mut().for_each(|edits| edits.retain(inside));
    lines.retain(|edits| !edits.is_empty());
    let mut proof = Proof { block, readings: READINGS, layout: Layout::default() };
    proof.take(&lines);
    proof.layout.edits.sort_unstable();
    proof.layout
}

fn removal(range: Range<usize>) -> TextEdit {
    TextEdit { span: Span::new(range.start, range.end), text: String::new() }
}

fn line_edits(text: &str, line: &Line) -> Vec<TextEdit> {
    let gaps = line.gaps.iter().filter_map(|gap| Some((gap.range.clone(), gap.spaces?)));
    gaps.filter_map(|(range, spaces)| respaced(&text[range.clone()], range, spaces)).collect()
}

/// The smallest edit that makes so many spaces of white space.
fn respaced(typed: &str, range: Range<usize>, spaces: usize) -> Option<TextEdit> {
    let kept = typed.bytes().take_while(|byte| *byte == b' ').count().min(spaces);
    let text = " ".repeat(spaces - kept);
    let span = Span::new(range.start + kept, range.end);
    (span.start < span.end || !text.is_empty()).then_some(TextEdit { span, text })
}

/// The search for the lines that do not read as the same score when they are set anew.
struct Proof<'a> {
    block: &'a Block,
    readings: usize,
    layout: Layout,
}

impl Proof<'_> {
    fn take(&mut self, lines: &[Vec<TextEdit>]) {
        if lines.is_empty() {
            return;
        }
        if let Some(edits) = self.proved(lines) {
            self.layout.edits = edits;
        } else if lines.len() == 1 {
            self.layout.left += 1;
        } else {
            let (first, second) = lines.split_at(lines.len() / 2);
            self.take(first);
            self.take(second);
        }
    }

    /// What is sure already with these lines, if that reads as the same score.
    fn proved(&mut self, lines: &[Vec<TextEdit>]) -> Option<Vec<TextEdit>> {
        self.readings = self.readings.checked_sub(self.block.text.len())?;
        let edits = [self.layout.edits.clone(), lines.concat()].concat();
        let after = self.block.edited(&edits).ok()?;
        same_score(self.block, &after).then_some(edits)
    }
}

#[cfg(test)]
mod tests;
