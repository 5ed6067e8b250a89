//! Bars of one voice that hold more or less than their signature, and bars that a repeat, a double bar, an ending
//! or the end of a sung line divides.
//!
//! A passage ends with a double bar, a repeat sign or the piece. The short bars on both sides of such a line
//! make one full bar when they are played one after the other, and the last bar of a passage leaves room for
//! the pickup it began with, or for that of the piece. In hymns a bar is divided likewise where a line of the
//! words ends under a fermata (common practice, no source).
//!
//! Each verdict falls at the bar named and rests on what stands before it, or on the very next bar, so that
//! typing on does not change what was said of the bars before.

use recte_score::{Bar, Meaning, Tune, Voice, playing_order};
use recte_theory::Time;

/// What is the matter with the length of a bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Misfit {
    /// By itself it holds more or less than its signature asks for.
    Alone,
    /// It ends a passage, and with the pickup of that passage (a bar, by index) it does not make a full bar.
    WithPickup(usize),
    /// It could stand by itself, but other voices hold another length there.
    Apart(Time),
}

/// What the voices of a tune have in common.
pub(super) struct Common {
    /// Whether the first bar is full in most voices, so that none has a pickup.
    begins_full: bool,
    /// By bar: whether a note under a fermata ends it in any voice.
    held: Vec<bool>,
}

impl Common {
    pub(super) fn of(tune: &Tune) -> Common {
        let first = || tune.voices.iter().filter_map(|voice| voice.bars.first());
        let full = |bar: &&Bar| tune.metre(bar).length().is_some_and(|full| bar.length >= full);
        let full = first().filter(full).count();
        let mut held = vec![false; tune.bars.len()];
        for voice in &tune.voices {
            let marks = voice.marks.iter().filter(|mark| mark.meaning == Some(Meaning::Fermata));
            for event in marks.filter_map(|mark| voice.events.get(mark.event as usize)) {
                let later = voice.bars.get(event.bar as usize).map(|bar| voice.events_of(bar));
                let mut later = later.into_iter().flatten().filter(|other| other.sounds());
                held[event.bar as usize] |= later.all(|other| other.offset <= event.offset);
            }
        }
        Common { begins_full: full > 0 && 2 * full >= first().count(), held }
    }
}

/// The bars of a voice that do not fit their signature.
pub(super) fn misfits(tune: &Tune, voice: &Voice, common: &Common) -> Vec<(usize, Misfit)> {
    let lengths = |bar: &Bar| tune.metre(bar).length().map(|full| (bar.length, full));
    let mut page = Page {
        bars: &voice.bars,
        lengths: voice.bars.iter().map(lengths).collect(),
        after: vec![Vec::new(); voice.bars.len()],
        before: vec![Vec::new(); voice.bars.len()],
        common,
    };
    if (0..voice.bars.len()).all(|bar| page.fits(bar)) {
        return Vec::new();
    }
    page.walk(tune);
    let mut misfits = Vec::new();
    let mut first = 0;
    // Whether the end of a passage has made up for its pickup so far.
    let mut kept = false;
    for bar in 0..voice.bars.len() {
        let misfit = page.misfit(bar, first, &mut kept);
        misfits.extend(misfit.map(|misfit| (bar, misfit)));
        if page.ends_passage(bar) {
            first = bar + 1;
        }
    }
    misfits
}

/// The bars of one voice, and which of them meet over a line that can divide a bar.
struct Page<'a> {
    bars: &'a [Bar],
    /// What a bar holds, and what its signature asks for.
    lengths: Vec<Option<(Time, Time)>>,
    after: Vec<Vec<usize>>,
    before: Vec<Vec<usize>>,
    common: &'a Common,
}

