//! The time line of a performance: repeats, endings, parts and returns played out.

use recte_score::{Tune, playing_order};
use recte_theory::Time;

/// A bar as it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct PlayedBar {
    /// The bar, counted from 0.
    pub(super) bar: u32,
    /// When it begins, in whole notes from the beginning of the performance.
    pub(super) start: Time,
    /// Whether the bar played before it is another than the one it follows on the page.
    pub(super) jumped: bool,
}

/// Every bar as it is played, and when it is over.
pub(super) fn played(tune: &Tune) -> (Vec<PlayedBar>, Time) {
    let mut now = Time::ZERO;
    let mut before = None;
    let mut all = Vec::new();
    for bar in playing_order(tune) {
        let jumped = before.is_some_and(|before| bar != before + 1);
        all.push(PlayedBar { bar, start: now, jumped });
        now += tune.bars.get(bar as usize).map_or(Time::ZERO, |bar| bar.length);
        before = Some(bar);
    }
    (all, now)
}
