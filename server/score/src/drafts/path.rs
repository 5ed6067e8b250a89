//! The cheapest path from one draft to the other: bar by bar, with runs of deleted, inserted and transposed bars
//! and of passages under other bar lines or in other values, each of which costs something to begin.

mod alike;

use super::Values;
use super::costs::{
    BY_DEGREES, CELLS, CHANGED, CHANGED_WHOLLY, GAP, OPENS_BY_DEGREES, OPENS_GAP, OPENS_REBARRED,
    OPENS_SCALED, OPENS_TRANSPOSED, REBARRED, RENOTATED, SCALED, TRANSPOSED,
};
use super::prints::{Bar, Sheet};
use super::relined::{Relined, Reliner, Scale};
use std::collections::HashMap;
use std::ops::Range;

/// A step of the path: bars of the old draft, and what they are in the new one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Step {
    /// One bar for one bar: the same, or changed.
    Bar(u32, u32),
    /// One bar for one bar, so many semitones higher.
    Transposed(u32, u32, i32),
    /// One bar for one bar, so many letter steps higher within the key.
    ByDegrees(u32, u32, i32),
    /// The same music in other values, between moments where old and new bar lines meet.
    Scaled(Range<u32>, Range<u32>, Values),
    /// The same music under other bar lines, between moments where old and new lines meet.
    Rebarred(Range<u32>, Range<u32>),
    /// A bar that only the old draft has.
    Deleted(u32),
    /// A bar that only the new draft has.
    Inserted(u32),
}

/// The cheapest path through two drafts.
pub(super) fn cheapest(old: &Sheet, new: &Sheet) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut reliners = RELINED_KINDS.map(|(_, scale, ..)| Reliner::new(old, new, scale));
    let (all_old, all_new) = (0..old.bars.len(), 0..new.bars.len());
    for (before, after, agree) in passages(old, new, all_old, all_new) {
        if agree {
            steps.extend(before.zip(after).map(|(a, b)| Step::Bar(a as u32, b as u32)));
        } else {
            steps.extend(Search::new(old, new, before, after).run(&mut reliners));
        }
    }
    steps
}

/// A passage of both drafts, and whether its bars agree one by one.
type Passage = (Range<usize>, Range<usize>, bool);

/// What agrees at both ends, and between that what is to be searched; where that is too much, it is cut
/// where the longest run of bars agrees.
fn passages(old: &Sheet, new: &Sheet, a: Range<usize>, b: Range<usize>) -> Vec<Passage> {
    let same = |(x, y): &(&Bar, &Bar)| (x.sound, x.page) == (y.sound, y.page);
    let (bars, others) = (&old.bars[a.clone()], &new.bars[b.clone()]);
    let head = bars.iter().zip(others).take_while(same).count();
    let (rest, other_rest) = (&bars[head..], &others[head..]);
    let tail = rest.iter().rev().zip(other_rest.iter().rev()).take_while(same).count();
    let (inner, other) = (a.start + head..a.end - tail, b.start + head..b.end - tail);
    let mut all = vec![(a.start..inner.start, b.start..other.start, true)];
    let large = (inner.len() + 1).saturating_mul(other.len() + 1) > CELLS;
    match longest_run(old, new, &inner, &other).filter(|_| large) {
        Some((x, y, length)) => {
            all.extend(passages(old, new, inner.start..x, other.start..y));
            all.push((x..x + length, y..y + length, true));
            all.extend(passages(old, new, x + length..inner.end, y + length..other.end));
        }
        None if large => all.extend(apart(&inner, &other)),
        None => all.push((inner.clone(), other.clone(), false)),
    }
    all.push((inner.end..a.end, other.end..b.end, true));
    all.retain(|(before, after, _)| !before.is_empty() || !after.is_empty());
    all
}

/// Two long passages without a bar in common, in pieces of the same share of each.
fn apart(a: &Range<usize>, b: &Range<usize>) -> Vec<Passage> {
    let side = CELLS.isqrt() - 1;
    let pieces = a.len().max(b.len()).div_ceil(side);
    let cut = |range: &Range<usize>, piece: usize| range.start + range.len() * piece / pieces;
    let piece = |at: usize| (cut(a, at)..cut(a, at + 1), cut(b, at)..cut(b, at + 1), false);
    (0..pieces).map(piece).collect()
}

