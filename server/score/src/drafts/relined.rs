//! Passages of the same music under other bar lines.

use super::costs::{REBARRED_KEEPS, RELINED, RELINED_SOUNDS};
use super::prints::{Sheet, Tone};
use std::ops::Range;

/// A passage that begins and ends with both drafts' bar lines and has no line of both in between.
pub(super) struct Relined {
    pub(super) old: Range<usize>,
    pub(super) new: Range<usize>,
    /// Thousandths of the sounds that are kept.
    pub(super) alike: u32,
}

/// Looks for such passages; it has only so much time.
pub(super) struct Reliner<'a> {
    old: &'a Sheet,
    new: &'a Sheet,
    left: usize,
}

/// A sound in a passage: the part, when it begins and ends there, its pitch, and whether it goes on from before.
type Clipped = (u32, i64, i64, i32, bool);

impl Reliner<'_> {
    pub(super) fn new<'a>(old: &'a Sheet, new: &'a Sheet) -> Reliner<'a> {
        Reliner { old, new, left: RELINED_SOUNDS }
    }

    /// All of them between these bars: those that begin with two bars of different lengths.
    pub(super) fn between(&mut self, a: &Range<usize>, b: &Range<usize>) -> Vec<Relined> {
        let mut found = Vec::new();
        for i in a.clone() {
            for j in b.clone() {
                let differ = self.old.bars[i].length != self.new.bars[j].length;
                if differ && self.left > 0 && self.begin_alike(i, j) {
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
        let alike = bar.voices.iter().zip(&other.voices).filter(|(x, y)| {
            let first = |sounds: &[super::prints::Sound]| {
                sounds.first().map(|sound| (sound.onset, sound.pitch, sound.held))
            };
            let beyond = |at: Option<(i64, i32, bool)>, length| at.is_none_or(|at| at.0 >= length);
            let (x, y) = (first(&x.sounds), first(&y.sounds));
            x == y || (beyond(x, other.length) && beyond(y, bar.length))
        });
        2 * alike.count() >= bar.voices.len()
    }

    fn passage(&mut self, a: Range<usize>, b: Range<usize>) -> Option<Relined> {
        let (mut i, mut j) = (a.start, b.start);
        let (mut before, mut after) = (0, 0);
        loop {
            if before <= after {
                before += self.old.bars[..a.end].get(i)?.length;
                i += 1;
            } else {
                after += self.new.bars[..b.end].get(j)?.length;
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
        let here = clipped(self.old, &old);
        let there = clipped(self.new, &new);
        self.left = self.left.saturating_sub(here.len() + there.len());
        let kept = in_both(&here, &there);
        let all = here.len().max(there.len()) as u64;
        let alike = (1000 * kept as u64).checked_div(all).unwrap_or(1000);
        // Rests are the same under all bar lines, and show nothing alone.
        (all > 0 && alike >= REBARRED_KEEPS).then_some(Relined { old, new, alike: alike as u32 })
    }
}

/// The parts that do not sound the same in two passages.
pub(super) fn differing(old: &Sheet, new: &Sheet, a: &Range<usize>, b: &Range<usize>) -> Vec<u32> {
    let (here, there) = (clipped(old, a), clipped(new, b));
    let parts = here.iter().chain(&there).map(|tone| tone.0);
    let mut parts: Vec<u32> = parts.collect();
    parts.sort_unstable();
    parts.dedup();
    let of =
        |all: &[Clipped], part| all.iter().filter(|t| t.0 == part).copied().collect::<Vec<_>>();
    parts.retain(|part| of(&here, *part) != of(&there, *part));
    parts
}

/// What sounds in a passage, from its beginning.
fn clipped(sheet: &Sheet, bars: &Range<usize>) -> Vec<Clipped> {
    let start = sheet.bars[bars.start].start;
    let end = sheet.bars[bars.end - 1].start + sheet.bars[bars.end - 1].length;
    let clip = |tone: &Tone, held: bool| {
        let (from, to) = (tone.onset.max(start) - start, tone.end.min(end) - start);
        (tone.part, from, to, tone.pitch, held)
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
