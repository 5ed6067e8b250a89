//! What bowed and fretted strings share: notes on strings, and why a chord does not lie.

use super::{Verdict, frets, strings};
use crate::instruments::{Instrument, Level, Stops};
use crate::pitch::Pitch;

/// As many notes, and strings, as the search looks at.
pub(super) const MOST: usize = 12;

/// How a chord is played.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Stroke {
    /// Held, all notes at once.
    Held,
    /// Struck, or broken by the bow.
    Short,
    /// Plucked, also on instruments that know nothing else.
    Plucked,
}

/// One note on its string.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct OnString {
    /// Which of the row's `open_strings`, from 0.
    pub string: usize,
    /// Semitones above the open string; 0 is the open string.
    pub offset: i32,
}

/// What is in the way. Notes are given by their places among the notes asked for, strings by their places among
/// the row's `open_strings`, both from 0.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Obstacle {
    /// More notes than sound at once.
    TooManyNotes {
        /// How many do.
        most: usize,
    },
    /// More notes than can be held.
    TooManyHeld {
        /// How many can.
        most: usize,
    },
    /// A note below the lowest string.
    BelowLowest {
        /// Which.
        note: usize,
    },
    /// A note that no string, or no hand at this level, reaches up to.
    TooHigh {
        /// Which.
        note: usize,
    },
    /// Two notes that both lie only on one string.
    OneString {
        /// Which notes.
        notes: [usize; 2],
        /// Which string.
        string: usize,
    },
    /// Several notes that lie only on fewer strings.
    TooFewStrings {
        /// How many notes.
        notes: usize,
        /// How many strings.
        strings: usize,
    },
    /// The bow would have to leave out a string.
    NotNeighbours,
    /// Two notes that are too far apart for the hand.
    Reach {
        /// Which notes.
        notes: [usize; 2],
    },
    /// More fingers than there are.
    TooManyFingers {
        /// How many it takes.
        fingers: usize,
    },
    /// One finger would have to lie flat over three strings.
    FlatFinger,
    /// A stop that is not taught yet.
    NotForSchool,
}

/// How a chord lies on the strings.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fingering {
    /// How well it lies.
    pub verdict: Verdict,
    /// Where each note lies, in the order asked; empty if it is impossible.
    pub notes: Vec<OnString>,
    /// How many fingers stop, without the thumb of a low string.
    pub fingers: usize,
    /// Whether the thumb is set on the string.
    pub thumb: bool,
    /// What makes it hard or impossible.
    pub obstacle: Option<Obstacle>,
}

impl Fingering {
    /// A placing as it was judged: what is impossible has no places.
    pub(super) fn judged(
        verdict: Verdict,
        obstacle: Option<Obstacle>,
        placing: &[OnString],
        fingers: usize,
        thumb: bool,
    ) -> Fingering {
        match (verdict, obstacle) {
            (Verdict::Impossible, Some(obstacle)) => Fingering::impossible(obstacle),
            _ => Fingering { verdict, notes: placing.to_vec(), fingers, thumb, obstacle },
        }
    }

    pub(super) fn impossible(obstacle: Obstacle) -> Fingering {
        Fingering {
            verdict: Verdict::Impossible,
            notes: Vec::new(),
            fingers: 0,
            thumb: false,
            obstacle: Some(obstacle),
        }
    }
}

/// How a chord of sounding notes lies on the row's strings, bowed or fretted; nothing where the row has no strings
/// or no figures for the hand.
pub fn chord(
    instrument: &Instrument,
    sounding: &[Pitch],
    stroke: Stroke,
    level: Level,
) -> Option<Fingering> {
    if instrument.stops.as_ref()?.adjacent_strings_only {
        strings::stop(instrument, sounding, stroke, level)
    } else {
        frets::chord(instrument, sounding)
    }
}

/// Whether there are more notes than the row's strings sound at once.
pub(super) fn too_many(instrument: &Instrument, stops: &Stops, notes: usize) -> Option<Obstacle> {
    let strings = instrument.open_strings.len();
    let most = stops.max_notes.map_or(strings, |most| most.min(strings));
    (notes > most).then_some(Obstacle::TooManyNotes { most })
}

/// Open strings and notes as numbers, and how far up the strings go.
pub(super) struct Board {
    open: [i32; MOST],
    strings: usize,
    midi: [i32; MOST],
    count: usize,
    tops: [i32; MOST],
}

