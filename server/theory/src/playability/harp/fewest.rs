//! The spelling of a passage that moves the fewest pedals, by dynamic programming over the seven pedals.
//!
//! A state is where each pedal stands; one that nothing has asked for yet stands anywhere. At each moment every note
//! takes one of the names that its string may have, and the pedals it needs are moved.

use super::{Moment, Pedalling, Strings, as_written, names};
use crate::instruments::Instrument;
use crate::pitch::{Letter, Pitch};

/// A passage under the names that move the fewest pedals, and of these with the fewest names changed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Respelled {
    /// What the feet then do.
    pub pedalling: Pedalling,
    /// The notes of each moment, in their order.
    pub notes: Vec<Vec<Pitch>>,
}

/// Two bits a pedal, C first: 0 nothing asked, else 2 + the alteration.
type Setting = u16;

/// Moves, then names changed.
type Cost = (u32, u32);

/// One way to name the notes of a moment.
struct Names {
    needs: Setting,
    changed: u32,
    notes: Vec<Pitch>,
}

/// A state after some moment, and how it came about.
struct State {
    setting: Setting,
    cost: Cost,
    before: usize,
    names: usize,
}

fn place(letter: Letter, alter: i8) -> Setting {
    ((alter + 2) as Setting) << (2 * letter as u16)
}

/// The bits of the pedals that are asked for.
fn asked(setting: Setting) -> Setting {
    let any = (setting | setting >> 1) & 0x1555;
    any | any << 1
}

/// How many pedals stand otherwise in two settings, among some.
fn differing(a: Setting, b: Setting, among: Setting) -> u32 {
    let bits = (a ^ b) & among;
    ((bits | bits >> 1) & 0x1555).count_ones()
}

/// The spelling of a passage that moves the fewest pedals; nothing where no spelling can be set, or there are no pedals.
pub fn fewest(instrument: &Instrument, moments: &[Moment]) -> Option<Respelled> {
    let strings = Strings::new(instrument)?;
    let mut fixed = Vec::new();
    let mut names: Vec<Vec<Names>> = Vec::with_capacity(moments.len());
    let mut states: Vec<Vec<State>> = Vec::with_capacity(moments.len());
    for moment in moments {
        let ways = every_naming(&strings, moment.notes, &mut fixed);
        let none = [State { setting: 0, cost: (0, 0), before: 0, names: 0 }];
        let before = states.last().map_or(none.as_slice(), Vec::as_slice);
        states.push(next(before, &ways));
        names.push(ways);
        if states.last().is_none_or(Vec::is_empty) {
            return None;
        }
    }
    let last = states.last()?;
    let mut at = (0..last.len()).min_by_key(|state| last[*state].cost)?;
    let mut notes = Vec::with_capacity(moments.len());
    for (ways, column) in names.iter().zip(&states).rev() {
        let State { before, names, .. } = column[at];
        notes.push(ways[names].notes.clone());
        at = before;
    }
    notes.reverse();
    let renamed = moments.iter().zip(&notes);
    let renamed: Vec<Moment> =
        renamed.map(|(old, notes)| Moment { seconds: old.seconds, notes }).collect();
    Some(Respelled { pedalling: as_written(instrument, &renamed)?, notes })
}

/// The states after a moment, each by its cheapest way.
fn next(before: &[State], ways: &[Names]) -> Vec<State> {
    let mut found: Vec<State> = Vec::with_capacity(before.len() * ways.len());
    for (from, state) in before.iter().enumerate() {
        for (names, way) in ways.iter().enumerate() {
            let mask = asked(way.needs);
            let moves = differing(state.setting, way.needs, mask & asked(state.setting));
            let setting = state.setting & !mask | way.needs;
            let cost = (state.cost.0 + moves, state.cost.1 + way.changed);
            found.push(State { setting, cost, before: from, names });
        }
    }
    found.sort_by_key(|state| (state.setting, state.cost));
    found.dedup_by_key(|state| state.setting);
    // From the cheapest state each other one is so many moves away: what costs more than that is never better.
    if let Some(best) = found.iter().min_by_key(|state| state.cost) {
        let (setting, (moves, changed)) = (best.setting, best.cost);
        found.retain(|state| {
            let away = differing(setting, state.setting, asked(setting));
            state.cost.0 < moves + away || (state.cost.0 == moves + away && state.cost.1 <= changed)
        });
    }
    found
}

/// Every way to name notes at once that some setting of the pedals gives, one for each setting. `fixed` has the strings
/// without pedals, as the passage first names them.
fn every_naming(strings: &Strings, notes: &[Pitch], fixed: &mut Vec<Pitch>) -> Vec<Names> {
    for note in notes.iter().filter(|note| strings.has(**note) && strings.is_fixed(**note)) {
        if !fixed.iter().any(|other| other.steps() == note.steps()) {
            fixed.push(*note);
        }
    }
    let options: Vec<Vec<Pitch>> =
        notes.iter().map(|note| names_of(strings, *note, fixed)).collect();
    let mut found = Vec::new();
    let mut chosen = Vec::with_capacity(notes.len());
    name(strings, notes, &options, 0, &mut chosen, &mut found);
    found.sort_by_key(|names: &Names| (names.needs, names.changed));
    found.dedup_by_key(|names| names.needs);
    found
}

/// The names that a note may have on a harp, the written one first. On a string without a pedal only the written one,
/// and only as the string is tuned.
fn names_of(strings: &Strings, note: Pitch, fixed: &[Pitch]) -> Vec<Pitch> {
    let there = |name: &Pitch| match strings.is_fixed(*name) {
        true => *name == note && fixed.contains(name),
        false => strings.has(*name),
    };
    let mut names: Vec<Pitch> = names(note).filter(there).collect();
    names.sort_by_key(|name| *name != note);
    names
}

fn name(
    strings: &Strings,
    notes: &[Pitch],
    options: &[Vec<Pitch>],
    needs: Setting,
    chosen: &mut Vec<Pitch>,
    found: &mut Vec<Names>,
) {
    let at = chosen.len();
    if at == notes.len() {
        let changed = chosen.iter().zip(notes).filter(|(name, note)| name != note).count() as u32;
        return found.push(Names { needs, changed, notes: chosen.clone() });
    }
    for option in &options[at] {
        let step = place(option.name.letter, option.name.alter);
        let mut more = needs;
        if !strings.is_fixed(*option) {
            if differing(needs, step, asked(step) & asked(needs)) > 0 {
                continue;
            }
            more |= step;
        }
        // Two notes need two strings, unless they are written as one.
        let taken = |(other, written): (&Pitch, &Pitch)| other == option && *written != notes[at];
        if chosen.iter().zip(notes).any(taken) {
            continue;
        }
        chosen.push(*option);
        name(strings, notes, options, more, chosen, found);
        chosen.pop();
    }
}
