//! Bars in a row that are felt in another grouping than their signature's.

use super::fit::Reading;
use super::stretch::Stretch;

/// Bars of a stretch, by their places in it.
pub(crate) struct Run {
    /// The first.
    pub(crate) first: usize,
    /// The last.
    pub(crate) last: usize,
    /// How many of them contradict the signature.
    pub(crate) count: usize,
    /// How many hold more than one long note.
    moving: usize,
}

impl Run {
    /// The whole stretch.
    pub(crate) fn whole(stretch: &Stretch<'_>, readings: &[Reading]) -> Run {
        let count = readings.iter().filter(|reading| reading.is_for()).count();
        let moving = (0..readings.len()).filter(|&place| stretch.moves(place)).count();
        Run { first: 0, last: readings.len().saturating_sub(1), count, moving }
    }

    /// The longest runs without a bar that contradicts the other grouping, from the first to the last bar
    /// that asks for it.
    pub(crate) fn all(stretch: &Stretch<'_>, readings: &[Reading]) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        let mut open = false;
        for (place, reading) in readings.iter().enumerate() {
            match (reading, runs.last_mut()) {
                (Reading::Against, _) => open = false,
                (Reading::Neutral, _) => {}
                (Reading::For { .. }, Some(run)) if open => {
                    run.moving += (run.last + 1..=place).filter(|&p| stretch.moves(p)).count();
                    run.last = place;
                    run.count += 1;
                }
                (Reading::For { .. }, _) => {
                    runs.push(Run { first: place, last: place, count: 1, moving: 1 });
                    open = true;
                }
            }
        }
        runs
    }

    /// The whole stretch, if no bar of it is against.
    pub(crate) fn widened(self, readings: &[Reading]) -> Run {
        let against = readings.contains(&Reading::Against);
        if against { self } else { Run { first: 0, last: readings.len() - 1, ..self } }
    }

    /// Whether every bar in which something moves contradicts the signature.
    pub(crate) fn is_constant(&self) -> bool {
        self.count == self.moving
    }

    /// Whether at least three moving bars of four do.
    pub(crate) fn prevails(&self) -> bool {
        4 * self.count >= 3 * self.moving
    }
}