impl Board {
    /// With the highest stop of any string. Nothing where there are no strings, or more strings or notes than
    /// anybody has.
    pub(super) fn new(instrument: &Instrument, sounding: &[Pitch], top: i32) -> Option<Board> {
        let strings = instrument.open_strings.len();
        let count = sounding.len();
        if strings == 0 || strings > MOST || count > MOST {
            return None;
        }
        let (open, midi, tops) = ([0; MOST], [0; MOST], [top; MOST]);
        let mut board = Board { open, strings, midi, count, tops };
        for (place, string) in board.open.iter_mut().zip(&instrument.open_strings) {
            *place = string.sounding.midi();
        }
        for (place, pitch) in board.midi.iter_mut().zip(sounding) {
            *place = pitch.midi();
        }
        Some(board)
    }

    /// The highest string is stopped as far up as that, if it is further than the others.
    pub(super) fn with_highest(mut self, top: i32) -> Board {
        let open = &self.open[..self.strings];
        if let Some(highest) = (0..self.strings).max_by_key(|string| open[*string]) {
            self.tops[highest] = self.tops[highest].max(top);
        }
        self
    }

    fn offset(&self, note: usize, string: usize) -> Option<i32> {
        let offset = self.midi[note] - self.open[string];
        (0..=self.tops[string]).contains(&offset).then_some(offset)
    }

    /// Calls `visit` with every way to put each note on a string of its own. A way that `fits` already refuses
    /// part of (the notes up to some place) is not followed.
    pub(super) fn every_placing(
        &self,
        fits: &impl Fn(&[OnString]) -> bool,
        visit: &mut impl FnMut(&[OnString]),
    ) {
        let mut placing = [OnString::default(); MOST];
        self.place(0, 0, &mut placing, fits, visit);
    }

    fn place(
        &self,
        note: usize,
        used: u32,
        placing: &mut [OnString; MOST],
        fits: &impl Fn(&[OnString]) -> bool,
        visit: &mut impl FnMut(&[OnString]),
    ) {
        if note == self.count {
            return visit(&placing[..note]);
        }
        for string in (0..self.strings).filter(|string| used & (1 << string) == 0) {
            let Some(offset) = self.offset(note, string) else { continue };
            placing[note] = OnString { string, offset };
            if fits(&placing[..=note]) {
                self.place(note + 1, used | (1 << string), placing, fits, visit);
            }
        }
    }

    /// What is in the way before any hand is thought of.
    pub(super) fn obstacle(&self) -> Option<Obstacle> {
        let lowest = self.open[..self.strings].iter().min()?;
        let mut masks = [0u32; MOST];
        for (note, mask) in masks[..self.count].iter_mut().enumerate() {
            if self.midi[note] < *lowest {
                return Some(Obstacle::BelowLowest { note });
            }
            for string in 0..self.strings {
                *mask |= u32::from(self.offset(note, string).is_some()) << string;
            }
            if *mask == 0 {
                return Some(Obstacle::TooHigh { note });
            }
        }
        let masks = &masks[..self.count];
        for (first, mask) in masks.iter().enumerate().filter(|(_, mask)| mask.count_ones() == 1) {
            let second = (first + 1..self.count).find(|second| masks[*second] == *mask);
            if let Some(second) = second {
                let string = mask.trailing_zeros() as usize;
                return Some(Obstacle::OneString { notes: [first, second], string });
            }
        }
        // Too few strings for some of the notes (Hall's condition).
        (1u32..1 << self.count).find_map(|some| {
            let chosen = (0..self.count).filter(|note| some & (1 << note) != 0);
            let strings = chosen.fold(0, |all, note| all | masks[note]).count_ones() as usize;
            let notes = some.count_ones() as usize;
            (strings < notes).then_some(Obstacle::TooFewStrings { notes, strings })
        })
    }
}

/// How many fingers stop these notes, a finger flat over neighbouring strings counted once; and the most strings
/// that one of them covers.
pub(super) fn flat_fingers(placing: &[OnString]) -> (usize, usize) {
    let mut by_string = [0; MOST];
    for note in placing {
        by_string[note.string] = note.offset;
    }
    let (mut fingers, mut widest, mut width, mut last) = (0, 0, 0, 0);
    for offset in by_string {
        width = match offset {
            0 => 0,
            same if same == last => width + 1,
            _ => 1,
        };
        fingers += usize::from(width == 1);
        widest = widest.max(width);
        last = offset;
    }
    (fingers, widest)
}
