//! What the events of a layer are drawn as: signs, and the beams between them.

use super::beam::{Beams, Stem, beams};
use super::length::{Piece, pieces};
use super::measure::Writer;
use recte_score::{Event, EventKind};
use recte_theory::Time;

/// A layer of a bar while it is being written.
pub(super) struct Layer<'a> {
    pub(super) bar: usize,
    /// The voice, by its place in the part, and the layer in it.
    pub(super) place: usize,
    pub(super) layer: u8,
    pub(super) events: Vec<(u32, &'a Event)>,
    pub(super) pieces: Vec<Vec<(Piece, i64)>>,
    pub(super) beams: Vec<Beams>,
}

impl<'a> Writer<'a, '_> {
    /// The layer with what its events are drawn as.
    pub(super) fn shaped(
        &self,
        bar: usize,
        place: usize,
        layer: u8,
        events: Vec<(u32, &'a Event)>,
    ) -> Layer<'a> {
        let drawn = |(_, event): &(u32, &Event)| self.pieces(bar, place, event);
        let mut pieces: Vec<_> = events.iter().map(drawn).collect();
        grace_signs(&events, &mut pieces);
        let mut stems = Vec::with_capacity(events.len());
        for (at, (_, event)) in events.iter().enumerate() {
            let beside = |at: usize| events.get(at).is_some_and(|(_, event)| event.grace);
            let follows = at.checked_sub(1).is_some_and(beside);
            stems.push(match pieces[at].as_slice() {
                [(piece, _)] if event.kind == EventKind::Notes => {
                    let flags = piece.sign.map_or(0, |sign| sign.flags());
                    let joined = if event.grace { follows } else { event.joined };
                    Some(Stem { flags, joined })
                }
                _ => None,
            });
        }
        let beams = apart(&events, &stems);
        Layer { bar, place, layer, events, pieces, beams }
    }

    pub(super) fn pieces(&self, bar: usize, place: usize, event: &Event) -> Vec<(Piece, i64)> {
        if event.grace {
            return vec![(Piece { duration: Time::ZERO, sign: None, ratio: None }, 0)];
        }
        let whole = self.is_whole_bar(bar, event);
        let tuplet = event.tuplet.and_then(|tuplet| self.voice(place).tuplets.get(tuplet as usize));
        let all = match whole {
            true => vec![Piece { duration: event.duration, sign: None, ratio: None }],
            false => {
                let ratio = tuplet.map(|tuplet| (tuplet.actual, tuplet.normal));
                pieces(event.duration, ratio, event.offset)
            }
        };
        let mut start = event.offset;
        let counted = |piece: Piece| {
            let end = start + piece.duration;
            let ticks = self.ticks(end) - self.ticks(start);
            start = end;
            (piece, ticks.max(1))
        };
        all.into_iter().map(counted).collect()
    }

    pub(super) fn is_whole_bar(&self, bar: usize, event: &Event) -> bool {
        matches!(event.kind, EventKind::BarRest(_)) && event.duration == self.length(bar)
    }
}

/// What grace notes are drawn as: one alone as an eighth, the shortest of several as a sixteenth, and longer ones
/// as much longer as they are typed (common practice, no source; 4.12 leaves it open).
fn grace_signs(events: &[(u32, &Event)], drawn: &mut [Vec<(Piece, i64)>]) {
    let mut first = 0;
    for run in events.chunk_by(|(_, a), (_, b)| a.grace == b.grace) {
        let own = drawn.get_mut(first..first + run.len()).unwrap_or_default();
        first += run.len();
        let usual = Time::new(1, if run.len() > 1 { 16 } else { 8 });
        let shortest = run.iter().map(|(_, event)| event.grace_length).min().unwrap_or_default();
        for ((_, event), piece) in run.iter().zip(own).filter(|((_, event), _)| event.grace) {
            let times =
                if shortest.is_zero() { Time::WHOLE } else { event.grace_length / shortest };
            let signs = pieces(usual * times, None, Time::ZERO);
            // A length that no sign has is near that of its longest part.
            let sign = signs.iter().find_map(|piece| piece.sign.filter(|_| piece.ratio.is_none()));
            let sign = sign.or_else(|| pieces(usual, None, Time::ZERO).first()?.sign);
            *piece = vec![(Piece { duration: Time::ZERO, sign, ratio: None }, 0)];
        }
    }
}

/// Beams of grace notes and of the others, which do not part each other.
fn apart(events: &[(u32, &Event)], stems: &[Option<Stem>]) -> Vec<Beams> {
    let mut all = vec![Beams::new(); events.len()];
    for grace in [false, true] {
        let places: Vec<usize> =
            (0..events.len()).filter(|&at| events[at].1.grace == grace).collect();
        let own: Vec<_> = places.iter().map(|&at| stems[at]).collect();
        for (at, found) in places.into_iter().zip(beams(&own)) {
            all[at] = found;
        }
    }
    all
}
