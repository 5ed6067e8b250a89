//! Where in a bar something stands, in words and in the text.

use crate::context::Context;
use crate::finding::Finding;
use recte_notation::write::rhythm::Row;
use recte_score::Span;
use recte_theory::metre::{Beats, Ticks};

/// "beat 3", or "the second half of beat 1" and the like for a finer line.
pub(crate) fn line_name(beats: &Beats, line: Ticks) -> String {
    let groups = beats.groups();
    let place = groups.partition_point(|group| group.end <= line).min(groups.len() - 1);
    let group = &groups[place];
    // In unequal groups a beat is counted by its group.
    let beat = place + 1;
    if line == group.start {
        return format!("beat {beat}");
    }
    let (inside, length) = (line - group.start, group.end - group.start);
    if group.threes && inside * 3 == length {
        return format!("the second third of beat {beat}");
    }
    if group.threes && inside * 3 == length * 2 {
        return format!("the last third of beat {beat}");
    }
    if inside * 2 == length {
        return format!("the middle of beat {beat}");
    }
    format!("a part of beat {beat}")
}

/// A remark at some signs of a row.
pub(crate) fn at_signs(
    context: &Context<'_>,
    row: &Row,
    first: usize,
    last: usize,
    message: String,
) -> Finding {
    let events = &context.tune.voices[row.voice].events;
    let [from, to] = [first, last].map(|place| &events[row.signs[place].event as usize]);
    let span = Span { start: from.span.start, end: to.span.end.max(from.span.end) };
    Finding { span, ..context.at_event(row.voice, from, message) }
}