/// The first of the longest runs of bars that agree, among bars that each passage has only once.
fn longest_run(
    old: &Sheet,
    new: &Sheet,
    a: &Range<usize>,
    b: &Range<usize>,
) -> Option<(usize, usize, usize)> {
    let once = |sheet: &Sheet, range: &Range<usize>| {
        let mut places: HashMap<u64, Option<usize>> = HashMap::new();
        for place in range.clone() {
            let known = places.entry(sheet.bars[place].sound);
            known.and_modify(|place| *place = None).or_insert(Some(place));
        }
        places
    };
    let (here, there) = (once(old, a), once(new, b));
    let mut best: Option<(usize, usize, usize)> = None;
    let mut at = a.start;
    while at < a.end {
        let sound = old.bars[at].sound;
        let pair = here.get(&sound).copied().flatten().zip(there.get(&sound).copied().flatten());
        let Some((_, other)) = pair else {
            at += 1;
            continue;
        };
        let bars = old.bars[at..a.end].iter().zip(&new.bars[other..b.end]);
        let length = bars.take_while(|(x, y)| x.sound == y.sound).count();
        if best.is_none_or(|(_, _, longest)| length > longest) {
            best = Some((at, other, length));
        }
        at += length;
    }
    best
}

const NEITHER: usize = 0;
const HIGHER: usize = 1;
const DEGREES: usize = 2;
const RELINED: usize = 3;
const DOUBLED: usize = 4;
const HALVED: usize = 5;
const GONE: usize = 6;
const NEW: usize = 7;
const STATES: usize = 8;
/// Passages under other bar lines or in other values: the kind of step, how times compare, what a bar costs and the first
/// besides.
const RELINED_KINDS: [(usize, Scale, u32, u32); 3] = [
    (RELINED, Scale::NONE, REBARRED, OPENS_REBARRED),
    (DOUBLED, Scale::of(Values::Doubled), SCALED, OPENS_SCALED),
    (HALVED, Scale::of(Values::Halved), SCALED, OPENS_SCALED),
];
/// More than any path costs, and far from overflowing.
const NEVER: u32 = u32::MAX / 4;

/// What it costs to come to a pair of places, by the kind of the last step, and the kind of the step before it.
#[derive(Clone, Copy)]
struct Cell {
    cost: [u32; STATES],
    from: [u8; STATES],
    /// Semitones of the transposition that goes on here.
    shift: i32,
    /// Letter steps of the one within the key.
    steps: i32,
    /// The passages under other bar lines, or in other values, that end here.
    relined: [u32; RELINED_KINDS.len()],
}

struct Search<'a> {
    old: &'a Sheet,
    new: &'a Sheet,
    a: Range<usize>,
    b: Range<usize>,
    cells: Vec<Cell>,
}

