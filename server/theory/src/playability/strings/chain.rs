//! Stops one after another: how far the hand moves between them.

use super::{Fingering, OnString, Stroke, every_stop};
use crate::instruments::{Instrument, Level};
use crate::pitch::Pitch;
use crate::playability::{Figures, Verdict};

/// From one stop to the next.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Change {
    /// Semitones that the hand moves along the string.
    pub semitones: i32,
    /// Whether a finger stays where it is.
    pub common: bool,
}

impl Change {
    /// Whether it lies well: at most one position, or round a finger that stays.
    pub fn lies(&self, figures: &Figures) -> bool {
        self.common || self.semitones <= figures.position_semitones
    }
}

/// Stops in a row, each where the whole lies best.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Chain {
    /// How each stop lies.
    pub stops: Vec<Fingering>,
    /// What happens between each stop and the next: one less than there are stops.
    pub changes: Vec<Change>,
}

/// Where the first finger may be for a stop, in semitones above the open string, from and to; nothing if no finger
/// is down.
pub(super) fn hand(instrument: &Instrument, stop: &Fingering) -> Option<(i32, i32)> {
    let stops = instrument.stops.as_ref()?;
    let frame = stops.frame_semitones.or(stops.fret_span_comfortable.map(|span| span - 1))?;
    let stopped = stop.notes.iter().map(|note| note.offset).filter(|offset| *offset > 0);
    let (lowest, highest) = (stopped.clone().min()?, stopped.max()?);
    Some(((highest - frame).clamp(1, lowest), lowest))
}

/// What the hand does from one stop to the next.
pub fn change(instrument: &Instrument, before: &Fingering, after: &Fingering) -> Change {
    let semitones = match (hand(instrument, before), hand(instrument, after)) {
        (Some((from, to)), Some((low, high))) => (low - to).max(from - high).max(0),
        _ => 0,
    };
    let stays = |note: &&OnString| note.offset > 0 && after.notes.contains(note);
    Change { semitones, common: before.notes.iter().any(|note| stays(&note)) }
}

/// The placings of stops in a row with the fewest far changes; nothing where one of them is impossible.
pub fn chain(
    instrument: &Instrument,
    stops: &[&[Pitch]],
    level: Level,
    figures: &Figures,
) -> Option<Chain> {
    let mut ways: Vec<Vec<(u32, usize, Fingering)>> = Vec::with_capacity(stops.len());
    for stop in stops {
        let next = every_stop(instrument, stop, Stroke::Short, level).into_iter();
        let next: Vec<_> = next
            .map(|fingering| match ways.last() {
                None => (own_cost(&fingering), 0, fingering),
                Some(before) => {
                    let costs = before.iter().enumerate().map(|(place, (cost, _, other))| {
                        let far = !change(instrument, other, &fingering).lies(figures);
                        (cost + 8 * u32::from(far), place)
                    });
                    let (cost, place) = costs.min().unwrap_or_default();
                    (cost + own_cost(&fingering), place, fingering)
                }
            })
            .collect();
        if next.is_empty() {
            return None;
        }
        ways.push(next);
    }
    let mut place = ways.last()?.iter().enumerate().min_by_key(|(_, way)| way.0)?.0;
    let mut best = Vec::with_capacity(ways.len());
    for mut column in ways.into_iter().rev() {
        let (_, before, fingering) = column.swap_remove(place);
        best.push(fingering);
        place = before;
    }
    best.reverse();
    let changes = best.windows(2).map(|pair| change(instrument, &pair[0], &pair[1])).collect();
    Some(Chain { stops: best, changes })
}

/// A hard stop is worth more than a far change, a playable one less.
fn own_cost(stop: &Fingering) -> u32 {
    match stop.verdict {
        Verdict::Easy => 0,
        verdict if verdict < Verdict::Awkward => 1,
        _ => 20,
    }
}
