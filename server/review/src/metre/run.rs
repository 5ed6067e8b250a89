//! Bars in a row that are felt in another grouping than their signature's.

use super::fit::Reading;
use super::stretch::Stretch;
use std::ops::Range;

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
        Run::part(stretch, readings, 0..readings.len())
    }

    /// A part of the stretch, by the places of its bars.
    fn part(stretch: &Stretch<'_>, readings: &[Reading], part: Range<usize>) -> Run {
        let count = readings[part.clone()].iter().filter(|reading| reading.is_for()).count();
        let moving = part.clone().filter(|&place| stretch.moves(place)).count();
        Run { first: part.start, last: part.end.saturating_sub(1), count, moving }
    }

    /// The runs long enough to be meant: a part of which three bars of four ask for the other grouping, else
    /// four such bars in a row; then the same of what lies between, which these leave to itself.
    pub(crate) fn meant(
        stretch: &Stretch<'_>,
        readings: &[Reading],
        part: Range<usize>,
    ) -> Vec<Run> {
        let whole = Run::part(stretch, readings, part.clone());
        if whole.count >= 3 && whole.prevails() {
            return vec![whole];
        }
        let inside = |run: &Run| part.start <= run.first && run.last < part.end;
        let long = |run: &Run| inside(run) && run.count >= 4 && run.prevails();
        let runs: Vec<Run> = Run::all(stretch, readings).into_iter().filter(long).collect();
        let mut all = Vec::new();
        let mut from = part.start;
        let found_any = !runs.is_empty();
        for run in runs {
            all.extend(Run::meant(stretch, readings, from..run.first));
            from = run.last + 1;
            all.push(run);
        }
        if found_any {
            all.extend(Run::meant(stretch, readings, from..part.end));
        }
        all
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
