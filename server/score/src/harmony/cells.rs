//! The tune in cells: what is heard from one change to the next, on a grid of eighth notes.

use crate::spelling::{Sound, TICKS};
use crate::tune::{Tune, TuneBar};
use recte_theory::{Metre, Time};

/// Ticks of the grid.
pub(super) const GRID: i64 = TICKS / 8;
/// Names on the line of fifths that are told apart: from −24 to 39.
pub(super) const NAMES: usize = 64;
/// What a sound weighs that is heard through a whole cell …
const WHOLE: i64 = 100;
/// … and what a name weighs at most, however many have it.
const MOST: i32 = 90;

/// The place of a name in tables that begin at −24.
pub(super) fn slot(fifths: i32) -> usize {
    (fifths + 24).clamp(0, NAMES as i32 - 1) as usize
}

/// The name at a place in such a table.
pub(super) fn fifths(slot: usize) -> i32 {
    slot as i32 - 24
}

/// How much a player leans on the beginning of a cell.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Level {
    /// Between the quarters.
    Off,
    /// On a quarter, or a beat of that length.
    Quarter,
    /// On a longer beat.
    Beat,
    /// On the middle of the bar.
    Middle,
    /// On the bar line.
    Bar,
}

/// A stretch in which nothing begins or ends.
pub(super) struct Cell {
    /// When it begins, in ticks.
    pub(super) onset: i64,
    /// When it ends.
    pub(super) end: i64,
    /// How much each name is heard, at most 90.
    pub(super) heard: [i32; NAMES],
    /// The sum of it.
    pub(super) all: i32,
    /// The name and the sound of the lowest note; none in silence.
    pub(super) bass: Option<(usize, i32)>,
    /// Where it begins.
    pub(super) level: Level,
}

impl Cell {
    /// Its length in eighth notes, at least 1.
    pub(super) fn eighths(&self) -> i64 {
        ((self.end - self.onset) / GRID).max(1)
    }
}

/// The cells of a tune; sounds are sorted by their beginning. Silence has cells of its own.
pub(super) fn cells(tune: &Tune, sounds: &[Sound]) -> Vec<Cell> {
    let held = || sounds.iter().filter(|sound| !sound.grace && sound.end > sound.onset);
    let mut edges: Vec<i64> = held()
        .flat_map(|sound| {
            let (first, last) = (sound.onset.div_euclid(GRID), (sound.end - 1).div_euclid(GRID));
            // The first and the last cell may be heard in part only.
            [first, first + 1, last, last + 1]
        })
        .collect();
    edges.sort_unstable();
    edges.dedup();
    let mut cells: Vec<Cell> = edges
        .windows(2)
        .map(|pair| Cell {
            onset: pair[0] * GRID,
            end: pair[1] * GRID,
            heard: [0; NAMES],
            all: 0,
            bass: None,
            level: Level::Off,
        })
        .collect();
    let mut first = 0;
    for sound in held() {
        while cells[first].end <= sound.onset {
            first += 1;
        }
        let mut at = first;
        while at < cells.len() && cells[at].onset < sound.end {
            let cell = &mut cells[at];
            let shared = sound.end.min(cell.end) - sound.onset.max(cell.onset);
            let name = slot(sound.typed);
            let weight = shared * WHOLE / (cell.end - cell.onset);
            cell.heard[name] = (cell.heard[name] + weight as i32).min(MOST);
            if cell.bass.is_none_or(|(_, midi)| sound.midi < midi) {
                cell.bass = Some((name, sound.midi));
            }
            at += 1;
        }
    }
    let mut bar = 0;
    let mut bass = None;
    for cell in &mut cells {
        let onset = Time::new(cell.onset, TICKS);
        while tune.bars.get(bar + 1).is_some_and(|next| next.start <= onset) {
            (bar, bass) = (bar + 1, None);
        }
        bass = ring(cell, bass);
        cell.all = cell.heard.iter().sum();
        if let Some(own) = tune.bars.get(bar) {
            cell.level = level(own, tune.metre_of(bar as u32), onset - own.start);
        }
    }
    cells
}

/// What a low note weighs that has ended and is still in the ear.
const RINGING: i32 = 45;
/// So many semitones above it the next lowest note must lie: a chord over a bass that was struck before it.
const OVER_IT: i32 = 7;

/// In accompaniment a bass is struck on the beat and the chord after it: the bass goes on in the ear until another comes
/// or the bar ends (common practice, no source). Gives what is in the ear after the cell.
fn ring(cell: &mut Cell, bass: Option<(usize, i32)>) -> Option<(usize, i32)> {
    let Some((_, midi)) = cell.bass else { return bass };
    if let Some((name, low)) = bass
        && midi > low + OVER_IT
    {
        cell.heard[name] = cell.heard[name].max(RINGING);
        cell.bass = bass;
    }
    cell.bass
}

fn level(bar: &TuneBar, metre: Option<&Metre>, offset: Time) -> Level {
    let quarter = Time::new(1, 4);
    if offset.is_zero() {
        return Level::Bar;
    }
    let mut at = Time::ZERO;
    let groups = metre.map(Metre::groupings).unwrap_or_default();
    for group in groups.first().into_iter().flatten() {
        if at == offset {
            return match *group {
                _ if offset + offset == bar.length => Level::Middle,
                long if long > quarter => Level::Beat,
                _ => Level::Quarter,
            };
        }
        at += *group;
    }
    if offset.modulo(quarter).is_zero() { Level::Quarter } else { Level::Off }
}
