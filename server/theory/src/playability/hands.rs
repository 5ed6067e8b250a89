//! Hands on keys and on harp strings: what one hand grasps, and how two hands share.
//!
//! The spans are each row's own. For keys they rest on a study of 473 pianists ("boyle" in `data/sources.md`), for
//! harps they are from memory. What a damper pedal holds needs no finger: leave it out.

#[cfg(test)]
mod tests;

use super::Verdict;
use crate::instruments::{Family, Instrument, Level, Stops};
use crate::pitch::Pitch;

/// More keys than any keyboard has.
const MOST: usize = 128;

/// What is in the way of a hand.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum HandObstacle {
    /// More notes than fingers.
    TooManyNotes {
        /// How many notes the hand would have.
        notes: usize,
        /// How many it has fingers for.
        most: usize,
    },
    /// The outermost notes are too far apart.
    Span {
        /// Semitones between them.
        semitones: i32,
        /// Semitones that such a hand has at most.
        reach: i32,
    },
    /// More pedals than the feet strike.
    Feet,
}

/// How notes lie in one hand or in two.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Grip {
    /// How well they lie.
    pub verdict: Verdict,
    /// How many of them, counted from the lowest, are for the left hand. Notes of one sound count once.
    pub left: usize,
    /// What makes it hard or impossible.
    pub obstacle: Option<HandObstacle>,
}

/// Semitones above C0 and upwards, sorted, each once.
struct Keys {
    midi: [i32; MOST],
    count: usize,
}

impl Keys {
    fn new(notes: impl Iterator<Item = Pitch>) -> Option<Keys> {
        let mut keys = Keys { midi: [0; MOST], count: 0 };
        for note in notes {
            let midi = note.midi();
            let place = keys.all().partition_point(|other| *other < midi);
            if keys.all().get(place) == Some(&midi) {
                continue;
            }
            if keys.count == MOST {
                return None;
            }
            keys.midi.copy_within(place..keys.count, place + 1);
            keys.midi[place] = midi;
            keys.count += 1;
        }
        Some(keys)
    }

    fn all(&self) -> &[i32] {
        &self.midi[..self.count]
    }
}

/// What a hand of the row can do.
struct Hand<'a> {
    stops: &'a Stops,
    most: usize,
    keys: bool,
    level: Level,
}

