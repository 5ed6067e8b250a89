//! Passages of the same music under other bar lines, or in other values.

use super::Values;
use super::costs::{REBARRED_KEEPS, RELINED, RELINED_SOUNDS};
use super::prints::{Sheet, Tone};
use std::ops::Range;

/// By what the times of either draft are multiplied, so that they are the same.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    old: i64,
    new: i64,
}

impl Scale {
    /// No other values.
    pub(super) const NONE: Scale = Scale { old: 1, new: 1 };

    pub(super) const fn of(values: Values) -> Scale {
        match values {
            Values::Doubled => Scale { old: 2, new: 1 },
            Values::Halved => Scale { old: 1, new: 2 },
        }
    }

    fn is_none(self) -> bool {
        self.old == self.new
    }
}

/// A passage that begins and ends with both drafts' bar lines and has no line of both in between.
pub(super) struct Relined {
    pub(super) old: Range<usize>,
    pub(super) new: Range<usize>,
    /// Thousandths of the sounds that are kept.
    pub(super) alike: u32,
    /// Whether nothing sounds in it: then it shows nothing, and only goes on with what it is among.
    pub(super) silent: bool,
}

/// Looks for such passages; it has only so much time.
pub(super) struct Reliner<'a> {
    old: &'a Sheet,
    new: &'a Sheet,
    scale: Scale,
    left: usize,
}

/// A sound in a passage: the part, when it begins and ends there, its pitch, and whether it goes on from before.
type Clipped = (u32, i64, i64, i32, bool);

impl Reliner<'_> {
    pub(super) fn new<'a>(old: &'a Sheet, new: &'a Sheet, scale: Scale) -> Reliner<'a> {
        Reliner { old, new, scale, left: RELINED_SOUNDS }
    }

    /// All of them between these bars; of those in the same values such as begin with two bars of different lengths.
    pub(super) fn between(&mut self, a: &Range<usize>, b: &Range<usize>) -> Vec<Relined> {
        let mut found = Vec::new();
        for i in a.clone() {
            for j in b.clone() {
                let differ = self.old.bars[i].length != self.new.bars[j].length;
                if (differ || !self.scale.is_none()) && self.left > 0 && self.begin_alike(i, j) {
                    found.extend(self.passage(i..a.end, j..b.end));
                }
            }
        }
        found
    }

    /// Whether the first moments of two bars may be one: what sounds first in the shorter bar does so in the longer.
    fn begin_alike(&mut self, i: usize, j: usize) -> bool {
        self.left = self.left.saturating_sub(1);
        let (bar, other) = (&self.old.bars[i], &self.new.bars[j]);
        let Scale { old, new } = self.scale;
        let (length, other_length) = (bar.length * old, other.length * new);
        let alike = bar.voices.iter().zip(&other.voices).filter(|(x, y)| {
            let first = |sounds: &[super::prints::Sound], by: i64| {
                sounds.first().map(|sound| (sound.onset * by, sound.pitch, sound.held))
            };
            let beyond = |at: Option<(i64, i32, bool)>, length| at.is_none_or(|at| at.0 >= length);
            let (x, y) = (first(&x.sounds, old), first(&y.sounds, new));
            x == y || (beyond(x, other_length) && beyond(y, length))
        });
        2 * alike.count() >= bar.voices.len()
    }

    fn passage(&mut self, a: Range<usize>, b: Range<usize>) -> Option<Relined> {
        let (mut i, mut j) = (a.start, b.start);
        let (mut before, mut after) = (0, 0);
        loop {
            if before <= after {
                before += self.scale.old * self.old.bars[..a.end].get(i)?.length;
                i += 1;
            } else {
                after += self.scale.new * self.new.bars[..b.end].get(j)?.length;
                j += 1;
            }
            if i - a.start > RELINED || j - b.start > RELINED {
                return None;
            }
            if before == after && i > a.start && j > b.start {
                break;
            }
        }
        let (old, new) = (a.start..i, b.start..j);
        let here = clipped(self.old, &old, self.scale.old);
        let there = clipped(self.new, &new, self.scale.new);
        self.left = self.left.saturating_sub(here.len() + there.len());
        let kept = in_both(&here, &there);
        let all = here.len().max(there.len()) as u64;
        let alike = (1000 * kept as u64).checked_div(all).unwrap_or(1000);
        // Rests are the same under all bar lines, and show nothing alone.
        let silent = all == 0;
        let keeps = alike >= REBARRED_KEEPS && !(silent && self.scale.is_none());
        keeps.then_some(Relined { old, new, alike: alike as u32, silent })
    }
}

/// The parts that do not sound the same in two passages.
pub(super) fn differing(
    (old, new): (&Sheet, &Sheet),
    (a, b): (&Range<usize>, &Range<usize>),
    scale: Scale,
) -> Vec<u32> {
    let (here, there) = (clipped(old, a, scale.old), clipped(new, b, scale.new));
    let parts = here.iter().chain(&there).map(|tone| tone.0);
    let mut parts: Vec<u32> = parts.collect();
    parts.sort_unstable();
    parts.dedup();
    let of =
        |all: &[Clipped], part| all.iter().filter(|t| t.0 == part).copied().collect::<Vec<_>>();
    parts.retain(|part| of(&here, *part) != of(&there, *part));
    parts
}

/// What sounds in a passage, from its beginning, in times so many times as long.
fn clipped(sheet: &Sheet, bars: &Range<usize>, by: i64) -> Vec<Clipped> {
    let start = sheet.bars[bars.start].start;
    let end = sheet.bars[bars.end - 1].start + sheet.bars[bars.end - 1].length;
    let clip = |tone: &Tone, held: bool| {
        let (from, to) = (tone.onset.max(start) - start, tone.end.min(end) - start);
        (tone.part, from * by, to * by, tone.pitch, held)
    };
    let last = sheet.firsts.get(bars.end).copied().unwrap_or(sheet.tones.len());
    let begun = sheet.tones[sheet.firsts[bars.start]..last].iter().map(|tone| clip(tone, false));
    let held = sheet.held[bars.start].iter().map(|tone| clip(tone, true));
    let mut all: Vec<Clipped> = begun.chain(held).collect();
    all.sort_unstable();
    all
}

/// How many rows two sorted lists share.
fn in_both(mut a: &[Clipped], mut b: &[Clipped]) -> usize {
    let mut count = 0;
    while let (Some(x), Some(y)) = (a.first(), b.first()) {
        match x.cmp(y) {
            std::cmp::Ordering::Less => a = &a[1..],
            std::cmp::Ordering::Greater => b = &b[1..],
            std::cmp::Ordering::Equal => {
                count += 1;
                (a, b) = (&a[1..], &b[1..]);
            }
        }
    }
    count
}
