//! The pedal harp: seven pedals, one a letter, each flat, natural or sharp in all octaves at once.
//!
//! Strings, pedals and moves a second are from harpists' pages for composers ("harpinsideout", "bligh",
//! "composingforharp" in `data/sources.md`) and stand in the row.

mod fewest;
pub mod levers;
#[cfg(test)]
mod tests;

pub use fewest::{Respelled, fewest};

use super::Verdict;
use crate::instruments::{Instrument, Level, Pedals};
use crate::pitch::{Letter, Pitch, PitchName};

/// What begins together, and when. Notes as sounding; a harp does not transpose.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Moment<'a> {
    /// Seconds from wherever they are counted.
    pub seconds: f64,
    /// The notes, spelled.
    pub notes: &'a [Pitch],
}

/// A pedal moved once.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Move {
    /// Which pedal.
    pub letter: Letter,
    /// Where it was: −1 flat, 0 natural, 1 sharp.
    pub from: i8,
    /// Where it goes.
    pub to: i8,
    /// The last moment that needs it where it was, by its place.
    pub after: usize,
    /// The first moment that needs it where it goes.
    pub before: usize,
}

/// What no pedalling gives.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Clash {
    /// Two inflections of one letter at once.
    OneLetter {
        /// At which moment.
        moment: usize,
        /// Which of its notes.
        notes: [usize; 2],
    },
    /// A string without a pedal (or lever) that would have to change.
    NoPedal {
        /// At which moment.
        moment: usize,
        /// Which of its notes.
        note: usize,
    },
    /// A note that no string has: outside the strings, or with a double sign.
    NoString {
        /// At which moment.
        moment: usize,
        /// Which of its notes.
        note: usize,
    },
}

/// What the feet do in a passage.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pedalling {
    /// How well it lies.
    pub verdict: Verdict,
    /// How the pedals are set before, C D E F G A B; nothing where the passage does not say.
    pub start: [Option<i8>; 7],
    /// The moves, in the order in which they are due.
    pub moves: Vec<Move>,
    /// Why it is impossible, if no number of moves would do.
    pub clash: Option<Clash>,
}

/// A passage as it is spelled, and as it could be.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Passage {
    /// How it lies: impossible as spelled but easy under other names is [`Verdict::Respell`].
    pub verdict: Verdict,
    /// As spelled.
    pub written: Pedalling,
    /// A spelling that lies better, with the fewest moves; nothing if none does.
    pub respelled: Option<Respelled>,
}

/// Strings of a harp, by staff steps.
struct Strings<'a> {
    lowest: i32,
    highest: i32,
    pedals: &'a Pedals,
}

