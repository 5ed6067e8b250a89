//! The keys and harmonies a tune goes through: the cheapest path of all, found exactly (Viterbi).
//!
//! A state is a harmony in a key. Keys of one mode lie side by side by their signatures, so that one harmony in
//! all sixteen keys is one row of numbers, and each step of the search works on whole rows.

use super::cells::{Cell, slot};
use super::costs::*;
use super::table::{Harmony, MAJOR, MINOR, SCALES};
use std::sync::LazyLock;

const KEYS: usize = 16;
/// The signature of the first key of a row; the last has eight sharps.
const FIRST: i32 = -7;
/// From a minor tonic to its signature.
const MINOR_TONIC: i32 = 3;
/// More than any path costs above the cheapest.
const TOP: i16 = 30_000;
/// Cells whose states are kept at once; longer tunes are searched a second time, piece by piece from the end.
const PIECE: usize = 1024;
/// Goals and roots lie from −8 to 11 fifths from the tonic.
const ROOTS: usize = 20;
/// The places of the tonic and of its fifth among them.
const TONIC: usize = 8;
const DOMINANT: usize = 9;

type Row = [i16; KEYS];

/// A key and the harmony heard in it.
#[derive(Clone, Copy)]
pub(super) struct Place {
    /// The tonic, on the line of fifths.
    pub(super) tonic: i32,
    /// 0 major, 1 minor.
    pub(super) mode: usize,
    /// The harmony.
    pub(super) harmony: &'static Harmony,
}

impl Place {
    /// The signature of the key.
    pub(super) fn signature(&self) -> i32 {
        self.tonic - MINOR_TONIC * self.mode as i32
    }
}

/// A harmony, made ready for the search.
struct State {
    mode: usize,
    root: usize,
    goal: Option<usize>,
    begins: i16,
    lasts: i16,
    /// For each member, whether the key has it, and its slot in the first key.
    members: Vec<(bool, usize)>,
    harmony: &'static Harmony,
}

static STATES: LazyLock<Vec<State>> = LazyLock::new(|| {
    let both = MAJOR.iter().map(|harmony| (harmony, 0)).chain(MINOR.iter().map(|h| (h, 1)));
    both.map(|(harmony, mode)| {
        let member = |&name: &i8| {
            let own = SCALES[mode].iter().any(|s| (i32::from(*s) - i32::from(name)) % 12 == 0);
            (own, slot(first_tonic(mode) + i32::from(name)))
        };
        State {
            mode,
            root: place_of(harmony.members[0]),
            goal: harmony.goal.map(place_of),
            begins: STRANGE * harmony.strange,
            lasts: STRANGE_ON * harmony.strange,
            members: harmony.members.iter().map(member).collect(),
            harmony,
        }
    })
    .collect()
});

fn place_of(root: i8) -> usize {
    (TONIC as i32 + i32::from(root)) as usize
}

fn first_tonic(mode: usize) -> i32 {
    FIRST + MINOR_TONIC * mode as i32
}

/// The cheapest path, a place for each cell.
pub(super) fn path(cells: &[Cell]) -> Vec<Place> {
    let count = STATES.len();
    let pieces = cells.len().div_ceil(PIECE);
    let mut entries: Vec<Vec<Row>> = Vec::with_capacity(pieces);
    let mut table = vec![[0; KEYS]; count * PIECE.min(cells.len())];
    let mut before = Vec::new();
    for piece in 0..pieces {
        entries.push(std::mem::take(&mut before));
        before = search(piece_of(cells, piece), &entries[piece], &mut table);
    }
    let mut places = Vec::with_capacity(cells.len());
    let Some(mut state) = cheapest(&before) else { return places };
    for piece in (0..pieces).rev() {
        let own = piece_of(cells, piece);
        if piece + 1 < pieces {
            search(own, &entries[piece], &mut table);
        }
        for cell in (0..own.len()).rev() {
            places.push(place(state));
            let previous = match cell {
                0 => &entries[piece],
                _ => &table[(cell - 1) * count..cell * count],
            };
            if !previous.is_empty() {
                state = came_from(previous, state);
            }
        }
    }
    places.reverse();
    places
}

fn piece_of(cells: &[Cell], piece: usize) -> &[Cell] {
    &cells[piece * PIECE..cells.len().min((piece + 1) * PIECE)]
}

fn place((state, key): (usize, usize)) -> Place {
    let State { mode, harmony, .. } = STATES[state];
    Place { tonic: first_tonic(mode) + key as i32, mode, harmony }
}

fn cheapest(rows: &[Row]) -> Option<(usize, usize)> {
    let all =
        rows.iter().enumerate().flat_map(|(s, row)| (0..KEYS).map(move |key| (row[key], s, key)));
    all.min().map(|(_, state, key)| (state, key))
}

