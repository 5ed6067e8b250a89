//! The keys that chords are heard in: the cheapest path of all, found exactly (Viterbi).

use super::cells::{Cell, GRID, NAMES, fifths};
use super::chords::{Heard, Leads, Listened};
use super::costs::*;
use recte_theory::chord::Family;
use recte_theory::key::Mode;

/// A stretch of one chord: cells from `first` up to `end`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub(super) first: usize,
    pub(super) end: usize,
    pub(super) chord: Heard,
}

/// A key as it is heard: the tonic on the line of fifths, and major or minor.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Local {
    pub(super) tonic: i32,
    pub(super) minor: bool,
}

/// What a key calls its own, in fifths from the tonic: major, and minor with its raised sixth and seventh.
const MAJOR: [i32; 7] = [-1, 0, 1, 2, 3, 4, 5];
const MINOR: [i32; 9] = [-4, -3, -2, -1, 0, 1, 2, 3, 5];

impl Local {
    /// Whether a name is one of its own.
    pub(super) fn has(self, name: i32) -> bool {
        let own: &[i32] = if self.minor { &MINOR } else { &MAJOR };
        own.contains(&(name - self.tonic))
    }

    /// The key that a signature stands for.
    pub(super) fn of_signature(signature: i32, minor: bool) -> Local {
        let tonic = signature + if minor { 3 } else { 0 };
        Local { tonic, minor }
    }

    /// The mode.
    pub(super) fn mode(self) -> Mode {
        if self.minor { Mode::Minor } else { Mode::Major }
    }

    /// Its signature.
    fn signature(self) -> i32 {
        self.tonic + self.mode().fifths()
    }

    /// What it says against a chord, for a chord of a quarter note.
    fn cost(self, chord: Heard) -> i64 {
        let kind = chord.kind();
        let mut cost = 0;
        for member in &kind.members {
            let name = chord.root + member;
            cost += match name - self.tonic {
                4 if self.minor => MAJOR_THIRD_IN_MINOR,
                3 if self.minor => RAISED_SIXTH,
                _ if !self.has(name) => OUT_OF_KEY,
                _ => 0,
            };
        }
        let degree = chord.root - self.tonic;
        cost += if self.minor { degree_in_minor(degree) } else { degree_in_major(degree) };
        if degree == 0 {
            let (third, plain) = (kind.members[1], kind.members.len() == 3);
            cost += match (self.minor, third) {
                (false, 4) | (true, -3) if plain => 0,
                (false, 4) | (true, -3) if has_own_seventh(kind) => TONIC_SEVENTH,
                (true, 4) if plain && kind.leads == Leads::AFifthDown => PICARDY,
                _ => TONIC_ALTERED,
            };
        }
        cost
    }

    /// What it says against a chord that handbooks have a name for though it has notes of another key: one borrowed from
    /// the minor key on the same tonic, the Neapolitan, an augmented sixth, the dominant of a degree it goes to.
    fn chromatic(self, chord: Heard, next: Option<Heard>) -> Option<i64> {
        let kind = chord.kind();
        let degree = chord.root - self.tonic;
        if kind.quality.family == Family::AugmentedSixth {
            return (degree == -4).then_some(SIXTH_ON_ITS_DEGREE);
        }
        match (self.minor, degree, &kind.members[1..]) {
            (false, -1, [-3, 1])
            | (false, 2, [-3, -6] | [-3, -6, -2])
            | (false, 5, [-3, -6, -9])
            | (false, -4..=-2, [4, 1]) => Some(BORROWED),
            (_, -5, [4, 1]) => Some(NEAPOLITAN),
            _ => {
                let next = next?;
                let goal = match kind.leads {
                    Leads::AFifthDown => chord.root - 1,
                    Leads::AHalfStepUp => chord.root - 5,
                    Leads::Nowhere => return None,
                };
                let goes =
                    resolves(chord, next) || (goal == self.tonic + 1 && next.root == self.tonic);
                (goes && goal != self.tonic && self.has(goal)).then_some(APPLIED_AT_MOST)
            }
        }
    }
}

/// What is known of the place of a stretch beside its chord.
#[derive(Clone, Copy, Default, Debug)]
pub(super) struct Around {
    /// The typed signature, if a key is claimed.
    pub(super) signature: Option<i32>,
    /// The typed key.
    pub(super) typed: Option<Local>,
}