impl<'a> Search<'a> {
    fn new(old: &'a Sheet, new: &'a Sheet, a: Range<usize>, b: Range<usize>) -> Search<'a> {
        let none =
            Cell { cost: [NEVER; STATES], from: [0; STATES], shift: 0, steps: 0, relined: [0; 3] };
        let cells = vec![none; (a.len() + 1) * (b.len() + 1)];
        Search { old, new, a, b, cells }
    }

    fn at(&self, i: usize, j: usize) -> usize {
        i * (self.b.len() + 1) + j
    }

    fn run(mut self, reliners: &mut [Reliner<'_>; 3]) -> Vec<Step> {
        if self.a.is_empty() || self.b.is_empty() {
            let gone = self.a.map(|bar| Step::Deleted(bar as u32));
            return gone.chain(self.b.map(|bar| Step::Inserted(bar as u32))).collect();
        }
        let relined = reliners.each_mut().map(|reliner| reliner.between(&self.a, &self.b));
        let mut ends: HashMap<(usize, usize), Vec<(usize, u32)>> = HashMap::new();
        for (which, all) in relined.iter().enumerate() {
            for (number, found) in (0..).zip(all) {
                let end = (found.old.end - self.a.start, found.new.end - self.b.start);
                ends.entry(end).or_default().push((which, number));
            }
        }
        self.cells[0].cost[NEITHER] = 0;
        for i in 0..=self.a.len() {
            for j in 0..=self.b.len() {
                if i > 0 && j > 0 {
                    self.pair(i, j);
                }
                self.gap(i, j);
                for (which, number) in ends.get(&(i, j)).into_iter().flatten() {
                    let found = &relined[*which][*number as usize];
                    self.relined((i, j), *which, *number, found);
                }
            }
        }
        self.back(&relined)
    }

    /// The cheapest way to a step: the cost there, and the kind of the step before. `opens` is what it costs to
    /// begin a run of its kind; a run that cannot go on is begun anew.
    fn enter(cell: &Cell, kind: usize, opens: u32, goes_on: bool) -> (u32, u8) {
        let free = |from: usize| from == kind && goes_on;
        let cost = |from: usize| cell.cost[from] + if free(from) { 0 } else { opens };
        let all = (0..STATES).map(|from| (cost(from), from as u8));
        all.min().unwrap_or((NEVER, 0))
    }

    fn take(&mut self, at: usize, kind: usize, (cost, from): (u32, u8), step: u32) -> bool {
        let cell = &mut self.cells[at];
        let better = cost + step < cell.cost[kind];
        if better {
            (cell.cost[kind], cell.from[kind]) = (cost + step, from);
        }
        better
    }

    fn pair(&mut self, i: usize, j: usize) {
        let before = self.cells[self.at(i - 1, j - 1)];
        let at = self.at(i, j);
        let (old, new) =
            (&self.old.bars[self.a.start + i - 1], &self.new.bars[self.b.start + j - 1]);
        let changed = match (old.sound == new.sound, old.page == new.page) {
            (true, true) => 0,
            (true, false) => RENOTATED,
            _ => CHANGED + CHANGED_WHOLLY * (1000 - alike::bars(old, new)) / 1000,
        };
        self.take(at, NEITHER, Self::enter(&before, NEITHER, 0, true), changed);
        if old.shape == new.shape {
            let by = old.base.zip(new.base).map(|(low, high)| high - low);
            let costs = (TRANSPOSED, OPENS_TRANSPOSED);
            if self.moved(at, HIGHER, &before, (by, before.shift), costs) {
                self.cells[at].shift = by.unwrap_or(before.shift);
            }
        }
        if old.degrees == new.degrees {
            let by = old.step.zip(new.step).map(|(low, high)| high - low);
            let costs = (BY_DEGREES, OPENS_BY_DEGREES);
            if self.moved(at, DEGREES, &before, (by, before.steps), costs) {
                self.cells[at].steps = by.unwrap_or(before.steps);
            }
        }
    }

    /// A bar that lies higher or lower; by nothing where it has no pitch.
    fn moved(
        &mut self,
        at: usize,
        kind: usize,
        before: &Cell,
        (by, was): (Option<i32>, i32),
        (cost, opens): (u32, u32),
    ) -> bool {
        match by {
            // A bar of rests within a run.
            None => self.take(at, kind, (before.cost[kind], kind as u8), cost),
            Some(0) => false,
            Some(by) => self.take(at, kind, Self::enter(before, kind, opens, was == by), cost),
        }
    }

    fn gap(&mut self, i: usize, j: usize) {
        let at = self.at(i, j);
        if i > 0 {
            let entered = Self::enter(&self.cells[self.at(i - 1, j)], GONE, OPENS_GAP, true);
            self.take(at, GONE, entered, GAP);
        }
        if j > 0 {
            let entered = Self::enter(&self.cells[self.at(i, j - 1)], NEW, OPENS_GAP, true);
            self.take(at, NEW, entered, GAP);
        }
    }

    fn relined(&mut self, (i, j): (usize, usize), which: usize, number: u32, found: &Relined) {
        let (kind, _, cost, opens) = RELINED_KINDS[which];
        let start = self.at(found.old.start - self.a.start, found.new.start - self.b.start);
        let before = &self.cells[start];
        let entered = match found.silent {
            true => (before.cost[kind], kind as u8),
            false => Self::enter(before, kind, opens, true),
        };
        let bars = (found.old.len() + found.new.len()) as u32;
        let lost = CHANGED_WHOLLY * (1000 - found.alike) / 1000 * bars;
        let at = self.at(i, j);
        if self.take(at, kind, entered, cost * bars + lost) {
            self.cells[at].relined[which] = number;
        }
    }

    fn back(&self, relined: &[Vec<Relined>; 3]) -> Vec<Step> {
        let (mut i, mut j) = (self.a.len(), self.b.len());
        let last = &self.cells[self.at(i, j)];
        let mut kind = (0..STATES).min_by_key(|kind| last.cost[*kind]).unwrap_or(NEITHER);
        let mut steps = Vec::with_capacity(i + j);
        while i > 0 || j > 0 {
            let cell = self.cells[self.at(i, j)];
            let before = usize::from(cell.from[kind]);
            let (bar, other) = (self.a.start + i, self.b.start + j);
            let (a, b) = ((bar as u32).wrapping_sub(1), (other as u32).wrapping_sub(1));
            match kind {
                GONE => {
                    steps.push(Step::Deleted(a));
                    i -= 1;
                }
                NEW => {
                    steps.push(Step::Inserted(b));
                    j -= 1;
                }
                RELINED | DOUBLED | HALVED => {
                    let which = kind - RELINED;
                    let Relined { old, new, .. } = &relined[which][cell.relined[which] as usize];
                    let short = |range: &Range<usize>| range.start as u32..range.end as u32;
                    steps.push(match kind {
                        DOUBLED => Step::Scaled(short(old), short(new), Values::Doubled),
                        HALVED => Step::Scaled(short(old), short(new), Values::Halved),
                        _ => Step::Rebarred(short(old), short(new)),
                    });
                    (i, j) = (old.start - self.a.start, new.start - self.b.start);
                }
                DEGREES => {
                    steps.push(Step::ByDegrees(a, b, cell.steps));
                    (i, j) = (i - 1, j - 1);
                }
                HIGHER => {
                    steps.push(Step::Transposed(a, b, cell.shift));
                    (i, j) = (i - 1, j - 1);
                }
                _ => {
                    steps.push(Step::Bar(a, b));
                    (i, j) = (i - 1, j - 1);
                }
            }
            kind = before;
        }
        steps.reverse();
        steps
    }
}