/// Fills the table with what the cheapest path to each state costs, from those before the first cell (none: the
/// beginning); returns the last rows.
fn search(cells: &[Cell], entry: &[Row], table: &mut [Row]) -> Vec<Row> {
    let count = STATES.len();
    let mut before = entry.to_vec();
    for (cell, now) in cells.iter().zip(table.chunks_exact_mut(count)) {
        let heard = Heard::of(cell);
        let ways = (!before.is_empty()).then(|| Ways::from(&before));
        let mut lowest = [TOP; KEYS];
        for (number, state) in STATES.iter().enumerate() {
            let mut row = match &ways {
                None => first_row(state),
                Some(ways) => ways.to(state, &before[number]),
            };
            let heard = heard.cost(state, cell.eighths);
            for key in 0..KEYS {
                row[key] = row[key].saturating_add(heard[key]).min(TOP);
                lowest[key] = lowest[key].min(row[key]);
            }
            now[number] = row;
        }
        let lowest = lowest.into_iter().min().unwrap_or(0);
        now.iter_mut().flatten().for_each(|cost| *cost -= lowest);
        before.clear();
        before.extend_from_slice(now);
    }
    before
}

fn first_row(state: &State) -> Row {
    std::array::from_fn(|key| {
        state.begins + FIRST_SIGNATURE * (FIRST + key as i32).unsigned_abs() as i16
    })
}

/// What a cell says for and against each harmony.
struct Heard {
    /// Were nothing of the harmony: per mode and key.
    foreign: [Row; 2],
    /// What a member at each slot gives back; first as a note foreign to the key, then as one of it.
    member: [[i16; 64]; 2],
}

impl Heard {
    fn of(cell: &Cell) -> Heard {
        let mut member = [[0; 64]; 2];
        let mut weights = [0; 64];
        for at in 0..48 {
            let fifths = at as i32 - 20;
            let weight = cell.heard[fifths.rem_euclid(12) as usize];
            weights[at] = weight;
            let sign = match cell.signature {
                Some(own) if !has(own.into(), fifths) => SIGN_IN_HARMONY,
                None if !PLAIN_NAMES.contains(&fifths) => RARE_IN_HARMONY,
                _ => 0,
            };
            let mut cost = sign * weight;
            cost += if weight == 0 { SILENT_MEMBER } else { 0 };
            member[0][at] = cost - FOREIGN_TO_KEY * weight;
            member[1][at] = cost - FOREIGN_TO_HARMONY * weight;
        }
        let signatures: Row = std::array::from_fn(|key| off_signature(cell, FIRST + key as i32));
        let foreign = [0, 1].map(|mode| {
            let other = cell.minor.is_some_and(|minor| minor != (mode == 1));
            let mut row = signatures.map(|cost| cost + OFF_MODE * i16::from(other));
            for step in 0..12 {
                let own = SCALES[mode].iter().any(|s| i32::from(*s).rem_euclid(12) == step);
                let cost = if own { FOREIGN_TO_HARMONY } else { FOREIGN_TO_KEY };
                let first = slot(first_tonic(mode) + step);
                for key in 0..KEYS {
                    row[key] += cost * weights[first + key];
                }
            }
            row
        });
        Heard { foreign, member }
    }

    #[inline]
    fn cost(&self, state: &State, eighths: i16) -> Row {
        let mut row = self.foreign[state.mode];
        let lasts = state.lasts * eighths;
        row.iter_mut().for_each(|cost| *cost += lasts);
        for &(own, first) in &state.members {
            let gives = &self.member[usize::from(own)][first..];
            if let Some(gives) = gives.first_chunk::<KEYS>() {
                for key in 0..KEYS {
                    row[key] += gives[key];
                }
            }
        }
        row
    }
}

/// What a cell says against a key of this signature, whatever the harmony.
fn off_signature(cell: &Cell, signature: i32) -> i16 {
    let typed = cell.signature.map_or(0, |typed| (i32::from(typed) - signature).abs());
    let many = (signature.abs() - 6).max(0);
    let beyond = |fifths: i32| {
        let (low, high) = (signature + NEAR_NAMES.0, signature + NEAR_NAMES.1);
        (low - fifths).max(fifths - high).clamp(0, FAR_AT_MOST) as i16
    };
    let names = cell.typed.iter().flat_map(|names| names.iter().zip(-20..));
    let far =
        names.map(|(weight, fifths)| weight * beyond(fifths)).sum::<i16>() / FIFTHS_FROM_TYPED;
    OFF_SIGNATURE * typed.min(OFF_AT_MOST) as i16 + MANY_SIGNS * many as i16 + far
}

