//! How many spaces stand between two items of a line, before voices are aligned.

use super::lines::{Item, Line};
use crate::Block;
use crate::lower::expand;
use crate::syntax::Kind;
use std::cmp::Ordering;
use std::ops::Range;

/// What stands between two items.
pub(super) struct Gap {
    pub(super) range: Range<usize>,
    /// So many spaces are to stand there; `None` leaves what does.
    pub(super) spaces: Option<usize>,
    /// Whether more spaces there would mean nothing else.
    pub(super) stretches: bool,
}

impl Gap {
    pub(super) fn new(text: &str, range: Range<usize>) -> Gap {
        // A back quote is typed for the look of it, with whatever white space stands by it.
        let white = text[range.clone()].bytes().all(|byte| matches!(byte, b' ' | b'\t'));
        let spaces = white.then(|| usize::from(!range.is_empty()));
        Gap { range, spaces, stretches: false }
    }
}

/// What a tune has around its bar lines.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Style {
    Spaced,
    Close,
    /// As often this as that, or nothing to tell by.
    Mixed,
}

/// Decides about every gap.
pub(super) fn set(block: &Block, lines: &mut [Line]) {
    let text = &*block.text;
    // What a macro stands for may hang on its white space.
    let macros = expand(text, block.defaults()).map_or_else(Vec::new, |all| all.typed_pieces());
    for line in &mut *lines {
        for (right, gap) in line.items.iter().skip(1).zip(&mut line.gaps) {
            let next = macros.partition_point(|piece| (piece.end as usize) < gap.range.start);
            let in_macro =
                macros.get(next).is_some_and(|piece| piece.start as usize <= gap.range.end);
            if in_macro || right.kind == Kind::Comment {
                gap.spaces = None;
            }
        }
    }
    let style = style(text, lines);
    lines.iter_mut().for_each(|line| set_line(text, line, style));
}

/// The spacing of most bar lines, judged by what follows them: what stands before them may be there to align
/// voices.
fn style(text: &str, lines: &[Line]) -> Style {
    let (mut spaced, mut close) = (0, 0);
    for line in lines {
        for (pair, gap) in line.items.windows(2).zip(&line.gaps) {
            if gap.spaces.is_some() && free_after(text, &pair[0], &pair[1]) {
                *(if gap.range.is_empty() { &mut close } else { &mut spaced }) += 1;
            }
        }
    }
    match spaced.cmp(&close) {
        Ordering::Greater => Style::Spaced,
        Ordering::Less => Style::Close,
        Ordering::Equal => Style::Mixed,
    }
}

fn set_line(text: &str, line: &mut Line, style: Style) {
    for (pair, gap) in line.items.windows(2).zip(&mut line.gaps) {
        let Some(spaces) = gap.spaces else { continue };
        let before = free_before(text, line.start, &pair[0], &pair[1]);
        if before || free_after(text, &pair[0], &pair[1]) {
            gap.spaces = Some(match style {
                Style::Spaced => 1,
                Style::Close => 0,
                Style::Mixed => spaces,
            });
        }
        gap.stretches = pair[1].kind == Kind::Bar && (before || spaces > 0);
    }
}

/// Whether a space between an item and the bar line after it means nothing. `. |` is no `.|`, and `(3 :|` no
/// `(3:|`; a letter and a colon at the beginning of a line make a field.
fn free_before(text: &str, line: usize, left: &Item, bar: &Item) -> bool {
    let typed = &text[left.range.clone()];
    let closed = match left.kind {
        Kind::Note | Kind::Rest | Kind::Spacer | Kind::Tie | Kind::SlurClose => true,
        Kind::Chord => typed.contains(']'),
        Kind::Grace => typed.ends_with('}'),
        Kind::InlineField => typed.ends_with(']'),
        Kind::Quoted => typed.len() > 1 && typed.ends_with('"'),
        Kind::Decoration => typed != ".",
        _ => false,
    };
    let field = left.range == (line..line + 1) && text[bar.range.start..].starts_with(':');
    bar.kind == Kind::Bar && closed && !field
}

/// Whether a space between a bar line and the item after it means nothing. `| 1` is no `|1`, and a bar line may
/// not run into another.
fn free_after(text: &str, bar: &Item, right: &Item) -> bool {
    let typed = &text[right.range.clone()];
    let apart = match right.kind {
        Kind::Note | Kind::Rest | Kind::Spacer | Kind::Grace | Kind::Quoted | Kind::Decoration => {
            true
        }
        Kind::Tuplet | Kind::SlurOpen | Kind::InlineField => true,
        Kind::Chord => typed.contains(']') && !typed.starts_with("[|"),
        _ => false,
    };
    let ending = text[bar.range.clone()].ends_with(|c: char| c.is_ascii_digit());
    bar.kind == Kind::Bar && apart && !ending
}
