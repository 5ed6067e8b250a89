//! Where in a bar something stands, in words and in the text.

use crate::context::Context;
use crate::finding::Finding;
use recte_notation::write::rhythm::Row;
use recte_score::Span;
use recte_theory::metre::{Beats, Ticks};

/// "beat 3", or "the second half of beat 1" and the like for a finer line.
pub(crate) fn line_name(beats: &Beats, line: Ticks) -> String {
    if let Some(quarter) = beats.counted() {
        let beat = line / quarter + 1;
        return match line % quarter {
            0 => format!("beat {beat}"),
            inside if inside * 2 == quarter => format!("the middle of beat {beat}"),
            _ => format!("a part of beat {beat}"),
        };
    }
    let groups = beats.groups();
    let place = groups.partition_point(|group| group.end <= line).min(groups.len() - 1);
    let group = &groups[place];
    let beat = match beats.is_uneven() {
        true => format!("the {} group", ordinal(place)),
        false => format!("beat {}", place + 1),
    };
    if line == group.start {
        return beat;
    }
    let (inside, length) = (line - group.start, group.end - group.start);
    if group.threes && inside * 3 == length {
        return format!("the second third of {beat}");
    }
    if group.threes && inside * 3 == length * 2 {
        return format!("the last third of {beat}");
    }
    if inside * 2 == length {
        return format!("the middle of {beat}");
    }
    format!("a part of {beat}")
}

fn ordinal(place: usize) -> String {
    let named = ["first", "second", "third", "fourth", "fifth", "sixth"].get(place);
    named.map_or_else(|| format!("{}th", place + 1), |name| (*name).to_owned())
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
