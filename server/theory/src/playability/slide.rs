//! The trombone's slide: seven positions a semitone apart, and one series of partials in each.
//!
//! Where notes lie is the row's `slide_positions`, from the harmonic series (the lowest positions also OEIS A309909).
//! How far an arm goes in a second is from memory.

use super::{Figures, Verdict};
use crate::instruments::{Instrument, SlideNote};
use crate::pitch::Pitch;

/// A sounding note, and seconds from wherever they are counted.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Onset {
    /// What sounds.
    pub sounding: Pitch,
    /// When it begins.
    pub seconds: f64,
}

/// What hinders the slide, by places among the notes asked about.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum SlideObstacle {
    /// A note that no position has.
    NoPosition {
        /// Which.
        note: usize,
    },
    /// A far move to a note, and no time for it.
    Jump {
        /// The note that is gone to.
        note: usize,
        /// How many positions.
        positions: i32,
    },
    /// A glissando whose ends share no partial.
    NoSharedPartial,
}

/// How a line lies on the slide.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Slide {
    /// How well.
    pub verdict: Verdict,
    /// The position of each note, 1 to 7; empty if one has none.
    pub positions: Vec<u8>,
    /// What hinders.
    pub obstacle: Option<SlideObstacle>,
}

fn entry(instrument: &Instrument, sounding: Pitch) -> Option<&SlideNote> {
    instrument.slide_positions.iter().find(|entry| entry.note.midi() == sounding.midi())
}

/// The F of the attachment: a fourth below the open B flat.
const ATTACHED: i32 = 29;

/// The positions in which a note is played. An F attachment adds the second and third partial of the tube that is a fourth
/// longer, in six positions.
pub fn positions(instrument: &Instrument, sounding: Pitch, attachment: bool) -> Vec<u8> {
    let mut found = entry(instrument, sounding).map_or(Vec::new(), |entry| entry.positions.clone());
    if attachment && !instrument.slide_positions.is_empty() {
        for partial in [12, 19] {
            let below = ATTACHED + partial - sounding.midi();
            let position = u8::try_from(below + 1).unwrap_or(0);
            if (1..=6).contains(&position) && !found.contains(&position) {
                found.push(position);
            }
        }
    }
    found
}

/// A glissando: its ends lie on one partial, or it cannot be slid. Nothing for instruments without a slide.
pub fn glissando(instrument: &Instrument, from: Pitch, to: Pitch) -> Option<Slide> {
    if instrument.slide_positions.is_empty() {
        return None;
    }
    let ends = [entry(instrument, from), entry(instrument, to)];
    if let Some(note) = ends.iter().position(Option::is_none) {
        return Some(Slide::impossible(SlideObstacle::NoPosition { note }));
    }
    let places = ends.map(|end| {
        let pairs = end.map(|entry| entry.partials.iter().copied().zip(entry.positions.clone()));
        pairs.map_or(Vec::new(), Iterator::collect)
    });
    let pairs = places[0].iter().flat_map(|low| places[1].iter().map(move |high| (low, high)));
    let shared = pairs.filter(|(low, high)| low.0 == high.0);
    let shared = shared.min_by_key(|(low, high)| low.1.abs_diff(high.1));
    Some(match shared {
        Some((low, high)) => {
            Slide { verdict: Verdict::Playable, positions: vec![low.1, high.1], obstacle: None }
        }
        None => Slide::impossible(SlideObstacle::NoSharedPartial),
    })
}

impl Slide {
    fn impossible(obstacle: SlideObstacle) -> Slide {
        Slide { verdict: Verdict::Impossible, positions: Vec::new(), obstacle: Some(obstacle) }
    }
}

/// The way to some position of a note: the fastest move so far, all positions moved, where it came from.
type Way = (f64, i32, usize);

/// How a line lies: the path through the positions whose fastest move is slowest. Nothing for instruments without a slide.
pub fn line(
    instrument: &Instrument,
    onsets: &[Onset],
    attachment: bool,
    figures: &Figures,
) -> Option<Slide> {
    if instrument.slide_positions.is_empty() {
        return None;
    }
    let mut choices: Vec<Vec<u8>> = Vec::with_capacity(onsets.len());
    let mut ways: Vec<Vec<Way>> = Vec::with_capacity(onsets.len());
    for (note, onset) in onsets.iter().enumerate() {
        let here = positions(instrument, onset.sounding, attachment);
        if here.is_empty() {
            return Some(Slide::impossible(SlideObstacle::NoPosition { note }));
        }
        let column = here.iter().map(|position| {
            let (Some(last), Some(there)) = (ways.last(), choices.last()) else {
                return (0.0, 0, 0);
            };
            let seconds = onset.seconds - onsets[note - 1].seconds;
            let step = |(from, (way, other)): (usize, (&Way, &u8))| {
                let moved = i32::from(position.abs_diff(*other));
                (way.0.max(speed(moved, seconds)), way.1 + moved, from)
            };
            let steps = last.iter().zip(there).enumerate().map(step);
            steps
                .min_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal))
                .unwrap_or_default()
        });
        let column = column.collect();
        ways.push(column);
        choices.push(here);
    }
    let mut positions = Vec::with_capacity(onsets.len());
    let best = ways.last()?.iter().enumerate();
    let best = best.min_by(|a, b| a.1.partial_cmp(b.1).unwrap_or(std::cmp::Ordering::Equal));
    let mut at = best?.0;
    for (column, here) in ways.iter().zip(&choices).rev() {
        positions.push(here[at]);
        at = column[at].2;
    }
    positions.reverse();
    Some(judge(onsets, positions, figures))
}

