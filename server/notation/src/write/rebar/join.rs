//! A tied pair that hides where the groups of its new bar meet, tied at the join instead.

use super::cut::{Layer, typed_length};
use super::length::{is_one_value, length_text, lines};
use crate::write::TextEdit;
use recte_score::Event;
use recte_theory::{Metre, Time};

/// In each half of a layer: `B8-B2` in 5/8 becomes `B4-B6`. What cannot be done surely is left.
pub(super) fn shown(layer: &Layer<'_>) -> Vec<TextEdit> {
    let end = layer.events.iter().map(Event::end).max().unwrap_or_default();
    let halves = [(Time::ZERO, layer.at), (layer.at, end)];
    let timed: Vec<&Event> = layer.events.iter().filter(|event| !event.grace).collect();
    let mut edits = Vec::new();
    for ((from, to), metre) in halves.into_iter().zip(layer.signatures) {
        for pair in timed.windows(2) {
            let [first, second] = pair else { continue };
            if from <= first.offset && second.end() <= to && is_bare_pair(layer, first, second) {
                let joined = tied_at_join(layer, [first, second], from, metre);
                edits.extend(joined.into_iter().flatten());
            }
        }
    }
    edits
}

/// Two plain events joined by ties into one sound of just these two, the second without signs of its own.
fn is_bare_pair(layer: &Layer<'_>, first: &Event, second: &Event) -> bool {
    let (a, b) = (layer.voice.notes_of(first), layer.voice.notes_of(second));
    let plain = |event: &Event| event.sounds() && event.tuplet.is_none() && !event.broken;
    plain(first)
        && plain(second)
        && a.len() == b.len()
        && a.iter().all(|note| note.tied_out && !note.tied_in)
        && b.iter().all(|note| note.tied_in && !note.tied_out)
        && second.full.start == second.span.start
}

fn tied_at_join(
    layer: &Layer<'_>,
    [first, second]: [&Event; 2],
    from: Time,
    metre: &Metre,
) -> Option<Vec<TextEdit>> {
    let (start, middle, end) = (first.offset - from, first.end() - from, second.end() - from);
    let joins: Vec<Vec<Time>> = metre.groupings().iter().map(|groups| lines(groups)).collect();
    // Only where the first crosses a join in every reading, and so hides it.
    let hides = |joins: &Vec<Time>| joins.iter().any(|at| start < *at && *at < middle);
    let shows = joins.iter().any(|joins| joins.contains(&middle) || !hides(joins));
    if !metre.is_asymmetric() || shows {
        return None;
    }
    let distance = |at: &Time| {
        let centre = (start + middle) / Time::new(2, 1);
        if *at < centre { centre - *at } else { *at - centre }
    };
    let values = |at: &Time| is_one_value(*at - start) && is_one_value(end - *at);
    let inside = joins.iter().flatten().filter(|at| start < **at && **at < middle && values(at));
    let join = *inside.min_by_key(|at| distance(at))?;
    let typed = |event: &Event, length: Time| -> Option<TextEdit> {
        let units = typed_length(layer.text, event).ok()? * length / event.duration;
        Some(TextEdit { span: event.length, text: length_text(units) })
    };
    Some(vec![typed(first, join - start)?, typed(second, end - join)?])
}
