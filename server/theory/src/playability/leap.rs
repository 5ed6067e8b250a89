//! Leaps: between quick notes, in one hand, and for voices without help.

use super::register::is_slow;
use super::{Figures, Verdict};
use crate::instruments::{Instrument, Level};
use crate::interval::{Interval, Kind};
use crate::pitch::Pitch;

/// A leap between two sounding notes that last so many seconds. Awkward where both are quick and the leap is
/// larger than the row's figure, which counts half where a note lies in a slow register.
pub fn leap(
    instrument: &Instrument,
    level: Level,
    notes: [Pitch; 2],
    seconds: [f64; 2],
    figures: &Figures,
) -> Verdict {
    let Some(most) = instrument.leap_semitones_at_speed else { return Verdict::Easy };
    if seconds.iter().any(|seconds| *seconds >= figures.leap_seconds) {
        return Verdict::Easy;
    }
    let slow = notes.iter().any(|note| is_slow(instrument, *note));
    let most = if slow { most.at(level) / 2 } else { most.at(level) };
    let size = (notes[0].midi() - notes[1].midi()).abs();
    if size > most { Verdict::Awkward } else { Verdict::Easy }
}

/// A leap of one hand over keys, with so many seconds from note to note: up to an octave freely, two octaves in the
/// time that [`Figures::two_octaves_seconds`] says, and so on.
pub fn hand_leap(notes: [Pitch; 2], seconds: f64, figures: &Figures) -> Verdict {
    let beyond = f64::from((notes[0].midi() - notes[1].midi()).abs() - 12);
    let needed = beyond / 12.0 * figures.two_octaves_seconds;
    if seconds < needed { Verdict::Awkward } else { Verdict::Easy }
}

/// A leap of one foot over pedals, with so many seconds from note to note: beyond a fifth it is awkward at speed.
/// (The figure is from memory.)
pub fn foot_leap(notes: [Pitch; 2], seconds: f64, figures: &Figures) -> Verdict {
    let wide = (notes[0].midi() - notes[1].midi()).abs() > 7;
    if wide && seconds < figures.leap_seconds { Verdict::Awkward } else { Verdict::Easy }
}

/// An interval that a voice hardly pitches without help from an instrument or another voice.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)]
pub enum HardToPitch {
    Seventh,
    Tritone,
    Augmented,
}

/// Why an interval is hard to pitch; nothing if it is not. The interval is the one that is written.
pub fn hard_to_pitch(notes: [Pitch; 2]) -> Option<HardToPitch> {
    let interval = Interval::between(notes[0], notes[1]);
    match (interval.semitones, interval.steps, interval.kind()) {
        (6, ..) => Some(HardToPitch::Tritone),
        (10 | 11, 6, _) => Some(HardToPitch::Seventh),
        // An augmented unison is a step of a semitone to the ear.
        (_, steps, Kind::Augmented(_)) if steps > 0 => Some(HardToPitch::Augmented),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::playability::testing::{pitches, row};

    fn pair(text: &str) -> [Pitch; 2] {
        pitches(text).try_into().unwrap()
    }

    fn asked(id: &str, notes: &str, seconds: f64) -> Verdict {
        let figures = Figures::default();
        leap(row(id), Level::Professional, pair(notes), [seconds; 2], &figures)
    }

    /// Section 9: larger than the figure, and between notes shorter than a quarter of a second.
    #[test]
    fn quick_leaps() {
        assert_eq!(asked("flute", "C4 G5", 0.2), Verdict::Easy);
        assert_eq!(asked("flute", "C4 G#5", 0.2), Verdict::Awkward);
        assert_eq!(asked("flute", "C4 G#5", 0.25), Verdict::Easy);
        let figures = Figures::default();
        let school = leap(row("flute"), Level::School, pair("C4 A4"), [0.1; 2], &figures);
        assert_eq!(school, Verdict::Easy);
        let school = leap(row("flute"), Level::School, pair("C4 Bb4"), [0.1; 2], &figures);
        assert_eq!(school, Verdict::Awkward);
    }

    #[test]
    fn slow_registers_halve_the_leap() {
        // Sounding C3 is the horn's written G3, in its slow register.
        assert_eq!(asked("horn-in-f", "C3 C4", 0.1), Verdict::Awkward);
        assert_eq!(asked("horn-in-f", "F3 F4", 0.1), Verdict::Easy);
    }

    /// Section 9: for voices also sevenths, tritones and augmented intervals.
    #[test]
    fn hard_intervals_for_voices() {
        use HardToPitch::{Augmented, Seventh, Tritone};
        for (notes, expected) in [
            ("C4 B4", Some(Seventh)),
            ("B4 C4", Some(Seventh)),
            ("C4 Bb4", Some(Seventh)),
            ("F4 B4", Some(Tritone)),
            ("B3 F4", Some(Tritone)),
            ("Ab4 B4", Some(Augmented)),
            ("G#4 B4", None),
            ("C4 A4", None),
            ("C4 C5", None),
            ("C4 C#4", None),
        ] {
            assert_eq!(hard_to_pitch(pair(notes)), expected, "{notes}");
        }
    }

    /// Section 2: an octave freely, two octaves in about half a second.
    #[test]
    fn leaps_of_one_hand() {
        let figures = Figures::default();
        let asked = |notes, seconds| hand_leap(pair(notes), seconds, &figures);
        assert_eq!(asked("C3 C4", 0.05), Verdict::Easy);
        assert_eq!(asked("C3 C5", 0.4), Verdict::Awkward);
        assert_eq!(asked("C5 C3", 0.5), Verdict::Easy);
    }

    /// Section 2: wide leaps of one foot are awkward.
    #[test]
    fn leaps_of_one_foot() {
        let asked = |notes, seconds| foot_leap(pair(notes), seconds, &Figures::default());
        assert_eq!(asked("C2 C3", 0.2), Verdict::Awkward);
        assert_eq!(asked("C2 G2", 0.2), Verdict::Easy);
        assert_eq!(asked("C2 C3", 0.5), Verdict::Easy);
    }
}