/// Whether a signature has a name.
pub(super) fn has(signature: i32, fifths: i32) -> bool {
    (signature - 1..=signature + 5).contains(&fifths)
}

/// The cheapest ways on from a cell, gathered before any state is entered.
struct Ways {
    /// From any harmony of the key.
    any: [Row; 2],
    /// To a root, from what resolves or falls a fifth to it.
    to_root: [[Row; ROOTS]; 2],
    /// From another key.
    other_key: [Row; 2],
}

impl Ways {
    fn from(before: &[Row]) -> Ways {
        let mut any = [[TOP; KEYS]; 2];
        let mut to_root = [[[TOP; KEYS]; ROOTS]; 2];
        for (state, row) in STATES.iter().zip(before) {
            let roots = &mut to_root[state.mode];
            lower(&mut any[state.mode], row, 0);
            if let Some(goal) = state.goal {
                lower(&mut roots[goal], row, -RESOLVES);
                if goal == DOMINANT {
                    lower(&mut roots[TONIC], row, -RESOLVES_LATE);
                }
            }
            if state.root > 0 && state.goal != Some(state.root - 1) {
                lower(&mut roots[state.root - 1], row, -ROOT_FALLS_A_FIFTH);
            }
        }
        let near = [spread(&any[0]), spread(&any[1])];
        let other_key = [0, 1].map(|mode| {
            let mut row = near[mode];
            lower(&mut row, &near[1 - mode], NEW_MODE);
            row
        });
        Ways { any, to_root, other_key }
    }

    #[inline]
    fn to(&self, state: &State, stay: &Row) -> Row {
        let mut row = self.any[state.mode];
        lower(&mut row, &self.to_root[state.mode][state.root], 0);
        let begins = NEW_HARMONY + state.begins;
        row.iter_mut().for_each(|cost| *cost = cost.saturating_add(begins));
        lower(&mut row, &self.other_key[state.mode], state.begins);
        lower(&mut row, stay, 0);
        row
    }
}

/// The cheaper of each pair.
#[inline(always)]
fn lower(row: &mut Row, other: &Row, and: i16) {
    for key in 0..KEYS {
        row[key] = row[key].min(other[key].saturating_add(and));
    }
}

/// The cheapest way to each key from any key of one mode.
fn spread(row: &Row) -> Row {
    let mut wide = [TOP; KEYS + 2 * FIFTHS_COUNTED];
    wide[FIFTHS_COUNTED..FIFTHS_COUNTED + KEYS].copy_from_slice(row);
    let far = row.iter().copied().min().unwrap_or(TOP);
    let mut spread = [far.saturating_add(FIFTHS_COUNTED as i16 * FIFTH_AWAY); KEYS];
    for shift in 0..=2 * FIFTHS_COUNTED {
        let cost = shift.abs_diff(FIFTHS_COUNTED) as i16 * FIFTH_AWAY;
        for key in 0..KEYS {
            spread[key] = spread[key].min(wide[key + shift].saturating_add(cost));
        }
    }
    spread.map(|cost| cost.saturating_add(NEW_KEY))
}

/// The state before this one on the cheapest path to it.
fn came_from(before: &[Row], (to, key): (usize, usize)) -> (usize, usize) {
    let state = &STATES[to];
    let mut best = (i32::from(before[to][key]), (to, key));
    let offer = |best: &mut (i32, (usize, usize)), cost: i32, from: (usize, usize)| {
        if cost < best.0 {
            *best = (cost, from);
        }
    };
    for (number, from) in STATES.iter().enumerate() {
        if from.mode == state.mode {
            let enters = NEW_HARMONY + state.begins - bonus(from, state);
            offer(&mut best, i32::from(before[number][key]) + i32::from(enters), (number, key));
        }
        let least = before[number].iter().copied().min().unwrap_or(TOP);
        if i32::from(least) + i32::from(NEW_KEY + state.begins) >= best.0 {
            continue;
        }
        for (other, &cost) in before[number].iter().enumerate() {
            if (from.mode, other) != (state.mode, key) {
                let fifths = other.abs_diff(key).min(FIFTHS_COUNTED) as i16;
                let mode = if from.mode == state.mode { 0 } else { NEW_MODE };
                let enters = NEW_KEY + FIFTH_AWAY * fifths + mode + state.begins;
                offer(&mut best, i32::from(cost) + i32::from(enters), (number, other));
            }
        }
    }
    best.1
}

fn bonus(from: &State, to: &State) -> i16 {
    match from.goal {
        Some(goal) if goal == to.root => RESOLVES,
        Some(DOMINANT) if to.root == TONIC => RESOLVES_LATE,
        _ if from.root == to.root + 1 => ROOT_FALLS_A_FIFTH,
        _ => 0,
    }
}