/// Typed keys are believed where the first or the last chord under them is their tonic; any other is taken away. Many
/// who type, and what is imported, only say how many signs there are.
pub(super) fn believe(stretches: &[Stretch], around: &mut [Around]) {
    let mut from = 0;
    while from < around.len() {
        let typed = around[from].typed;
        let to = from + around[from..].iter().take_while(|one| one.typed == typed).count();
        let tonic = |at: usize| {
            let chord = stretches[at].chord;
            typed.is_some_and(|key| {
                chord.root == key.tonic && (chord.kind().members[1] == 4) != key.minor
            })
        };
        if !tonic(from) && !tonic(to - 1) {
            for one in &mut around[from..to] {
                one.typed = None;
            }
        }
        from = to;
    }
}

/// The cheapest path: a key for each stretch.
pub(super) fn path(cells: &[Cell], stretches: &[Stretch], around: &[Around]) -> Vec<Local> {
    let mut keys = candidates(stretches);
    for typed in around.iter().filter_map(|one| one.typed) {
        if !keys.contains(&typed) {
            keys.push(typed);
        }
    }
    let last = stretches.last().map(|stretch| stretch.chord.root);
    let mut costs: Vec<i64> = vec![0; keys.len()];
    let mut from: Vec<Vec<u8>> = Vec::with_capacity(stretches.len());
    for (at, stretch) in stretches.iter().enumerate() {
        let before = at.checked_sub(1).map(|at| &stretches[at]);
        let long = before.is_some_and(|before| length(cells, before) >= LONG);
        let (mut next, came) = match before {
            None => (costs.clone(), vec![0; keys.len()]),
            Some(_) => step(&keys, &costs, long),
        };
        let least = next.iter().copied().min().unwrap_or(0);
        let root = length(cells, stretch).isqrt();
        let after = stretches.get(at + 1);
        let resolved = after.filter(|next| resolves(stretch.chord, next.chord));
        let foreign = names_heard(cells, stretch);
        for (key, cost) in keys.iter().zip(&mut next) {
            let mut own = key.cost(stretch.chord);
            let applied = resolved
                .is_some_and(|goal| goal.chord.root != key.tonic && key.has(goal.chord.root));
            if applied {
                own = own * APPLIED / 100;
            }
            let chromatic = key
                .chromatic(stretch.chord, after.map(|after| after.chord))
                .filter(|cost| *cost < own);
            own = chromatic.unwrap_or(own);
            if around[at].typed.is_some_and(|typed| typed != *key) {
                own += OFF_TYPED;
                *cost += if at == 0 { BEGINS_ELSEWHERE } else { 0 };
                *cost += if after.is_none() { ENDS_ELSEWHERE } else { 0 };
            }
            if let Some(typed) = around[at].signature {
                own += OFF_SIGNATURE * i64::from((key.signature() - typed).abs().min(OFF_AT_MOST));
            }
            if last == Some(key.tonic) {
                own -= HOME;
            }
            *cost += own * root / UNIT;
            let outside = foreign.iter().filter(|(name, _)| {
                !(key.has(*name) || chromatic.is_some() && stretch.chord.has(*name))
            });
            *cost += outside.map(|(_, weight)| weight).sum::<i64>() * NAME_OUT_OF_KEY / 100;
            if let Some(before) = before {
                let leans = i64::from(cells[stretch.first].level >= super::cells::Level::Beat);
                let weight = length(cells, stretch).min(LONG).isqrt() * (4 + leans) / 4;
                *cost -= goes(*key, before.chord, stretch.chord) * weight / UNIT;
            }
            *cost -= least;
        }
        from.push(came);
        costs = next;
    }
    let Some(mut key) = (0..keys.len()).min_by_key(|&key| costs[key]) else { return Vec::new() };
    let mut path = vec![keys[key]; stretches.len()];
    for at in (0..stretches.len()).rev() {
        path[at] = keys[key];
        key = usize::from(from[at][key]);
    }
    path
}

/// The square root of a quarter note, in the unit of [`length`].
const UNIT: i64 = 1000;
/// From this length on, half a bar of 4/4, a chord is long.
const LONG: i64 = 2 * UNIT * UNIT;

