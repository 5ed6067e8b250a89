//! The chords a tune goes through: the cheapest path of all, found exactly (Viterbi).

use super::cells::{Cell, NAMES, fifths, slot};
use super::costs::*;
use recte_theory::chord::{Quality, quality_named};
use std::sync::LazyLock;

/// A chord that is listened for.
pub(super) struct Listened {
    pub(super) quality: &'static Quality,
    /// Its members in fifths from the root: root, third, fifth, seventh.
    pub(super) members: Vec<i32>,
    /// Whether it leads as a dominant does, as a leading chord, or not.
    pub(super) leads: Leads,
    costs: i32,
}

/// Where a chord wants to go.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Leads {
    /// Nowhere.
    Nowhere,
    /// To the root a fifth below: a major triad or a dominant seventh.
    AFifthDown,
    /// To the root a half step above: diminished chords.
    AHalfStepUp,
}

/// The chords that are listened for, by their name in the table and their price.
static LISTENED: LazyLock<Vec<Listened>> = LazyLock::new(|| {
    use Leads::{AFifthDown, AHalfStepUp, Nowhere};
    let rows = [
        ("major triad", AFifthDown, 0),
        ("minor triad", Nowhere, 0),
        ("diminished triad", AHalfStepUp, DIMINISHED),
        ("augmented triad", AFifthDown, AUGMENTED),
        ("dominant seventh", AFifthDown, DOMINANT_SEVENTH),
        ("minor seventh", Nowhere, SEVENTH),
        ("major seventh", Nowhere, SEVENTH),
        ("half-diminished seventh", AHalfStepUp, SEVENTH + DIMINISHED),
        ("diminished seventh", AHalfStepUp, SEVENTH + DIMINISHED),
        ("Italian sixth", Nowhere, AUGMENTED_SIXTH),
        ("German sixth", Nowhere, AUGMENTED_SIXTH),
        ("French sixth", Nowhere, AUGMENTED_SIXTH),
        // From here on they are not searched for: `colours.rs` finds them among what the search gives.
        ("power chord (open fifth)", AFifthDown, 0),
        ("suspended fourth", Nowhere, 0),
        ("suspended second", Nowhere, 0),
        ("seventh suspended fourth", Nowhere, 0),
        ("major sixth (added)", Nowhere, 0),
        ("minor sixth (added)", Nowhere, 0),
        ("added ninth", Nowhere, 0),
        ("minor added ninth", Nowhere, 0),
        ("dominant ninth", AFifthDown, 0),
        ("dominant flat nine", AFifthDown, 0),
        ("major ninth", Nowhere, 0),
        ("minor ninth", Nowhere, 0),
    ];
    let listened = |(name, leads, costs): (&str, Leads, i32)| {
        let quality = quality_named(name)?;
        let members = quality.intervals.iter().map(|interval| interval.fifths()).collect();
        Some(Listened { quality, members, leads, costs })
    };
    rows.into_iter().filter_map(listened).collect()
});

/// So many of them are searched for.
const SEARCHED: usize = 12;

/// A chord as it is heard.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Heard {
    /// The root, on the line of fifths.
    pub(super) root: i32,
    /// Which of the chords that are listened for.
    pub(super) kind: usize,
}

impl Heard {
    /// The chord of that name in the table, if it is listened for.
    pub(super) fn named(root: i32, name: &str) -> Option<Heard> {
        let kind = LISTENED.iter().position(|one| one.quality.name == name)?;
        Some(Heard { root, kind })
    }

    /// The chord that is searched for with these members, in fifths from the root.
    pub(super) fn with_members(root: i32, members: &[i32]) -> Option<Heard> {
        let kind = LISTENED.iter().take(SEARCHED).position(|one| one.members == members)?;
        Some(Heard { root, kind })
    }

    pub(super) fn kind(self) -> &'static Listened {
        &LISTENED[self.kind]
    }

    /// Whether a name on the line of fifths is a member.
    pub(super) fn has(self, name: i32) -> bool {
        self.kind().members.contains(&(name - self.root))
    }

    /// What a cell says against it, for each eighth note.
    pub(super) fn cost(self, cell: &Cell) -> i32 {
        let kind = self.kind();
        let mut foreign = cell.all;
        let mut cost = kind.costs;
        for (place, member) in kind.members.iter().enumerate() {
            let heard = cell.heard[slot(self.root + member)];
            foreign -= heard;
            cost += match (heard, place) {
                (0, 2) => SILENT_FIFTH,
                (0, _) => SILENT,
                _ => 0,
            };
        }
        let bass = cell.bass.map(|(name, _)| fifths(name));
        if bass == Some(self.root) {
            cost -= ROOT_IN_BASS;
        }
        if bass.is_some_and(|bass| self.has(bass)) {
            cost -= MEMBER_IN_BASS;
        }
        cost + foreign * FOREIGN
    }
}

/// A cell longer than so many eighth notes counts as this long.
const LONGEST: i64 = 32;

/// What a chord costs over some cells.
pub(super) fn cost_over(cells: &[Cell], chord: Heard) -> i64 {
    cells.iter().filter(|cell| cell.all > 0).map(|cell| cost_in(cell, chord)).sum()
}

fn cost_in(cell: &Cell, chord: Heard) -> i64 {
    i64::from(chord.cost(cell)) * cell.eighths().min(LONGEST)
}

/// Every chord that may be heard in these cells: on any name that is heard, and on those next to them on the line
/// of fifths.
pub(super) fn candidates(cells: &[Cell]) -> Vec<Heard> {
    let names = (0..NAMES).filter(|&at| cells.iter().any(|cell| cell.heard[at] > 0));
    let (Some(low), Some(high)) = (names.clone().min(), names.max()) else { return Vec::new() };
    let roots = fifths(low) - 1..=fifths(high) + 1;
    roots.flat_map(|root| (0..SEARCHED).map(move |kind| Heard { root, kind })).collect()
}

/// The cheapest path: a chord for each cell, or none in silence.
pub(super) fn path(cells: &[Cell]) -> Vec<Option<Heard>> {
    let states = candidates(cells);
    let words = states.len().div_ceil(64);
    let mut costs = vec![0i64; states.len()];
    // Whether the cheapest way to a state came from another one, and from which, per cell.
    let mut moved = vec![0u64; words * cells.len()];
    let mut from = vec![0usize; cells.len()];
    for (at, cell) in cells.iter().enumerate() {
        let Some((best, least)) = costs.iter().copied().enumerate().min_by_key(|&(_, cost)| cost)
        else {
            break;
        };
        from[at] = best;
        let jump = if at == 0 { 0 } else { i64::from(new_chord(cell.level)) };
        for (number, cost) in costs.iter_mut().enumerate() {
            if *cost - least > jump {
                *cost = least + jump;
                moved[at * words + number / 64] |= 1 << (number % 64);
            }
            // Only differences count, so that no sum grows with the length of the tune.
            *cost -= least;
            if cell.all > 0 {
                *cost += cost_in(cell, states[number]);
            }
        }
    }
    let Some(mut state) = (0..states.len()).min_by_key(|&number| costs[number]) else {
        return vec![None; cells.len()];
    };
    let mut path = vec![None; cells.len()];
    for at in (0..cells.len()).rev() {
        path[at] = (cells[at].all > 0).then_some(states[state]);
        if moved[at * words + state / 64] >> (state % 64) & 1 == 1 {
            state = from[at];
        }
    }
    path
}
