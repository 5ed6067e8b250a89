//! The proof that values were scaled and nothing else happened.

use super::carried::same_page;
use super::scale::Scale;
use crate::Block;
use crate::write::TextEdit;
use recte_score::{Event, Tempo, Tune, Voice};
use recte_theory::Time;
use std::sync::Arc;

/// The block with its values scaled, if every onset and length of the passage is exactly so much shorter or longer,
/// the tempo makes up for it, and all else stands where it stood.
pub fn scaled_exactly(
    block: &Block,
    edits: &[TextEdit],
    (from, to): (u32, u32),
    scale: Scale,
) -> Option<Arc<Block>> {
    let after = block.edited(edits).ok()?;
    let (old, new) = (block.lowered(), after.lowered());
    if new.problems.len() > old.problems.len() {
        return None;
    }
    let (old, new) = (&old.tune, &new.tune);
    let begin = old.bars.get(from as usize)?.start;
    let last = old.bars.get(to as usize)?;
    let end = last.start + last.length;
    let factor = scale.factor();
    let moved = |at: Time| {
        if at <= begin {
            at
        } else if at <= end {
            begin + (at - begin) * factor
        } else {
            at - (end - begin) * (Time::WHOLE - factor)
        }
    };
    let same = old.voices.len() == new.voices.len()
        && old.voices.iter().zip(&new.voices).all(|(a, b)| {
            let events = a.events.iter().zip(&b.events);
            a.events.len() == b.events.len()
                && events
                    .into_iter()
                    .all(|(from, to)| same_event((old, a, from), (new, b, to), &moved))
        });
    (same && same_page(old, new, &moved, false)).then_some(after)
}

type Placed<'a> = (&'a Tune, &'a Voice, &'a Event);

fn same_event(
    (old, a, from): Placed<'_>,
    (new, b, to): Placed<'_>,
    moved: &impl Fn(Time) -> Time,
) -> bool {
    let (start, end) = (old.onset(from), old.onset(from) + from.duration);
    let notes = a.notes_of(from).iter().zip(b.notes_of(to));
    let speed = |tune: &Tune, at: Time| {
        let place = |tempo: &&Tempo| {
            let bar = tune.bars.get(tempo.bar as usize).map_or(Time::ZERO, |bar| bar.start);
            bar + tempo.offset
        };
        let counted = tune.tempi.iter().filter(|tempo| tempo.per_minute.is_some());
        let last = counted.filter(|tempo| place(tempo) <= at).max_by_key(|tempo| place(tempo));
        last.and_then(Tempo::whole_notes_per_minute)
    };
    let length = end - start;
    let now = to.duration;
    let scale = if length.is_zero() { None } else { Some(now / length) };
    let tempo = match (speed(old, start), speed(new, moved(start)), scale) {
        (Some(old), Some(new), Some(scale)) => new == old * scale,
        (old, new, None) => old.is_some() == new.is_some(),
        (None, None, Some(scale)) => scale == Time::WHOLE,
        _ => false,
    };
    new.onset(to) == moved(start)
        && new.onset(to) + now == moved(end)
        && from.kind == to.kind
        && from.grace == to.grace
        && notes.clone().count() == from.notes.len()
        && from.notes.len() == to.notes.len()
        && notes
            .into_iter()
            .all(|(a, b)| (a.pitch, a.tied_in, a.tied_out) == (b.pitch, b.tied_in, b.tied_out))
        && tempo
}
