//! Which neighbours a copyist would beam together.

use super::row::{Row, rows};
use recte_score::Tune;
use recte_theory::metre::{Beats, Ticks, WHOLE};

/// How the piece beams eighths where a beam may hold several beats.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Style {
    /// Whether it does so more often than not.
    pub long: bool,
}

/// How often neighbouring eighths on both sides of a beat share a beam, of those that may.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Beamed {
    /// They do.
    pub joined: usize,
    /// They do not.
    pub parted: usize,
}

impl Beamed {
    /// In one row.
    pub fn of(row: &Row, beats: &Beats) -> Beamed {
        let mut all = Beamed::default();
        for pair in row.signs.windows(2) {
            let at = pair[1].start;
            let plain = pair.iter().all(|sign| sign.flagged && !sign.short);
            if plain && inside(beats.beams(), at) && !inside(beats.beam_groups(), at) {
                *(if pair[1].joined { &mut all.joined } else { &mut all.parted }) += 1;
            }
        }
        all
    }

    /// The sum of two.
    pub fn and(self, other: Beamed) -> Beamed {
        Beamed { joined: self.joined + other.joined, parted: self.parted + other.parted }
    }

    /// What is left without some of it.
    pub fn without(self, other: Beamed) -> Beamed {
        Beamed {
            joined: self.joined.saturating_sub(other.joined),
            parted: self.parted.saturating_sub(other.parted),
        }
    }

    /// The style that shows in it.
    pub fn style(self) -> Style {
        Style { long: self.joined > self.parted }
    }
}

impl Style {
    /// The style of a tune, one bar not counted.
    pub fn of_others(tune: &Tune, except: u32) -> Style {
        let mut all = Beamed::default();
        for bar in (0..tune.bars.len() as u32).filter(|bar| *bar != except) {
            for row in rows(tune, bar).unwrap_or_default() {
                let beats = tune.metres[row.metre as usize].beats();
                all = beats.first().map_or(all, |beats| all.and(Beamed::of(&row, beats)));
            }
        }
        all.style()
    }
}

/// Whether a moment lies inside one of these spans.
pub(super) fn inside(spans: &[(Ticks, Ticks)], at: Ticks) -> bool {
    let place = spans.partition_point(|(_, end)| *end <= at);
    spans.get(place).is_some_and(|(start, end)| *start < at && at < *end)
}

/// A note or rest as far as beams go.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bit {
    pub(super) start: Ticks,
    pub(super) end: Ticks,
    pub(super) flagged: bool,
    pub(super) short: bool,
    /// Whether it is beamed to the one before.
    pub(super) joined: bool,
    /// Whether it is new, and its beams are to be found.
    pub(super) new: bool,
    /// Whether a tuplet ends or begins before it: its beam may stand alone.
    pub(super) edge: bool,
}

pub(super) fn bits(row: &Row) -> Vec<Bit> {
    let mut bits: Vec<Bit> = row
        .signs
        .iter()
        .map(|sign| Bit {
            start: sign.start,
            end: sign.end,
            flagged: sign.flagged,
            short: sign.short,
            joined: sign.joined,
            new: false,
            edge: false,
        })
        .collect();
    for (bit, pair) in bits.iter_mut().skip(1).zip(row.signs.windows(2)) {
        bit.edge = pair[0].tuplet != pair[1].tuplet;
    }
    settle(&mut bits);
    bits
}

/// Only two flagged neighbours share a beam.
fn settle(bits: &mut [Bit]) {
    for at in 0..bits.len() {
        let pair = at > 0 && bits[at - 1].flagged && bits[at].flagged;
        bits[at].joined &= pair;
    }
}

/// For each sign whether a copyist would beam it to the one before: as it is, where it shows the beat.
///
/// `can_join` says whether the text lets two signs stand together (a line of text may end between them).
pub fn wanted_beams(
    row: &Row,
    beats: &Beats,
    style: Style,
    can_join: impl Fn(usize) -> bool,
) -> Vec<bool> {
    wanted(&bits(row), beats, style, &can_join)
}

/// The same by the beat, whatever is typed: what beats allow to stand together does.
pub fn by_beat(row: &Row, beats: &Beats) -> Vec<bool> {
    let bits = bits(row);
    let pair = |at: usize| at > 0 && bits[at - 1].flagged && bits[at].flagged;
    (0..bits.len()).map(|at| pair(at) && inside(beats.beam_groups(), bits[at].start)).collect()
}

