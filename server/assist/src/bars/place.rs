//! The bars that an editor asks about.

use super::Wanted;
use crate::host::Snapshot;
use recte_notation::{Block, BlockKind, Lowered};
use recte_score::{Bar, Event, Tune, Voice};
use recte_theory::{Metre, Time};
use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::Arc;

/// How many bytes may be read again for one question: a dozen times a hundred pages.
const READINGS: usize = 8 << 20;

/// What is in force where no signature is.
static FREE: Metre = Metre::FREE;

/// A bar or a run of bars of one tune.
pub(crate) struct Place<'a> {
    start: usize,
    block: &'a Arc<Block>,
    /// The first bar, counted from 0.
    pub(crate) from: u32,
    /// The last.
    pub(crate) to: u32,
    /// In bytes of the tune.
    range: Range<usize>,
    asked: bool,
    wanted: Wanted<'a>,
    left: usize,
}

impl<'a> Place<'a> {
    /// The bars at a place; none where no music stands.
    pub(crate) fn find(
        snapshot: &'a Snapshot,
        range: &Range<usize>,
        asked: bool,
        wanted: Wanted<'a>,
    ) -> Option<Place<'a>> {
        let blocks = snapshot.document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
        let mut touched = blocks.filter(|(start, block)| {
            range.start <= start + block.text.len() && (*start < range.end || *start == range.start)
        });
        let (start, block) = touched.next()?;
        let range = range.start.saturating_sub(start)..range.end.saturating_sub(start);
        let tune = &block.lowered().tune;
        let (from, to) = bars_at(tune, &block.text, &range)?;
        let place = Place { start, block, from, to, range, asked, wanted, left: READINGS };
        // Where there is no signature there are no bars to speak of.
        (!place.metre().is_free()).then_some(place)
    }

    /// These bars of a tune that begins at this byte.
    pub(crate) fn of_bars(
        (start, block): (usize, &'a Arc<Block>),
        (from, to): (u32, u32),
        wanted: Wanted<'a>,
    ) -> Option<Place<'a>> {
        let own =
            block.lowered().tune.voices.iter().find_map(|voice| voice.bars.get(from as usize))?;
        let range = own.span.start as usize..own.span.end as usize;
        Some(Place { start, block, from, to, range, asked: true, wanted, left: READINGS })
    }

    pub(crate) fn start(&self) -> usize {
        self.start
    }

    pub(crate) fn block(&self) -> &'a Block {
        self.block
    }

    pub(crate) fn text(&self) -> &'a str {
        &self.block.text
    }

    pub(crate) fn read(&self) -> &'a Lowered {
        self.block.lowered()
    }

    pub(crate) fn selected(&self) -> bool {
        !self.range.is_empty()
    }

    /// Whether more is wanted than what belongs to the bar at the cursor.
    pub(crate) fn is_asked(&self) -> bool {
        self.asked || self.selected()
    }

    /// When the note at the cursor, or the first of the selection, begins, from the beginning of the tune.
    pub(crate) fn moment(&self) -> Option<Time> {
        Some(self.read().tune.bars.get(self.from as usize)?.start + self.cursor_in(self.from)?)
    }

    /// Whether a rewriting with this title is wanted.
    pub(crate) fn wants(&self, title: &str) -> bool {
        !matches!(self.wanted, Wanted::One(one) if one != title)
    }

    /// Whether proofs are left for later.
    pub(crate) fn is_unproved(&self) -> bool {
        self.wanted == Wanted::Titles
    }

    /// Whether the tune may be read once more.
    pub(crate) fn has_time(&mut self) -> bool {
        if self.is_unproved() {
            return true;
        }
        let left = self.left.checked_sub(self.block.text.len());
        self.left = left.unwrap_or(0);
        left.is_some()
    }

    pub(crate) fn length(&self, bar: u32) -> Time {
        self.read().tune.bars.get(bar as usize).map_or(Time::ZERO, |bar| bar.length)
    }

    /// The signature in force in a bar.
    pub(crate) fn metre_of(&self, bar: u32) -> Option<&'a Metre> {
        self.read().tune.metre_of(bar)
    }

    pub(crate) fn metre(&self) -> &'a Metre {
        self.metre_of(self.from).unwrap_or(&FREE)
    }

    /// The bars selected; else, where rewritings alone are wanted, all those around under one signature.
    pub(crate) fn passage(&self) -> Option<(u32, u32)> {
        if self.selected() {
            return Some((self.from, self.to));
        }
        let metre = self.metre();
        let same = |bar: &u32| self.metre_of(*bar) == Some(metre);
        let from = (0..self.from).rev().take_while(same).last().unwrap_or(self.from);
        let to = (self.to + 1..).take_while(same).last().unwrap_or(self.to);
        self.asked.then_some((from, to))
    }

    /// "bar 5", "bars 5–8".
    pub(crate) fn bars(&self, from: u32, to: u32) -> String {
        self.bars_and(from, to, "", "").0
    }

    /// "bar 5: a tuplet lies over a new bar line.": a sentence about a bar, if it is about one.
    pub(crate) fn in_bar(&self, bar: Option<u32>, sentence: &str) -> String {
        let Some(bar) = bar else { return sentence.to_owned() };
        let mut chars = sentence.chars();
        let first = chars.next().map(|first| first.to_ascii_lowercase());
        let rest = chars.as_str();
        format!("{}: {}{rest}", self.bars(bar, bar), first.map(String::from).unwrap_or_default())
    }

    /// As [`Place::bars`], with a verb.
    pub(crate) fn bars_and(
        &self,
        from: u32,
        to: u32,
        one: &'static str,
        many: &'static str,
    ) -> (String, &'static str) {
        // A pickup is written with the bars it leads to, but nobody would call it the first of them.
        let number = |bar: u32| self.read().tune.bar_number(bar).max(1);
        match (number(from), number(to)) {
            (first, last) if first == last => (format!("bar {first}"), one),
            (first, last) => (format!("bars {first}–{last}"), many),
        }
    }

    /// Where a bar could be cut, the best first: at the cursor, where no note is cut, where groups meet, near the
    /// middle.
    pub(crate) fn cuts(&self, bar: u32, metre: &Metre) -> Vec<Time> {
        let whole = self.length(bar);
        let (quarter, eighth) = (Time::new(1, 4), Time::new(1, 8));
        let by_quarters = whole.count_of(quarter).is_some() && metre.unit() != Some(eighth);
        let unit = if by_quarters { quarter } else { eighth };
        let count = whole.count_of(unit).filter(|count| (2..=64).contains(count));
        let places = (1..count.unwrap_or(1)).map(|place| unit * Time::new(place, 1));
        let mut places: BTreeSet<Time> = places.collect();
        let cursor = self.cursor_in(bar).filter(|at| *at > Time::ZERO && *at < whole);
        places.extend(cursor.filter(|at| at.count_of(Time::new(1, 16)).is_some()));
        let lines: BTreeSet<Time> =
            metre.groupings().iter().flat_map(|groups| lines(groups)).collect();
        let each = || self.read().tune.voices.iter();
        let events = |voice: &'a Voice| -> &'a [Event] {
            voice.bars.get(bar as usize).map_or(&[], |bar| voice.events_of(bar))
        };
        let cut = |at: Time| {
            each().flat_map(events).filter(|event| event.offset < at && at < event.end()).count()
        };
        let middle = whole / Time::new(2, 1);
        let far = |at: Time| if at > middle { at - middle } else { middle - at };
        let mut places: Vec<Time> = places.into_iter().collect();
        places.sort_by_key(|&at| (Some(at) != cursor, cut(at), !lines.contains(&at), far(at), at));
        places
    }

    /// When the note at the cursor begins.
    fn cursor_in(&self, bar: u32) -> Option<Time> {
        let at = self.range.start;
        let own = |voice: &'a Voice| Some(voice.events_of(voice.bars.get(bar as usize)?));
        let events = self.read().tune.voices.iter().filter_map(own).flatten();
        let here = events.filter(|event| !event.grace && event.full.touches(at));
        here.max_by_key(|event| event.full.start).map(|event| event.offset)
    }
}