impl Page<'_> {
    /// Finds which bars meet, in the order of playing.
    fn walk(&mut self, tune: &Tune) {
        for pair in playing_order(tune).windows(2) {
            let (from, to) = (pair[0] as usize, pair[1] as usize);
            if to < self.bars.len() && self.is_seam(from, to) && !self.after[from].contains(&to) {
                self.after[from].push(to);
                self.before[to].push(from);
            }
        }
    }

    fn is_seam(&self, from: usize, to: usize) -> bool {
        let next = &self.bars[to];
        let Some(bar) = self.bars.get(from) else { return false };
        let divided = bar.strong_line || next.repeat_opens > 0 || next.ending;
        from + 1 != to || divided || self.common.held[from]
    }

    fn fits(&self, bar: usize) -> bool {
        self.lengths[bar].is_none_or(|(length, full)| length == full)
    }

    fn is_short(&self, bar: usize) -> bool {
        self.lengths[bar].is_some_and(|(length, full)| length < full)
    }

    /// Whether the passage that begins with this bar has a pickup, its bar line typed.
    fn is_pickup(&self, bar: usize) -> bool {
        self.bars.get(bar).is_some_and(|bar| bar.line.is_some()) && self.is_short(bar)
    }

    fn is_last(&self, bar: usize) -> bool {
        bar + 1 == self.bars.len()
    }

    fn ends_passage(&self, bar: usize) -> bool {
        self.bars[bar].section_ends || self.bars[bar].repeat_closes > 0 || self.is_last(bar)
    }

    /// Whether two parts make a full bar.
    fn are_whole(&self, bar: usize, other: usize) -> bool {
        match (self.lengths[bar], self.lengths[other]) {
            (Some((length, full)), Some((rest, _))) => rest < full && length + rest == full,
            _ => false,
        }
    }

    /// Whether a bar other than `except` makes this one whole when they meet.
    fn is_made_whole(&self, bar: usize, except: Option<usize>) -> bool {
        let mut met = self.after[bar].iter().chain(&self.before[bar]);
        met.any(|other| Some(*other) != except && self.are_whole(bar, *other))
    }

    /// What is the matter with a bar of the passage that begins with `first`.
    fn misfit(&self, bar: usize, first: usize, kept: &mut bool) -> Option<Misfit> {
        let (length, full) = self.lengths[bar]?;
        if length > full {
            return Some(Misfit::Alone);
        }
        let ends = self.ends_passage(bar);
        if ends && first < bar {
            return self.end_of_passage(bar, first, kept);
        }
        let is_pickup = bar == 0 && !self.common.begins_full || bar == first && bar > 0 && !ends;
        let room = self.bars[bar].strong_line || self.is_last(bar);
        let whole = self.is_made_whole(bar, None) || room && self.are_whole(bar, 0);
        (length < full && !is_pickup && !whole).then_some(Misfit::Alone)
    }

    /// The same of the last bar of a passage of two bars or more.
    fn end_of_passage(&self, bar: usize, first: usize, kept: &mut bool) -> Option<Misfit> {
        let back = self.after[bar].iter().copied().find(|to| *to <= bar);
        let pickup = back.unwrap_or(first);
        if self.is_short(bar) {
            if self.are_whole(bar, pickup) {
                *kept = true;
                return None;
            }
            let whole = self.is_made_whole(bar, Some(pickup)) || self.are_whole(bar, 0);
            return match self.is_short(pickup) {
                true if back.is_some() || !whole => Some(Misfit::WithPickup(pickup)),
                false if !whole => Some(Misfit::Alone),
                _ => None,
            };
        }
        if !self.is_short(pickup) || pickup == bar || pickup == 0 && self.common.begins_full {
            return None;
        }
        // The bar is full: the pickup comes on top. That is usual enough, unless the piece does otherwise.
        if self.is_made_whole(pickup, Some(bar)) && back.is_none() {
            return (*kept && self.is_last(bar)).then_some(Misfit::WithPickup(pickup));
        }
        let long = self.lengths[pickup].is_some_and(|(length, full)| length + length > full);
        let prepared = self.before[pickup].iter().any(|before| self.are_whole(pickup, *before));
        let others_do = *kept || back.is_some() && self.is_pickup(bar + 1);
        (others_do || long && !prepared).then_some(Misfit::WithPickup(pickup))
    }
}