impl<'a> Strings<'a> {
    fn new(instrument: &'a Instrument) -> Option<Strings<'a>> {
        let range = instrument.range(Level::Professional)?;
        let (lowest, highest) = (range.sounding_min.steps(), range.sounding_max.steps());
        Some(Strings { lowest, highest, pedals: instrument.pedals.as_ref()? })
    }

    /// Whether there is such a string, and a place of the pedal for the sign.
    fn has(&self, note: Pitch) -> bool {
        (self.lowest..=self.highest).contains(&note.steps()) && note.name.alter.abs() <= 1
    }

    /// Whether no pedal acts on the string.
    fn is_fixed(&self, note: Pitch) -> bool {
        self.pedals.no_pedal_strings.iter().any(|string| string.steps() == note.steps())
    }

    fn is_left(&self, letter: Letter) -> bool {
        self.pedals.left.iter().any(|name| name.letter == letter)
    }
}

/// What the written spelling asks of the feet; nothing for instruments without pedals.
pub fn as_written(instrument: &Instrument, moments: &[Moment]) -> Option<Pedalling> {
    let strings = Strings::new(instrument)?;
    let mut pedalling =
        Pedalling { verdict: Verdict::Easy, start: [None; 7], moves: Vec::new(), clash: None };
    // Each pedal's place, and the last moment that needed it.
    let mut pedals: [Option<(i8, usize)>; 7] = [None; 7];
    let mut fixed: Vec<Pitch> = Vec::new();
    for (moment, Moment { notes, .. }) in moments.iter().enumerate() {
        for (note, pitch) in notes.iter().enumerate() {
            let (letter, alter) = (pitch.name.letter, pitch.name.alter);
            if !strings.has(*pitch) {
                return Some(pedalling.clashing(Clash::NoString { moment, note }));
            }
            if strings.is_fixed(*pitch) {
                match fixed.iter().find(|other| other.steps() == pitch.steps()) {
                    Some(other) if other != pitch => {
                        return Some(pedalling.clashing(Clash::NoPedal { moment, note }));
                    }
                    Some(_) => {}
                    None => fixed.push(*pitch),
                }
                continue;
            }
            let other = |other: &&Pitch| {
                other.name.letter == letter
                    && other.name.alter != alter
                    && !strings.is_fixed(**other)
            };
            if let Some(other) = notes[..note].iter().position(|pitch| other(&pitch)) {
                return Some(pedalling.clashing(Clash::OneLetter { moment, notes: [other, note] }));
            }
            let place = letter as usize;
            match pedals[place] {
                None => pedalling.start[place] = Some(alter),
                Some((from, after)) if from != alter => {
                    let step = Move { letter, from, to: alter, after, before: moment };
                    pedalling.moves.push(step);
                }
                Some(_) => {}
            }
            pedals[place] = Some((alter, moment));
        }
    }
    pedalling.verdict = feet(&strings, moments, &pedalling.moves);
    Some(pedalling)
}

impl Pedalling {
    fn clashing(mut self, clash: Clash) -> Pedalling {
        self.verdict = Verdict::Impossible;
        self.clash = Some(clash);
        self
    }
}

/// Windows of a passage longer than this are as busy as some shorter one.
const LONGEST_WINDOW: f64 = 8.0;

/// How busy the feet are: in any second or longer, moves a second against what both feet, and each foot, make; and
/// several pedals of one foot need some time, one by one.
fn feet(strings: &Strings, moments: &[Moment], moves: &[Move]) -> Verdict {
    let easy = strings.pedals.moves_per_second;
    let most = strings.pedals.moves_per_second_both_feet;
    let window = |step: &Move| (moments[step.after].seconds, moments[step.before].seconds);
    let mut verdict = Verdict::Easy;
    for first in moves {
        let (from, _) = window(first);
        // Moves come in the order in which they are due.
        let inside = moves.iter().map(|step| (window(step), strings.is_left(step.letter)));
        let inside = inside
            .skip_while(|((_, to), _)| *to < from)
            .take_while(|((_, to), _)| *to <= from + LONGEST_WINDOW)
            .filter(|((start, _), _)| *start >= from);
        let mut count = [0.0; 2];
        for ((_, to), left) in inside {
            let foot = usize::from(left);
            count[foot] += 1.0;
            let seconds = (to - from).max(1.0) + 1e-9;
            let both = (count[0] + count[1]) / seconds;
            let found = match count[foot] / seconds {
                _ if both > most => Verdict::Impossible,
                one if one > easy => Verdict::Hard,
                _ if (count[foot] - 1.0) / most > to - from + 1e-9 => Verdict::Hard,
                _ if both > easy => Verdict::Awkward,
                _ => Verdict::Easy,
            };
            verdict = verdict.max(found);
        }
    }
    verdict
}

/// How a passage lies, and a better spelling if there is one; nothing for instruments without pedals. A caution as
/// spelled stays one: the better spelling is a change to offer.
pub fn passage(instrument: &Instrument, moments: &[Moment]) -> Option<Passage> {
    let written = as_written(instrument, moments)?;
    if written.verdict < Verdict::Awkward {
        return Some(Passage { verdict: written.verdict, written, respelled: None });
    }
    let respelled = fewest(instrument, moments);
    let respelled = respelled.filter(|other| other.pedalling.verdict < written.verdict);
    let verdict = match (&respelled, written.verdict) {
        (Some(other), Verdict::Impossible) if other.pedalling.verdict < Verdict::Awkward => {
            Verdict::Respell
        }
        (Some(other), Verdict::Impossible) => other.pedalling.verdict,
        (_, verdict) => verdict,
    };
    Some(Passage { verdict, written, respelled })
}

/// How notes lie together: [`passage`] of one moment.
pub fn together(instrument: &Instrument, notes: &[Pitch]) -> Option<Passage> {
    passage(instrument, &[Moment { seconds: 0.0, notes }])
}

/// The other string that gives the same sound, if there is one: on it a note repeats fast. D, G and A natural have none.
pub fn second_string(instrument: &Instrument, note: Pitch) -> Option<Pitch> {
    let strings = Strings::new(instrument)?;
    names(note).find(|name| *name != note && strings.has(*name) && !strings.is_fixed(*name))
}

/// The names of a sound without double signs.
fn names(note: Pitch) -> impl Iterator<Item = Pitch> {
    Letter::ALL.into_iter().flat_map(move |letter| {
        let name = move |alter| Pitch::with_name(note.midi(), PitchName::new(letter, alter));
        (-1..=1).filter_map(name)
    })
}