/// How long a stretch lasts: a quarter note is a million.
fn length(cells: &[Cell], stretch: &Stretch) -> i64 {
    let ticks = cells[stretch.end - 1].end - cells[stretch.first].onset;
    (ticks / (GRID / 8)).min(1 << 20) * (UNIT * UNIT / 16)
}

/// Keys on every name that is a root or next to one.
fn candidates(stretches: &[Stretch]) -> Vec<Local> {
    let roots = stretches.iter().map(|stretch| stretch.chord.root);
    let (Some(low), Some(high)) = (roots.clone().min(), roots.max()) else { return Vec::new() };
    let tonics = low - 1..=high + 1;
    [false, true]
        .into_iter()
        .flat_map(|minor| tonics.clone().map(move |tonic| Local { tonic, minor }))
        .collect()
}

/// From each key to each other.
fn step(keys: &[Local], costs: &[i64], long: bool) -> (Vec<i64>, Vec<u8>) {
    let mut next = Vec::with_capacity(keys.len());
    let mut came = Vec::with_capacity(keys.len());
    for (to, key) in keys.iter().enumerate() {
        let mut best = (costs[to], to);
        for (at, (other, cost)) in keys.iter().zip(costs).enumerate() {
            if at == to || *cost >= best.0 {
                continue;
            }
            let fifths = i64::from((key.signature() - other.signature()).abs());
            let mode = if key.minor == other.minor { 0 } else { NEW_MODE };
            let jump = NEW_KEY + FIFTH_AWAY * fifths + mode;
            let jump = if long { jump * AFTER_LONG / 100 } else { jump };
            best = best.min((cost + jump, at));
        }
        next.push(best.0);
        // Tonics are names in use: there are far fewer than 256 keys.
        came.push(u8::try_from(best.1).unwrap_or(u8::MAX));
    }
    (next, came)
}

/// How much each name is heard, in the unit of [`costs`](super::costs) for an eighth note.
fn names_heard(cells: &[Cell], stretch: &Stretch) -> Vec<(i32, i64)> {
    let cells = &cells[stretch.first..stretch.end];
    let weight = |name: usize| -> i64 {
        cells.iter().map(|cell| i64::from(cell.heard[name]) * cell.eighths().min(64)).sum()
    };
    let heard = (0..NAMES).map(|name| (fifths(name), 10 * weight(name)));
    heard.filter(|(_, weight)| *weight > 0).collect()
}

/// Whether a chord goes where it leads.
pub(super) fn resolves(chord: Heard, next: Heard) -> bool {
    match chord.kind().leads {
        Leads::AFifthDown => next.root == chord.root - 1,
        Leads::AHalfStepUp => next.root == chord.root - 5,
        Leads::Nowhere => false,
    }
}

/// Whether a chord is a triad with the seventh that a tonic may have.
fn has_own_seventh(kind: &Listened) -> bool {
    matches!(kind.members[1..], [4, 1, 5] | [-3, 1, -2])
}

/// What speaks for a key when one chord goes to another.
fn goes(key: Local, chord: Heard, next: Heard) -> i64 {
    let (from, to) = (chord.root - key.tonic, next.root - key.tonic);
    let goal = next.kind();
    let plain = matches!(goal.members[1..], [4 | -3, 1]);
    if !plain && !has_own_seventh(goal) {
        return 0;
    }
    let major = goal.members[1] == 4;
    let home = to == 0 && (key.minor || major);
    match (from, to) {
        (1, 0) if home && resolves(chord, next) => {
            let seventh = chord.kind().members.len() > 3;
            if seventh { DOMINANT_TO_TONIC * 13 / 10 } else { DOMINANT_TO_TONIC }
        }
        (5, 0) if home && resolves(chord, next) => LEADING_TO_TONIC,
        (-1, 0) if home => SUBDOMINANT_TO_TONIC,
        (-1 | -4, 1) if major => TO_DOMINANT,
        _ if to != 0
            && resolves(chord, next)
            && goal.members.iter().all(|one| key.has(next.root + one)) =>
        {
            TO_A_DEGREE
        }
        _ => 0,
    }
}