impl<'a> Hand<'a> {
    fn new(instrument: &'a Instrument, level: Level) -> Option<Hand<'a>> {
        let stops = instrument.stops.as_ref()?;
        let most = stops.max_notes_per_hand?;
        let keys = matches!(instrument.family, Family::Keyboard | Family::FreeReed);
        Some(Hand { stops, most, keys, level })
    }

    /// Semitones within which it is easy, lies well, is hard.
    fn spans(&self) -> Option<[i32; 3]> {
        let easy = self.stops.comfortable_span_semitones?;
        if self.level == Level::School {
            let school = self.stops.school_span_semitones.unwrap_or(easy);
            return Some([school, school, school + 2]);
        }
        let well = self.stops.possible_span_semitones.unwrap_or(easy);
        Some([easy, well, self.stops.risky_span_semitones.unwrap_or(well)])
    }

    fn holds(&self, notes: &[i32]) -> (Verdict, Option<HandObstacle>) {
        let [first, .., last] = *notes else { return (Verdict::Easy, None) };
        let count = notes.len();
        let too_many = Some(HandObstacle::TooManyNotes { notes: count, most: self.most });
        // The thumb may lie on two neighbouring white keys.
        let thumb = self.keys
            && count == self.most + 1
            && (are_neighbours(first, notes[1]) || are_neighbours(notes[count - 2], last));
        if count > self.most && !thumb {
            return (Verdict::Impossible, too_many);
        }
        let Some([easy, well, hard]) = self.spans() else { return (Verdict::Easy, None) };
        let semitones = last - first;
        let span = Some(HandObstacle::Span { semitones, reach: hard });
        match semitones {
            s if s > hard => (Verdict::Impossible, span),
            s if s > well => (Verdict::Hard, span),
            _ if thumb => (Verdict::Hard, too_many),
            s if s > easy => (Verdict::Playable, None),
            _ => (Verdict::Easy, None),
        }
    }

    fn share(&self, notes: &[i32]) -> Grip {
        let split = |left: usize| {
            let (below, above) = notes.split_at(left);
            let (lower, higher) = (self.holds(below), self.holds(above));
            let (verdict, obstacle) = if lower.0 > higher.0 { lower } else { higher };
            // Of two good ways the one that spreads the hands less.
            let spread = |hand: &[i32]| hand.last().zip(hand.first()).map_or(0, |(b, a)| b - a);
            (Grip { verdict, left, obstacle }, spread(below).max(spread(above)))
        };
        let ways = (0..=notes.len()).map(split);
        let best = ways.min_by_key(|(grip, spread)| (grip.verdict, *spread));
        best.map_or(Grip { verdict: Verdict::Easy, left: 0, obstacle: None }, |(grip, _)| grip)
    }
}

fn is_white(midi: i32) -> bool {
    !matches!(midi.rem_euclid(12), 1 | 3 | 6 | 8 | 10)
}

fn are_neighbours(low: i32, high: i32) -> bool {
    high - low <= 2 && is_white(low) && is_white(high)
}

/// How notes lie in one hand, the other busy; nothing where the row has no figures for hands.
pub fn one_hand(instrument: &Instrument, notes: &[Pitch], level: Level) -> Option<Grip> {
    let hand = Hand::new(instrument, level)?;
    let keys = Keys::new(notes.iter().copied())?;
    let (verdict, obstacle) = hand.holds(keys.all());
    Some(Grip { verdict, left: 0, obstacle })
}

/// How notes lie in two hands, however they are shared.
pub fn two_hands(instrument: &Instrument, notes: &[Pitch], level: Level) -> Option<Grip> {
    let keys = Keys::new(notes.iter().copied())?;
    Some(Hand::new(instrument, level)?.share(keys.all()))
}

/// How the notes of two staves lie, each staff for one hand: as written, or, where another way is easier, shared
/// otherwise ([`Verdict::Redistribute`] where that lies well). A free hand has an empty staff.
pub fn staves(
    instrument: &Instrument,
    left: &[Pitch],
    right: &[Pitch],
    level: Level,
) -> Option<Grip> {
    let hand = Hand::new(instrument, level)?;
    let written = [left, right].map(|staff| Keys::new(staff.iter().copied()));
    let [Some(lower), Some(upper)] = &written else { return None };
    let (below, above) = (hand.holds(lower.all()), hand.holds(upper.all()));
    let (verdict, obstacle) = if below.0 > above.0 { below } else { above };
    let written = Grip { verdict, left: lower.count, obstacle };
    if verdict < Verdict::Awkward {
        return Some(written);
    }
    let together = Keys::new(left.iter().chain(right).copied())?;
    let shared = hand.share(together.all());
    if shared.verdict < Verdict::Awkward {
        return Some(Grip { verdict: Verdict::Redistribute, ..shared });
    }
    Some(if shared.verdict < verdict { shared } else { written })
}

/// How notes lie under two feet: one note a foot, or two neighbours by heel and toe, which is hard. Nothing where
/// there are no pedals.
pub fn two_feet(instrument: &Instrument, notes: &[Pitch]) -> Option<Verdict> {
    instrument.pedalboard.as_ref()?;
    let keys = Keys::new(notes.iter().copied())?;
    let near = |foot: &[i32]| match foot {
        [low, high] => are_neighbours(*low, *high),
        _ => foot.len() < 2,
    };
    let all = keys.all();
    let shared = || (0..=all.len()).any(|left| near(&all[..left]) && near(&all[left..]));
    Some(match all.len() {
        0..=2 => Verdict::Easy,
        _ if shared() => Verdict::Hard,
        _ => Verdict::Impossible,
    })
}

/// Two notes of a third that sounds thick, both below C3: the lower and the higher.
pub fn thick_third(notes: &[Pitch]) -> Option<(Pitch, Pitch)> {
    const C3: i32 = 48;
    let low = || notes.iter().filter(|note| note.midi() < C3);
    low().find_map(|bottom| {
        let third = low().find(|top| matches!(top.midi() - bottom.midi(), 3 | 4))?;
        Some((*bottom, *third))
    })
}
