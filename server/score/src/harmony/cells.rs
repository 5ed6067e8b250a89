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
    // Of the lowest note of each cell: its line, and whether that line sounds another note with it.
    let mut lowest: Vec<Option<Lowest>> = vec![None; cells.len()];
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
            let below = cell.bass.is_none_or(|(_, midi)| sound.midi < midi);
            if below {
                cell.bass = Some((name, sound.midi));
            }
            match &mut lowest[at] {
                Some(own) if own.line == sound.line => {
                    own.alone &= own.onset != sound.onset || own.name == name;
                }
                own if below => {
                    let (line, onset) = (sound.line, sound.onset);
                    *own = Some(Lowest { name, line, onset, alone: true });
                }
                _ => {}
            }
            at += 1;
        }
    }
    let mut bar = 0;
    let mut bass = None;
    for (cell, lowest) in cells.iter_mut().zip(lowest) {
        let onset = Time::new(cell.onset, TICKS);
        while tune.bars.get(bar + 1).is_some_and(|next| next.start <= onset) {
            (bar, bass) = (bar + 1, None);
        }
        bass = ring(cell, lowest, bass);
        cell.all = cell.heard.iter().sum();
        if let Some(own) = tune.bars.get(bar) {
            cell.level = level(own, tune.metre_of(bar as u32), onset - own.start);
        }
    }
    cells
}

/// What a low note weighs that has ended and is still in the ear.
const RINGING: i32 = 45;
/// What is known of the lowest note of a cell.
#[derive(Clone, Copy)]
struct Lowest {
    name: usize,
    line: u32,
    onset: i64,
    /// Whether its line strikes nothing else with it, octaves aside.
    alone: bool,
}

/// A bass in the ear.
#[derive(Clone, Copy)]
struct Ringing {
    name: usize,
    midi: i32,
    from: Lowest,
}

/// So many semitones above it the next lowest note must lie, in another line …
const OVER_IT: i32 = 7;
/// … and a chord in its own line.
const OVER_IT_IN_LINE: i32 = 4;

/// In accompaniment a bass is struck on the beat and the chord after it: the bass goes on in the ear until another comes
/// or the bar ends (common practice, no source). A line that goes on to a single note has left its bass. Gives what is in the ear after
/// the cell.
fn ring(cell: &mut Cell, lowest: Option<Lowest>, bass: Option<Ringing>) -> Option<Ringing> {
    let (Some((name, midi)), Some(lowest)) = (cell.bass, lowest) else { return bass };
    let new = Some(Ringing { name, midi, from: lowest });
    let Some(old) = bass else { return new };
    let (over, goes_on) = if old.from.line == lowest.line {
        (OVER_IT_IN_LINE, old.from.alone && !lowest.alone)
    } else {
        (OVER_IT, true)
    };
    if !goes_on || midi <= old.midi + over {
        return new;
    }
    cell.heard[old.name] = cell.heard[old.name].max(RINGING);
    cell.bass = Some((old.name, old.midi));
    bass
}

/// A cell that a chord fills of which is known what was typed.
pub(super) fn typed_cell(tune: &Tune, onset: i64, end: i64, members: &[i32]) -> Cell {
    let mut heard = [0; NAMES];
    for name in members {
        heard[slot(*name)] = MOST;
    }
    let start = Time::new(onset, TICKS);
    let bar = tune.bars.partition_point(|bar| bar.start <= start).saturating_sub(1);
    let own = tune.bars.get(bar);
    Cell {
        onset,
        end,
        heard,
        all: heard.iter().sum(),
        bass: members.first().map(|name| (slot(*name), 0)),
        level: own
            .map_or(Level::Off, |own| level(own, tune.metre_of(bar as u32), start - own.start)),
    }
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