/// Positions a second.
fn speed(moved: i32, seconds: f64) -> f64 {
    if moved == 0 { 0.0 } else { f64::from(moved) / seconds.max(1e-3) }
}

fn judge(onsets: &[Onset], positions: Vec<u8>, figures: &Figures) -> Slide {
    let (mut verdict, mut obstacle) = (Verdict::Easy, None);
    for note in 1..positions.len() {
        let moved = i32::from(positions[note].abs_diff(positions[note - 1]));
        let speed = speed(moved, onsets[note].seconds - onsets[note - 1].seconds);
        let limit = f64::from(moved) * figures.slide_far_per_second;
        let found = match moved {
            _ if speed > figures.slide_positions_per_second + 1e-9 => Verdict::Impossible,
            far if far >= figures.slide_far && speed >= limit - 1e-9 => Verdict::Awkward,
            _ => Verdict::Easy,
        };
        if found > verdict {
            verdict = found;
            obstacle = Some(SlideObstacle::Jump { note, positions: moved });
        }
    }
    Slide { verdict, positions, obstacle }
}

#[cfg(test)]
mod tests {
    //! Section 6 of the specification, statement by statement.

    use super::*;
    use crate::playability::testing::{pitch, pitches, row};

    fn asked(notes: &str, per_second: f64, attachment: bool) -> Slide {
        let onset = |(place, sounding)| Onset { sounding, seconds: place as f64 / per_second };
        let onsets: Vec<Onset> = pitches(notes).into_iter().enumerate().map(onset).collect();
        line(row("trombone"), &onsets, attachment, &Figures::default()).unwrap()
    }

    fn slid(from: &str, to: &str) -> Verdict {
        glissando(row("trombone"), pitch(from), pitch(to)).unwrap().verdict
    }

    /// `pitch = Bb1 + 12 log2(n) - (p - 1)`, within the quarter tone that the seventh partial is flat.
    #[test]
    fn the_table_is_the_harmonic_series() {
        for entry in &row("trombone").slide_positions {
            for (position, partial) in entry.positions.iter().zip(&entry.partials) {
                let natural = 34.0 + 12.0 * f64::from(*partial).log2() - f64::from(*position - 1);
                let off = (natural - f64::from(entry.note.midi())).abs();
                assert!(off < 0.2 || *partial == 7 && off < 1.0, "{} {off}", entry.note);
            }
        }
    }

    #[test]
    fn low_notes_without_an_attachment() {
        for (note, there) in
            [("E2", true), ("Eb2", false), ("C2", false), ("B1", false), ("Bb1", true)]
        {
            assert_eq!(positions(row("trombone"), pitch(note), false).is_empty(), !there, "{note}");
        }
        let missing = asked("E2 Eb2", 1.0, false);
        assert_eq!(missing.obstacle, Some(SlideObstacle::NoPosition { note: 1 }));
        assert_eq!(positions(row("trombone"), pitch("Eb2"), true), [3]);
    }

    #[test]
    fn from_first_to_sixth_or_seventh_in_a_quarter_second_is_awkward() {
        for notes in ["Bb2 B2", "Bb2 C3", "F2 Bb2"] {
            assert_eq!(asked(notes, 4.0, false).verdict, Verdict::Awkward, "{notes}");
            assert_eq!(asked(notes, 2.0, false).verdict, Verdict::Easy, "{notes}");
        }
    }

    #[test]
    fn a_glissando_stays_on_one_partial() {
        for (from, to, lies) in [
            ("Bb3", "E3", true),
            ("F3", "B2", true),
            ("E3", "A3", true),
            ("Bb3", "Eb3", false),
            ("C4", "F#3", false),
            ("Bb2", "B2", false),
        ] {
            assert_eq!(slid(from, to) == Verdict::Playable, lies, "{from} {to}");
        }
        assert!(glissando(row("trumpet-in-c"), pitch("C4"), pitch("D4")).is_none());
    }

    #[test]
    fn the_nearest_of_several_positions() {
        assert_eq!(asked("Bb3 C4 D4 Eb4 F4", 6.0, false).verdict, Verdict::Easy);
        assert_eq!(asked("C4 B3 C4", 6.0, false).positions, [3, 4, 3]);
        assert_eq!(asked("A2 Bb2", 6.0, false).positions, [2, 1]);
    }

    #[test]
    fn far_and_fast_is_impossible() {
        let found = asked("Bb2 B2 Bb2", 6.0, false);
        assert_eq!(found.verdict, Verdict::Impossible);
        assert_eq!(found.obstacle, Some(SlideObstacle::Jump { note: 1, positions: 6 }));
    }

    #[test]
    fn an_attachment_gives_c_in_first_and_b_near_second() {
        assert!(positions(row("trombone"), pitch("C3"), true).contains(&1));
        assert!(positions(row("trombone"), pitch("B2"), true).contains(&2));
        assert_eq!(asked("Bb2 B2 Bb2", 6.0, true).verdict, Verdict::Easy);
        assert_eq!(asked("F2 Bb2 F2", 4.0, true).verdict, Verdict::Easy);
    }

    #[test]
    fn every_path_plays_what_was_asked() {
        let found = asked("F2 B2 E3 Ab3 D4 Gb4 Bb4", 2.0, false);
        for (position, note) in found.positions.iter().zip(pitches("F2 B2 E3 Ab3 D4 Gb4 Bb4")) {
            assert!(positions(row("trombone"), note, false).contains(position));
        }
    }
}