/// How many beams contradict a reading: they break inside a group, or join over a line.
pub(super) fn contradictions(row: &Row, beats: &Beats) -> usize {
    let bits = bits(row);
    let wanted = wanted(&bits, beats, Style::default(), &|_| true);
    let differs = |(bit, wanted): &(&Bit, &bool)| bit.joined != **wanted;
    bits.iter().zip(&wanted).filter(differs).count()
}

pub(super) fn wanted(
    bits: &[Bit],
    beats: &Beats,
    style: Style,
    can_join: &dyn Fn(usize) -> bool,
) -> Vec<bool> {
    let mut joined: Vec<bool> = bits.iter().map(|bit| bit.joined).collect();
    let pair = |at: usize| at > 0 && bits[at - 1].flagged && bits[at].flagged;
    let mut cut: Vec<Ticks> = Vec::new();
    for at in 1..bits.len() {
        if joined[at] && is_forbidden(bits, beats, at) {
            cut.push(bits[at].start);
        }
    }
    let mut changed: Vec<Ticks> = Vec::new();
    for at in 1..bits.len() {
        let place = bits[at].start;
        if cut.contains(&place) {
            joined[at] = false;
        } else if pair(at) && !joined[at] && inside(beats.beam_groups(), place) {
            let Some(&(from, to)) = group(beats, place) else { continue };
            let meant = is_even(bits, at);
            let new = bits[at].new || bits[at - 1].new;
            let half = to - from >= WHOLE / 2 && is_part(beats, from, to, place);
            let broad = half || bits[at].edge;
            if (!broad || meant && cut.contains(&from) || new) && can_join(at) {
                joined[at] = true;
                if meant && !new {
                    changed.push(place);
                }
            }
        }
    }
    // Tied values go on under one beam where the piece has such beams.
    for at in 1..bits.len() {
        let tied = bits[at].new && bits[at - 1].new && pair(at) && !bits[at].joined;
        if style.long && tied && inside(beats.beams(), bits[at].start) && can_join(at) {
            let short = bits[at].short || bits[at - 1].short;
            joined[at] |= !short;
        }
    }
    if style.long && cut.is_empty() {
        return joined;
    }
    // Where beams made groups of their own (two threes for three twos), the beats show in their place; else only
    // what breaks a beat is mended.
    for at in 1..bits.len() {
        let place = bits[at].start;
        let span = |at: Ticks| beats.beams().iter().position(|(from, to)| *from <= at && at < *to);
        let again = changed.iter().any(|other| span(*other) == span(place));
        if joined[at] && again && !inside(beats.beam_groups(), place) {
            joined[at] = false;
        }
    }
    joined
}

/// Whether the beams on both sides of a break are equally long, and so make a grouping of their own.
fn is_even(bits: &[Bit], at: usize) -> bool {
    let mut first = at - 1;
    while first > 0 && bits[first].joined {
        first -= 1;
    }
    let mut last = at;
    while bits.get(last + 1).is_some_and(|bit| bit.joined) {
        last += 1;
    }
    let alike = bits[at].start - bits[first].start == bits[last].end - bits[at].start;
    alike && first + 1 < at && at < last
}

fn group(beats: &Beats, at: Ticks) -> Option<&(Ticks, Ticks)> {
    beats.beam_groups().iter().find(|(from, to)| *from < at && at < *to)
}

/// Whether a broad group (a half note, a dotted half) falls into its quarters there.
fn is_part(beats: &Beats, from: Ticks, to: Ticks, at: Ticks) -> bool {
    let dotted =
        (to - from) % 3 == 0 && (to - from) / 3 * 4 % (WHOLE / 4) == 0 && beats.is_compound();
    let part = if dotted { (to - from) / 3 } else { (to - from) / 2 };
    (at - from) % part == 0
}

/// Whether a beam may not go on over the beginning of a note.
fn is_forbidden(bits: &[Bit], beats: &Beats, at: usize) -> bool {
    let place = bits[at].start;
    if !inside(beats.beams(), place) {
        return true;
    }
    if inside(beats.beam_groups(), place) {
        return false;
    }
    // Sixteenths and shorter keep to one beat: those on either side of the line.
    let from =
        beats.beam_groups().iter().rfind(|(_, end)| *end <= place).map_or(0, |group| group.0);
    let to = beats
        .beam_groups()
        .iter()
        .find(|(start, _)| *start >= place)
        .map_or(place, |group| group.1);
    let before =
        (0..at).rev().take_while(|&i| bits[i].start >= from && (i + 1 == at || bits[i + 1].joined));
    let after = (at..bits.len()).take_while(|&i| bits[i].start < to && (i == at || bits[i].joined));
    before.chain(after).any(|i| bits[i].short)
}
