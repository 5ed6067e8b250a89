//! What the events of a layer are drawn as: signs, and the beams between them.

use super::measure::Writer;
use recte_score::signs::{Beams, Piece, grace_signs, layer_beams, pieces};
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
        draw_graces(&events, &mut pieces);
        let signs: Vec<Vec<_>> =
            pieces.iter().map(|all| all.iter().map(|(piece, _)| piece.sign).collect()).collect();
        let own: Vec<&Event> = events.iter().map(|(_, event)| *event).collect();
        let beams = layer_beams(&own, &signs);
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

/// Gives grace notes that follow one another their signs.
fn draw_graces(events: &[(u32, &Event)], drawn: &mut [Vec<(Piece, i64)>]) {
    let mut first = 0;
    for run in events.chunk_by(|(_, a), (_, b)| a.grace == b.grace) {
        let own = drawn.get_mut(first..first + run.len()).unwrap_or_default();
        first += run.len();
        if run.first().is_some_and(|(_, event)| event.grace) {
            let lengths: Vec<Time> = run.iter().map(|(_, event)| event.grace_length).collect();
            for (piece, sign) in own.iter_mut().zip(grace_signs(&lengths)) {
                *piece = vec![(Piece { duration: Time::ZERO, sign, ratio: None }, 0)];
            }
        }
    }
}
