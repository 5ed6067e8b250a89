//! Bar lines of voices under each other.
//!
//! Lines of different voices that begin with the same bar, one after the other, make a system. Where the same
//! bar ends in several of them, its bar lines are set in one column: spaces come before the bar line.

use super::lines::Line;
use crate::Block;
use crate::syntax::Kind;
use recte_theory::Time;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use unicode_width::UnicodeWidthStr;

/// Bar lines further to the right than this are not aligned: nobody sees them under each other.
const WIDEST: usize = 400;

/// A line of one voice that may stand in a system.
struct Row {
    /// The line, by index.
    line: usize,
    voice: u32,
    /// The bar and the place in it that the line begins with.
    begins: (u32, Time),
    /// The bars that end on the line, each with the gap before its bar line.
    stops: Vec<(u32, usize)>,
}

/// Stretches the gaps before bar lines.
pub(super) fn align(block: &Block, lines: &mut [Line]) {
    if block.lowered().tune.voices.len() < 2 {
        return;
    }
    let score = Score::new(block);
    let mut system: Vec<Row> = Vec::new();
    for index in 0..lines.len() {
        let Some(row) = score.row(&block.text, index, &lines[index]) else { continue };
        let joins =
            system.iter().all(|other| other.voice != row.voice && other.begins == row.begins);
        if !joins {
            align_system(&block.text, lines, &std::mem::take(&mut system));
        }
        system.push(row);
    }
    align_system(&block.text, lines, &system);
}

/// Where the events and bar lines of a tune are typed.
struct Score {
    /// Start, voice, bar and offset of every event, in the order of the text.
    events: Vec<(u32, u32, u32, Time)>,
    /// The bar that each typed bar line ends.
    ends: BTreeMap<u32, u32>,
}

impl Score {
    fn new(block: &Block) -> Score {
        let mut score = Score { events: Vec::new(), ends: BTreeMap::new() };
        for (number, voice) in (0..).zip(&block.lowered().tune.voices) {
            let events = voice.events.iter();
            score.events.extend(events.map(|one| (one.span.start, number, one.bar, one.offset)));
            let ends = (0..).zip(&voice.bars).filter_map(|(bar, one)| Some((one.line?.start, bar)));
            score.ends.extend(ends);
        }
        score.events.sort_unstable();
        score
    }

    /// A line as a row, if it holds music of one voice. How wide a tab is nobody knows but the editor.
    fn row(&self, text: &str, index: usize, line: &Line) -> Option<Row> {
        let place = |byte: usize| self.events.partition_point(|event| (event.0 as usize) < byte);
        let events = &self.events[place(line.start)..place(line.end())];
        let &(_, voice, bar, offset) = events.first()?;
        let mut stops = Vec::new();
        for (gap, item) in line.items.iter().skip(1).enumerate() {
            let end = self.ends.get(&(item.range.start as u32));
            stops.extend(end.filter(|_| item.kind == Kind::Bar).map(|bar| (*bar, gap)));
        }
        let alone = events.iter().all(|event| event.1 == voice);
        let onward = stops.windows(2).all(|pair| pair[0].0 < pair[1].0);
        let tabbed = text[line.start..line.items.first()?.range.start].contains('\t');
        (alone && onward && !tabbed).then_some(Row {
            line: index,
            voice,
            begins: (bar, offset),
            stops,
        })
    }
}

fn align_system(text: &str, lines: &mut [Line], rows: &[Row]) {
    if rows.len() < 2 {
        return;
    }
    // Where each row stands: the gaps passed so far, and the column after them.
    let mut heads = vec![(0, 0); rows.len()];
    let bars: BTreeSet<u32> = rows.iter().flat_map(|row| &row.stops).map(|stop| stop.0).collect();
    for bar in bars {
        let stop = |row: &Row| row.stops.iter().find(|stop| stop.0 == bar).map(|stop| stop.1);
        let mut here = Vec::new();
        for (head, row) in heads.iter_mut().zip(rows) {
            let Some(gap) = stop(row) else { continue };
            let line = &lines[row.line];
            let column = head.1 + width(text, line, head.0..gap + 1);
            *head = (gap + 1, column);
            here.push((row.line, gap, head));
        }
        let farthest = here.iter().map(|(.., head)| head.1).max().unwrap_or_default();
        if farthest > WIDEST {
            return;
        }
        for (line, gap, head) in here {
            let gap = &mut lines[line].gaps[gap];
            if let Some(spaces) = gap.spaces.as_mut().filter(|_| gap.stretches) {
                *spaces += farthest - head.1;
                head.1 = farthest;
            }
        }
    }
}

/// The width of some gaps, each with the item before it.
fn width(text: &str, line: &Line, gaps: Range<usize>) -> usize {
    let mut wide = 0;
    for at in gaps {
        let (item, gap) = (&line.items[at], &line.gaps[at]);
        let start = if at == 0 { line.start } else { item.range.start };
        wide += text[start..item.range.end].width();
        wide += gap.spaces.unwrap_or_else(|| text[gap.range.clone()].width());
    }
    wide
}
