//! Where in a bar something stands, in words and in the text.

use crate::context::Context;
use crate::finding::Finding;
use recte_notation::write::rhythm::Row;
use recte_score::Span;
use recte_theory::chord::ORDINALS;
use recte_theory::metre::{Beats, Ticks};

/// "beat 3", or "the second half of beat 1" and the like for a finer line.
pub(crate) fn line_name(beats: &Beats, line: Ticks) -> String {
    let (beat, inside, length, threes) = match beats.counted() {
        Some(quarter) => (format!("beat {}", line / quarter + 1), line % quarter, quarter, false),
        None => {
            let groups = beats.groups();
            let place = groups.partition_point(|group| group.end <= line).min(groups.len() - 1);
            let group = &groups[place];
            let beat = match beats.is_uneven() {
                true => format!("the {} group", ordinal(place)),
                false => format!("beat {}", place + 1),
            };
            (beat, line - group.start, group.end - group.start, group.threes)
        }
    };
    if inside == 0 {
        beat
    } else if threes && inside * 3 == length {
        format!("the second third of {beat}")
    } else if threes && inside * 3 == length * 2 {
        format!("the last third of {beat}")
    } else if inside * 2 == length {
        format!("the middle of {beat}")
    } else {
        format!("a part of {beat}")
    }
}

fn ordinal(place: usize) -> String {
    ORDINALS.get(place).map_or_else(|| format!("{}th", place + 1), |name| (*name).to_owned())
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
