//! Bars as they are and as they are to be.

use recte_score::Tune;
use recte_theory::{Metre, Time};

/// A bar that is to be: its length in whole notes, and the signature it stands under.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewBar {
    /// How long it is; a pickup is shorter than its signature says.
    pub length: Time,
    /// Its signature.
    pub metre: Metre,
}

impl NewBar {
    /// A bar that its signature fills.
    pub fn full(metre: &Metre) -> NewBar {
        NewBar { length: metre.length().unwrap_or_default(), metre: metre.clone() }
    }
}

/// How new bar lines are typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Manner {
    /// So that taking the lines away again gives the text back.
    Exact,
    /// With or without spaces around them, as given.
    Plain {
        /// Whether spaces stand around them.
        spaced: bool,
        /// Whether tied pairs are tied where the groups of their new bar meet.
        shows_joins: bool,
    },
}

/// The bars `from` to `to` of a tune, and those that take their place. Times count from the first bar line.
pub(super) struct Plan<'a> {
    pub(super) from: u32,
    pub(super) to: u32,
    /// When each old bar begins, and when the last ends.
    pub(super) old: Vec<Time>,
    /// When each new bar begins, and when the last ends.
    pub(super) new: Vec<Time>,
    pub(super) bars: &'a [NewBar],
    pub(super) manner: Manner,
    /// Whether the bars go back under the signature that stands around them: what a split put in goes again.
    pub(super) undoes: bool,
}

impl<'a> Plan<'a> {
    pub(super) fn new(
        tune: &Tune,
        from: u32,
        to: u32,
        bars: &'a [NewBar],
        manner: Manner,
    ) -> Plan<'a> {
        let lengths = tune.bars[from as usize..=to as usize].iter().map(|bar| bar.length);
        let (old, new) = (places(lengths), places(bars.iter().map(|bar| bar.length)));
        Plan { from, to, old, new, bars, manner, undoes: false }
    }

    /// The whole length, before and after.
    pub(super) fn lengths(&self) -> [Option<Time>; 2] {
        [self.old.last().copied(), self.new.last().copied()]
    }

    /// When a bar of the passage begins.
    pub(super) fn start(&self, bar: u32) -> Time {
        self.old.get((bar.saturating_sub(self.from)) as usize).copied().unwrap_or_default()
    }

    /// Whether a new bar begins at this moment.
    pub(super) fn begins(&self, at: Time) -> bool {
        self.new.contains(&at)
    }

    /// Whether an old bar begins there.
    pub(super) fn began(&self, at: Time) -> bool {
        self.old.contains(&at)
    }

    /// The new bar that a moment is in, and when it begins.
    pub(super) fn bar_at(&self, at: Time) -> (usize, Time) {
        let later = self.new.iter().position(|start| *start > at).unwrap_or(self.new.len());
        let index = later.saturating_sub(1).min(self.bars.len().saturating_sub(1));
        (index, self.new.get(index).copied().unwrap_or_default())
    }

    /// The lines of new bars inside a stretch of time, its ends not counted.
    pub(super) fn inside(&self, from: Time, to: Time) -> impl Iterator<Item = Time> + '_ {
        self.new.iter().copied().filter(move |at| from < *at && *at < to)
    }
}

fn places(lengths: impl Iterator<Item = Time>) -> Vec<Time> {
    let mut at = Time::ZERO;
    let mut all = vec![at];
    for length in lengths {
        at += length;
        all.push(at);
    }
    all
}
