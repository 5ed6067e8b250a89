//! Kettledrums: which drum takes which stroke, and the time there is to tune.
//!
//! Sizes and notes are from Papastefan, "Timpani sizes and ranges"; times for tuning are from memory.

#[cfg(test)]
mod tests;

use super::Verdict;
use crate::instruments::{Drum, Instrument, Level};
use crate::pitch::Pitch;
use std::cmp::Ordering;

/// Strokes that begin together; a roll ends later.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Stroke<'a> {
    /// When, in seconds from wherever they are counted.
    pub seconds: f64,
    /// When the sound ends, in the same seconds: for a single stroke, when it begins.
    pub until: f64,
    /// What sounds.
    pub notes: &'a [Pitch],
}

/// How drums are tuned.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Tuning {
    /// By pedal.
    #[default]
    Pedal,
    /// By screws, by hand.
    Screws,
}

/// What hinders a timpanist.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum DrumObstacle {
    /// A note that no drum there holds.
    NoDrum {
        /// At which stroke.
        stroke: usize,
        /// Which of its notes.
        note: usize,
    },
    /// A note that a drum holds only slack.
    Slack {
        /// At which stroke.
        stroke: usize,
        /// Which of its notes.
        note: usize,
    },
    /// Notes at once that need the same drum.
    OneDrum {
        /// At which stroke.
        stroke: usize,
    },
    /// No time to tune.
    Retuning {
        /// The stroke before which the time is shortest.
        stroke: usize,
        /// The seconds there are.
        seconds: f64,
    },
}

/// How a passage lies on drums.
#[derive(Clone, PartialEq, Debug)]
pub struct Drumming {
    /// How well.
    pub verdict: Verdict,
    /// For each stroke, the drums of its notes by their places; empty if it is impossible for want of a drum.
    pub drums: Vec<Vec<usize>>,
    /// The shortest time to tune a drum, in seconds; nothing if none is tuned anew.
    pub shortest: Option<f64>,
    /// What hinders.
    pub obstacle: Option<DrumObstacle>,
}

/// The drums that stand there as a rule: all the usual ones, or in a school the middle pair.
pub fn usual(instrument: &Instrument, level: Level) -> &[Drum] {
    let all = &instrument.drums;
    let usual = instrument.drums_usual.unwrap_or(all.len()).min(all.len());
    match (level, instrument.drums_school) {
        (Level::School, Some(few)) if few < usual => {
            let from = (usual - few) / 2;
            &all[from..from + few]
        }
        _ => &all[..usual],
    }
}

/// The drums of those sizes, in the order of the row; a size that the row does not know is left out.
pub fn of_sizes(instrument: &Instrument, inches: &[u32]) -> Vec<Drum> {
    let drums = instrument.drums.iter().filter(|drum| inches.contains(&drum.inches));
    drums.copied().collect()
}

/// As many drums as the search looks at.
const MOST: usize = 8;

/// As many ways to have come to a stroke as are followed on: few drums and notes have fewer.
const WAYS: usize = 256;

/// A drum: its note, and when it was last heard. Nothing while it has not been.
type Heard = Option<(i32, f64)>;

/// Who has struck what so far.
#[derive(Clone)]
struct State {
    drums: [Heard; MOST],
    /// The shortest time to tune, and before which stroke.
    shortest: (f64, usize),
    /// How often a drum was tuned anew.
    tuned: u32,
    before: usize,
    chosen: [u8; MOST],
}

