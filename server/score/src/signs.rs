//! What lengths are drawn as: note values, dots, ratios; and which notes share beams, as typed.

mod beams;
mod length;

use crate::{Event, EventKind};
pub use beams::{Beam, Beams, Stem, beams};
pub use length::{Piece, Sign, pieces};
use recte_theory::Time;

/// What grace notes are drawn as: one alone as an eighth, the shortest of several as a sixteenth, and longer ones
/// as much longer as they are typed (common practice, no source; abc standard v2.1, 4.12 leaves it open). `lengths` are
/// those typed, of grace notes that follow one another.
pub fn grace_signs(lengths: &[Time]) -> Vec<Option<Sign>> {
    let usual = Time::new(1, if lengths.len() > 1 { 16 } else { 8 });
    let shortest = lengths.iter().copied().min().unwrap_or_default();
    let sign = |length: &Time| {
        let times = if shortest.is_zero() { Time::WHOLE } else { *length / shortest };
        let signs = pieces(usual * times, None, Time::ZERO);
        // A length that no sign has is near that of its longest part.
        let sign = signs.iter().find_map(|piece| piece.sign.filter(|_| piece.ratio.is_none()));
        sign.or_else(|| pieces(usual, None, Time::ZERO).first()?.sign)
    };
    lengths.iter().map(sign).collect()
}

/// The beams of the events of a layer, given the signs of each: those of grace notes and of the others, which do not part
/// each other. An event that needs several signs shares no beam.
pub fn layer_beams(events: &[&Event], signs: &[Vec<Option<Sign>>]) -> Vec<Beams> {
    let grace = |at: usize| events.get(at).is_some_and(|event| event.grace);
    let stem = |at: usize| match signs.get(at).map(Vec::as_slice) {
        Some([sign]) if events[at].kind == EventKind::Notes => {
            let follows = at.checked_sub(1).is_some_and(grace);
            let joined = if grace(at) { follows } else { events[at].joined };
            Some(Stem { flags: sign.map_or(0, Sign::flags), joined })
        }
        _ => None,
    };
    let mut all = vec![Beams::new(); events.len()];
    for wanted in [false, true] {
        let places: Vec<usize> = (0..events.len()).filter(|at| grace(*at) == wanted).collect();
        let own: Vec<_> = places.iter().map(|at| stem(*at)).collect();
        for (at, found) in places.into_iter().zip(beams(&own)) {
            all[at] = found;
        }
    }
    all
}