fn lines(groups: &[Time]) -> Vec<Time> {
    let mut at = Time::ZERO;
    let mut lines = Vec::new();
    for group in groups {
        at += *group;
        lines.push(at);
    }
    lines
}

/// The first and last of the bars that a range touches; at a cursor one.
fn bars_at(tune: &Tune, text: &str, range: &Range<usize>) -> Option<(u32, u32)> {
    let end = |bar: &Bar| bar.line.map_or(bar.span.end, |line| line.end.max(bar.span.end)) as usize;
    let all = || {
        tune.voices
            .iter()
            .flat_map(|voice| voice.bars.iter().zip(0u32..))
            .filter(|(bar, _)| !bar.is_empty())
    };
    if range.is_empty() {
        let at = range.start;
        let here = all().filter(|(bar, _)| bar.span.start as usize <= at && at <= end(bar));
        // Of two that meet there the one that begins; of the bars of one rest the first.
        let best = here.max_by_key(|(bar, number)| (bar.span.start, u32::MAX - number));
        // In a field before a bar: the bar it leads to, if nothing but the field lies between.
        let after = || all().filter(|(bar, _)| bar.span.start as usize >= at);
        let next = || after().min_by_key(|(bar, number)| (bar.span.start, *number));
        let leads =
            |(bar, _): &(&Bar, u32)| !text[at..bar.span.start as usize].contains(['\n', '\r']);
        let best = best.or_else(|| next().filter(leads));
        return best.map(|(_, number)| (number, number));
    }
    let touched = all().filter(|(bar, _)| {
        (bar.span.start as usize) < range.end && range.start < bar.span.end as usize
    });
    let numbers: BTreeSet<u32> = touched.map(|(_, number)| number).collect();
    Some((*numbers.first()?, *numbers.last()?))
}