/// How strokes lie on these drums: every stroke goes to a drum that holds it, so that the shortest time for tuning is as
/// long as can be. The time is from when the drum was last heard. Nothing where the row does not say how long tuning takes.
pub fn drums(
    instrument: &Instrument,
    drums: &[Drum],
    strokes: &[Stroke],
    tuning: Tuning,
) -> Option<Drumming> {
    let seconds = instrument.retune_seconds?;
    let enough = match tuning {
        Tuning::Pedal => seconds.pedal_near,
        Tuning::Screws => seconds.hand_screw,
    };
    let drums = &drums[..drums.len().min(MOST)];
    let mut slack = None;
    let mut columns: Vec<Vec<State>> = Vec::with_capacity(strokes.len());
    for (stroke, now) in strokes.iter().enumerate() {
        for (note, pitch) in now.notes.iter().enumerate() {
            let holds = |drum: &Drum| holds(drum, *pitch);
            match drums.iter().filter_map(holds).min() {
                None => return Some(Drumming::without(DrumObstacle::NoDrum { stroke, note })),
                Some(Verdict::Easy) => {}
                Some(_) => slack = slack.or(Some(DrumObstacle::Slack { stroke, note })),
            }
        }
        let start = [State::new()];
        let before = columns.last().map_or(start.as_slice(), Vec::as_slice);
        let mut found = Vec::new();
        for (from, state) in before.iter().enumerate() {
            let fresh = State { before: from, chosen: [0; MOST], ..state.clone() };
            strike(drums, now, (stroke, 0), &fresh, 0, &mut found);
        }
        if found.is_empty() {
            return Some(Drumming::without(DrumObstacle::OneDrum { stroke }));
        }
        columns.push(thinned(found, enough, now.seconds - enough));
    }
    let last = columns.last()?;
    let mut at = (0..last.len()).min_by(|a, b| last[*a].compare(&last[*b], enough))?;
    let (shortest, stroke) = last[at].shortest;
    let mut chosen = Vec::with_capacity(strokes.len());
    for (column, now) in columns.iter().zip(strokes).rev() {
        let state = &column[at];
        chosen
            .push(state.chosen[..now.notes.len()].iter().map(|drum| usize::from(*drum)).collect());
        at = state.before;
    }
    chosen.reverse();
    let retuning = Some(DrumObstacle::Retuning { stroke, seconds: shortest });
    let (verdict, obstacle) = match shortest + 1e-9 {
        time if time < enough / 2.0 => (Verdict::Impossible, retuning),
        time if time < enough => (Verdict::Hard, retuning),
        _ if slack.is_some() => (Verdict::Hard, slack),
        _ => (Verdict::Easy, None),
    };
    let shortest = shortest.is_finite().then_some(shortest);
    Some(Drumming { verdict, drums: chosen, shortest, obstacle })
}

/// Whether a drum holds a note, and how well: easy, or hard where it is slack.
fn holds(drum: &Drum, pitch: Pitch) -> Option<Verdict> {
    let note = pitch.midi();
    let lowest = drum.low_possible.unwrap_or(drum.min);
    match note {
        _ if note > drum.max.midi() || note < lowest.midi() => None,
        _ if note < drum.min.midi() => Some(Verdict::Hard),
        _ => Some(Verdict::Easy),
    }
}

impl Drumming {
    fn without(obstacle: DrumObstacle) -> Drumming {
        let obstacle = Some(obstacle);
        Drumming { verdict: Verdict::Impossible, drums: Vec::new(), shortest: None, obstacle }
    }
}

impl State {
    fn new() -> State {
        let drums = [None; MOST];
        State { drums, shortest: (f64::INFINITY, 0), tuned: 0, before: 0, chosen: [0; MOST] }
    }

    /// The better first: more time to tune (more than enough is as good as any), then tuning less often.
    fn compare(&self, other: &State, enough: f64) -> Ordering {
        let time = |state: &State| state.shortest.0.min(enough);
        time(other).total_cmp(&time(self)).then(self.tuned.cmp(&other.tuned))
    }

    /// Whether nothing that follows can be better from the other than from this one. What was last heard long enough
    /// `ago` was heard long enough ago.
    fn is_no_worse(&self, other: &State, enough: f64, ago: f64) -> bool {
        let ready = |(mine, theirs): (&Heard, &Heard)| match (mine, theirs) {
            (None, _) => true,
            (Some((note, heard)), Some((same, later))) => {
                note == same && (heard <= later || *heard <= ago)
            }
            (Some(_), None) => false,
        };
        self.shortest.0.min(enough) >= other.shortest.0.min(enough)
            && self.tuned <= other.tuned
            && self.drums.iter().zip(&other.drums).all(ready)
    }
}

/// Puts a stroke's notes from one place on onto drums that have not been struck with it.
fn strike(
    drums: &[Drum],
    now: &Stroke,
    (stroke, note): (usize, usize),
    state: &State,
    used: u32,
    found: &mut Vec<State>,
) {
    let Some(pitch) = now.notes.get(note) else { return found.push(state.clone()) };
    for (place, drum) in drums.iter().enumerate() {
        if used & (1 << place) != 0 || holds(drum, *pitch).is_none() {
            continue;
        }
        let mut next = state.clone();
        if let Some((_, heard)) = state.drums[place].filter(|heard| heard.0 != pitch.midi()) {
            let time = (now.seconds - heard).max(0.0);
            next.tuned += 1;
            if time < next.shortest.0 {
                next.shortest = (time, stroke);
            }
        }
        next.drums[place] = Some((pitch.midi(), now.until));
        next.chosen[note] = place as u8;
        strike(drums, now, (stroke, note + 1), &next, used | 1 << place, found);
    }
}

/// Without the states that others are no worse than.
fn thinned(mut found: Vec<State>, enough: f64, ago: f64) -> Vec<State> {
    found.sort_by(|a, b| a.compare(b, enough));
    let mut kept: Vec<State> = Vec::new();
    for state in found {
        let worse = |other: &State| other.is_no_worse(&state, enough, ago);
        if kept.len() < WAYS && !kept.iter().any(worse) {
            kept.push(state);
        }
    }
    kept
}
