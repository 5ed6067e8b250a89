//! Harmonics of strings: natural ones, on an open string, and artificial ones, over a stopped note.
//!
//! Nodes and partials are physics; that the fourth, the fifth and the major third above the stopped note are touched is
//! Martens, *Violin Mastery* (1919). What a hand reaches is from memory.

use super::fingerboard::{Obstacle, OnString};
use super::strings::millimetres;
use super::{Figures, Verdict};
use crate::instruments::{Instrument, Stops};
use crate::pitch::Pitch;

/// A point of an open string that, lightly touched, makes a partial sound.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Node {
    /// Which of the row's `open_strings`.
    pub string: usize,
    /// Which partial sounds: 2 the octave, 3 the twelfth, 4 the double octave, 5 the third above it.
    pub partial: u8,
    /// Where it is touched, in parts of the string from the nut: numerator; the denominator is the partial.
    pub part: u8,
    /// The note that would be stopped nearest to there, in semitones above the open string.
    pub offset: i32,
}

/// Semitones of a partial above the open string, for partials 2 to 5 (the fifth a little flat of it).
fn semitones(partial: u8) -> i32 {
    match partial {
        2 => 12,
        3 => 19,
        4 => 24,
        _ => 28,
    }
}

/// The nodes of one string.
pub fn nodes(string: usize) -> impl Iterator<Item = Node> {
    // Halves, thirds, quarters and fifths; two quarters are a half.
    let parts = (2u8..=5).flat_map(|partial| (1..partial).map(move |part| (partial, part)));
    parts.filter(|parts| *parts != (4, 2)).map(move |(partial, part)| {
        let left = 1.0 - f64::from(part) / f64::from(partial);
        let offset = (-12.0 * left.log2()).round() as i32;
        Node { string, partial, part, offset }
    })
}

/// Where a sounding note is a natural harmonic, the lowest touch first; empty where it is none.
pub fn natural(instrument: &Instrument, sounding: Pitch) -> Vec<Node> {
    let strings = instrument.open_strings.iter().enumerate();
    let all = strings.flat_map(|(place, string)| {
        let open = string.sounding.midi();
        nodes(place).filter(move |node| open + semitones(node.partial) == sounding.midi())
    });
    let mut found: Vec<Node> = all.collect();
    found.sort_by_key(|node| (node.offset, node.partial));
    found
}

/// What is touched above the stopped note.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)]
pub enum Touch {
    Fourth,
    Fifth,
    MajorThird,
}

impl Touch {
    /// Semitones from the stopped note to the touched one.
    pub fn semitones(self) -> i32 {
        match self {
            Touch::Fourth => 5,
            Touch::Fifth => 7,
            Touch::MajorThird => 4,
        }
    }

    /// What sounds over a stopped note: two octaves, an octave and a fifth, or two octaves and a major third higher.
    pub fn sounding(self, stopped: Pitch) -> Pitch {
        match self {
            Touch::Fourth => stopped.transposed(14, 24),
            Touch::Fifth => stopped.transposed(11, 19),
            Touch::MajorThird => stopped.transposed(16, 28),
        }
    }
}

/// How an artificial harmonic lies.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Artificial {
    /// How well.
    pub verdict: Verdict,
    /// Where the note is stopped; nothing if it is impossible.
    pub on: Option<OnString>,
    /// Whether the thumb stops it.
    pub thumb: bool,
    /// What sounds.
    pub sounding: Pitch,
    /// What makes it hard or impossible.
    pub obstacle: Option<Obstacle>,
}

/// A light touch reaches a little further than a stop, in parts of the reach.
const LIGHTLY: f64 = 1.1;

/// How an artificial harmonic lies over a stopped note, as sounding. Nothing where the row has no bowed strings.
pub fn artificial(instrument: &Instrument, stopped: Pitch, touch: Touch) -> Option<Artificial> {
    let stops = instrument.stops.as_ref()?;
    stops.string_mm?;
    let sounding = touch.sounding(stopped);
    let strings = instrument.open_strings.iter().enumerate();
    let places = strings.filter_map(|(string, open)| {
        let offset = stopped.midi() - open.sounding.midi();
        // The touched note lies on the string too.
        let there = offset >= 0 && offset + touch.semitones() <= 36;
        there.then(|| {
            let (verdict, thumb) = reach(stops, offset, touch)?;
            Some((verdict, offset, OnString { string, offset }, thumb))
        })
    });
    let places: Vec<_> = places.collect();
    let obstacle = match places.len() {
        0 if stopped.midi()
            < instrument.open_strings.iter().map(|s| s.sounding.midi()).min()? =>
        {
            Obstacle::BelowLowest { note: 0 }
        }
        0 => Obstacle::TooHigh { note: 0 },
        _ => Obstacle::Reach { notes: [0, 0] },
    };
    let best = places.into_iter().flatten().min_by_key(|(verdict, offset, ..)| (*verdict, *offset));
    Some(match best {
        Some((verdict, _, on, thumb)) => {
            let obstacle = (verdict >= Verdict::Awkward).then_some(obstacle);
            Artificial { verdict, on: Some(on), thumb, sounding, obstacle }
        }
        None => Artificial {
            verdict: Verdict::Impossible,
            on: None,
            thumb: false,
            sounding,
            obstacle: Some(obstacle),
        },
    })
}

