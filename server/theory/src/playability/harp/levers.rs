//! The lever harp: every string has a lever of its own, which raises it by a semitone.
//!
//! The left hand moves levers, one at a time; how many a second is from memory and stands in the row.

use super::{Clash, Moment, names};
use crate::instruments::{Instrument, Level, Levers};
use crate::pitch::{Letter, Pitch, PitchName};
use crate::playability::{Figures, Verdict};

/// What the left hand does to the levers in a passage.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Levering {
    /// How well it lies; [`Verdict::Respell`] where other names are on the strings.
    pub verdict: Verdict,
    /// The moves: the note that is wanted, the last moment that needs the string as it was, the first that needs it new.
    pub moves: Vec<(Pitch, [usize; 2])>,
    /// The notes of each moment under names that are on the strings.
    pub notes: Vec<Vec<Pitch>>,
    /// Whether the left hand plays all the while it should move one.
    pub busy: bool,
    /// Why it is impossible, if no number of moves would do.
    pub clash: Option<Clash>,
}

/// The sign of a letter with its levers down: that of the major key the harp is tuned in.
fn tuned(levers: &Levers, letter: Letter) -> i8 {
    let from = levers.tuned_in.fifths() - 1;
    let names = (from..from + 7).map(PitchName::from_fifths);
    names.into_iter().find(|name| name.letter == letter).map_or(0, |name| name.alter)
}

/// What a passage asks of the levers; nothing for instruments without. `left_plays` are the seconds at which the left hand
/// plays, in order: it has to be free for as long as a move takes.
pub fn levers(
    instrument: &Instrument,
    moments: &[Moment],
    left_plays: &[f64],
    figures: &Figures,
) -> Option<Levering> {
    let levers = instrument.levers.as_ref()?;
    let range = instrument.range(Level::Professional)?;
    let strings = range.sounding_min.steps()..=range.sounding_max.steps();
    let there = |note: &Pitch| {
        let raised = note.name.alter - tuned(levers, note.name.letter);
        strings.contains(&note.steps()) && (0..=1).contains(&raised)
    };
    let mut found = Levering {
        verdict: Verdict::Easy,
        moves: Vec::new(),
        notes: Vec::new(),
        busy: false,
        clash: None,
    };
    // Each string as last needed: its note, and when.
    let mut last: Vec<(Pitch, usize)> = Vec::new();
    for (moment, Moment { notes, .. }) in moments.iter().enumerate() {
        let mut named: Vec<Pitch> = Vec::with_capacity(notes.len());
        for (note, pitch) in notes.iter().enumerate() {
            let written = std::iter::once(*pitch);
            let Some(name) = written.chain(names(*pitch)).find(there) else {
                found.verdict = Verdict::Impossible;
                found.clash = Some(Clash::NoString { moment, note });
                return Some(found);
            };
            let on = |other: &Pitch| other.steps() == name.steps();
            if let Some(other) = named.iter().position(|other| on(other) && *other != name) {
                found.verdict = Verdict::Impossible;
                found.clash = Some(Clash::OneLetter { moment, notes: [other, note] });
                return Some(found);
            }
            if name != *pitch {
                found.verdict = Verdict::Respell;
            }
            named.push(name);
            match last.iter_mut().find(|(other, _)| on(other)) {
                Some((other, after)) => {
                    if *other != name {
                        found.moves.push((name, [*after, moment]));
                    }
                    (*other, *after) = (name, moment);
                }
                None => last.push((name, moment)),
            }
        }
        found.notes.push(named);
    }
    let (hand, busy) = hand(levers, moments, &found.moves, left_plays, figures);
    (found.verdict, found.busy) = (found.verdict.max(hand), busy);
    Some(found)
}

fn hand(
    levers: &Levers,
    moments: &[Moment],
    moves: &[(Pitch, [usize; 2])],
    left_plays: &[f64],
    figures: &Figures,
) -> (Verdict, bool) {
    let windows: Vec<[f64; 2]> =
        moves.iter().map(|(_, when)| when.map(|moment| moments[moment].seconds)).collect();
    let mut worst = Verdict::Easy;
    for [from, _] in &windows {
        let inside = windows.iter().filter(|[start, _]| start >= from);
        for (count, [_, to]) in (1..).map(f64::from).zip(inside) {
            let rate = count / (to - from).max(1.0);
            worst = worst.max(figures.pace.verdict(rate / levers.moves_per_second));
        }
    }
    let busy = |[from, to]: &[f64; 2]| {
        let inside = left_plays.iter().filter(|at| (from..=to).contains(at));
        if inside.clone().next().is_none() {
            return false;
        }
        let ends: Vec<f64> = std::iter::once(*from).chain(inside.copied()).chain([*to]).collect();
        ends.windows(2).all(|gap| gap[1] - gap[0] < 1.0 / levers.moves_per_second)
    };
    match windows.iter().any(busy) {
        true => (worst.max(Verdict::Awkward), true),
        false => (worst, false),
    }
}