/// Whether the hand reaches from a stop to the touch, and whether by the thumb.
fn reach(stops: &Stops, offset: i32, touch: Touch) -> Option<(Verdict, bool)> {
    if offset == 0 {
        // Over the open string it is a natural harmonic.
        return Some((Verdict::Easy, false));
    }
    let at = |offset| stops.string_mm.map(|string| millimetres(string, offset));
    let reach = at(offset + touch.semitones())? - at(offset)?;
    let high_up = stops.thumb_from_offset.is_some_and(|from| offset >= from);
    match (stops.frame_mm, stops.thumb_mm, stops.stretch_mm) {
        (Some(frame), ..) if reach <= frame => Some((Verdict::Playable, false)),
        (_, Some(thumb), _) if reach <= thumb && high_up => Some((Verdict::Playable, true)),
        (_, Some(thumb), _) if reach <= thumb * LIGHTLY => Some((Verdict::Hard, true)),
        (_, None, Some(stretch)) if reach <= stretch => Some((Verdict::Hard, false)),
        _ => None,
    }
}

/// Artificial harmonics at so many a second.
pub fn pace(per_second: f64, figures: &Figures) -> Verdict {
    figures.pace.verdict(per_second / figures.harmonics_per_second)
}

#[cfg(test)]
mod tests {
    //! Section 1 of the specification, "Harmonics", statement by statement.

    use super::*;
    use crate::playability::testing::{pitch, row};

    #[test]
    fn natural_nodes_and_what_they_sound() {
        let all: Vec<_> = nodes(0).map(|node| (node.partial, node.part, node.offset)).collect();
        let expected = [
            (2, 1, 12),
            (3, 1, 7),
            (3, 2, 19),
            (4, 1, 5),
            (4, 3, 24),
            (5, 1, 4),
            (5, 2, 9),
            (5, 3, 16),
            (5, 4, 28),
        ];
        assert_eq!(all, expected);
        let found = natural(row("violin"), pitch("D6"));
        // The twelfth of the G string is D5; D6 is the double octave of the D string.
        assert_eq!(found.iter().map(|n| (n.string, n.partial)).collect::<Vec<_>>(), [(1, 4); 2]);
        assert!(natural(row("violin"), pitch("C6")).is_empty());
    }

    #[test]
    fn artificial_harmonics_sound() {
        let sounds = |touch: Touch| touch.sounding(pitch("A3")).to_string();
        assert_eq!(sounds(Touch::Fourth), "A5");
        assert_eq!(sounds(Touch::Fifth), "E5");
        assert_eq!(sounds(Touch::MajorThird), "C#6");
    }

    #[test]
    fn the_stopped_note_exists() {
        let below = artificial(row("violin"), pitch("F#3"), Touch::Fourth).unwrap();
        assert_eq!(below.obstacle, Some(Obstacle::BelowLowest { note: 0 }));
        let open = artificial(row("violin"), pitch("G3"), Touch::Fourth).unwrap();
        assert_eq!(open.verdict, Verdict::Easy);
        assert!(artificial(row("piano"), pitch("C4"), Touch::Fourth).is_none());
    }

    #[test]
    fn the_fourth_by_instrument() {
        let verdict = |id: &str, note: &str| {
            let found = artificial(row(id), pitch(note), Touch::Fourth).unwrap();
            (found.verdict, found.thumb)
        };
        use Verdict::{Hard, Impossible, Playable};
        assert_eq!(verdict("violin", "A3"), (Playable, false));
        assert_eq!(verdict("viola", "D3"), (Playable, false));
        assert_eq!(verdict("cello", "F2"), (Hard, true));
        assert_eq!(verdict("cello", "E4"), (Playable, true));
        assert_eq!(verdict("double-bass", "F1"), (Impossible, false));
        assert_eq!(verdict("double-bass", "G3"), (Playable, true));
    }

    #[test]
    fn two_a_second() {
        let figures = Figures::default();
        assert_eq!(pace(2.0, &figures), Verdict::Easy);
        assert_eq!(pace(3.0, &figures), Verdict::Hard);
        assert_eq!(pace(6.0, &figures), Verdict::Impossible);
    }
}
