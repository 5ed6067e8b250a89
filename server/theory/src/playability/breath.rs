//! How long: breath, bow, and playing without a rest.
//!
//! Seconds are figures for planning: teachers warn against counting on them ("orchtips" in `data/sources.md`).
//! Between separate notes a player can breathe, so a breath is asked about one long note or one slur.

use super::register::written;
use super::{Figures, Loudness, Verdict};
use crate::instruments::{Instrument, Level};
use crate::pitch::Pitch;

/// A note, or part of one, at one dynamic.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tone {
    /// What sounds.
    pub sounding: Pitch,
    /// How long, in seconds.
    pub seconds: f64,
    /// How loud.
    pub loudness: Loudness,
}

/// How much of a breath, a bow or the player's strength something takes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spent {
    /// How well it lies.
    pub verdict: Verdict,
    /// How many breaths or bows it would take.
    pub share: f64,
    /// Seconds that are there: for the same notes and dynamics, from one breath or bow.
    pub seconds: f64,
}

impl Spent {
    fn new(verdict: Verdict, share: f64, tones: &[Tone]) -> Spent {
        let all: f64 = tones.iter().map(|tone| tone.seconds).sum();
        Spent { verdict, share, seconds: if share > 0.0 { all / share } else { f64::INFINITY } }
    }
}

/// What one unbroken note or slur takes of one player's breath; nothing for what needs none. Several on a part breathe
/// in turn: ask only where one plays.
pub fn breath(
    instrument: &Instrument,
    level: Level,
    tones: &[Tone],
    figures: &Figures,
) -> Option<Spent> {
    let seconds = instrument.breath_seconds?.at(level);
    let low = instrument.low_air_below.map(Pitch::midi);
    let share = tones.iter().map(|tone| {
        let loudness = match tone.loudness {
            Loudness::Pp | Loudness::P => figures.breath_soft,
            Loudness::Mp | Loudness::Mf => 1.0,
            Loudness::F => figures.breath_loud,
            Loudness::Ff => figures.breath_loudest,
        };
        let is_low = low.is_some_and(|low| written(instrument, tone.sounding) < low);
        tone.seconds / (seconds * loudness * if is_low { figures.breath_low } else { 1.0 })
    });
    let share = share.sum();
    Some(Spent::new(figures.breath.verdict(share), share, tones))
}

/// What one slur takes of a bow; nothing for what is not bowed. The bow can change, so it is never impossible.
pub fn bow(instrument: &Instrument, tones: &[Tone], figures: &Figures) -> Option<Spent> {
    let bow = instrument.bow_seconds?;
    let share = tones.iter().map(|tone| {
        let seconds = match tone.loudness {
            Loudness::Pp | Loudness::P => bow.p,
            Loudness::Mp | Loudness::Mf => bow.mf,
            Loudness::F | Loudness::Ff => bow.f,
        };
        tone.seconds / seconds
    });
    let share: f64 = share.sum();
    let verdict = match share {
        share if share <= 1.0 => Verdict::Easy,
        share if share <= figures.bows_hard => Verdict::Awkward,
        _ => Verdict::Hard,
    };
    Some(Spent::new(verdict, share, tones))
}

/// What tires in playing on without a rest.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Tiring {
    /// The whole is long.
    Long,
    /// A stretch of it is high.
    High,
}

/// Playing on and on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Endurance {
    /// What tires.
    pub tiring: Tiring,
    /// How long it goes on, in seconds.
    pub seconds: f64,
    /// After how many seconds a rest is wanted.
    pub rest_after: f64,
    /// The first and the last note of it, by their places among those asked about.
    pub notes: [usize; 2],
}

/// Whether a note lies above the row's middle register; false where it names none.
pub fn is_high(instrument: &Instrument, sounding: Pitch) -> bool {
    let middle = |label: &str| label == "middle" || label == "low/middle";
    let middle = instrument.registers.iter().find(|register| middle(&register.label));
    middle.is_some_and(|middle| sounding.midi() > middle.range.sounding_max.midi())
}

/// Whether notes one after another, with no rest between, go on too long: awkward, for lips and breath. Nothing where
/// they do not, or where the row has no figures (strings, keyboards, bagpipes).
pub fn endurance(instrument: &Instrument, level: Level, tones: &[Tone]) -> Option<Endurance> {
    let high_after = instrument.high_rest_after_seconds.map(|seconds| seconds.at(level));
    let mut worst: Option<Endurance> = None;
    let (mut first, mut seconds) = (0, 0.0);
    for (place, tone) in tones.iter().enumerate() {
        if !is_high(instrument, tone.sounding) {
            (first, seconds) = (place + 1, 0.0);
            continue;
        }
        seconds += tone.seconds;
        if let Some(rest_after) = high_after.filter(|after| seconds > *after)
            && worst.is_none_or(|worst| seconds > worst.seconds)
        {
            let notes = [first, place];
            worst = Some(Endurance { tiring: Tiring::High, seconds, rest_after, notes });
        }
    }
    if worst.is_some() {
        return worst;
    }
    let rest_after = instrument.rest_after_seconds?.at(level);
    let seconds: f64 = tones.iter().map(|tone| tone.seconds).sum();
    let notes = [0, tones.len().saturating_sub(1)];
    let long = Endurance { tiring: Tiring::Long, seconds, rest_after, notes };
    (seconds > rest_after).then_some(long)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::playability::testing::{pitch, row};

    const PRO: Level = Level::Professional;

    fn tone(note: &str, seconds: f64, loudness: Loudness) -> Tone {
        Tone { sounding: pitch(note), seconds, loudness }
    }

    fn breath_of(id: &str, note: &str, loudness: Loudness) -> f64 {
        let tones = [tone(note, 1.0, loudness)];
        breath(row(id), PRO, &tones, &Figures::default()).unwrap().seconds
    }

    /// Section 9: the seconds of a breath by dynamic, and low down.
    #[test]
    fn a_breath_by_dynamic() {
        let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found}");
        use Loudness::{F, Ff, Mf, Mp, P, Pp};
        for (loudness, seconds) in
            [(Pp, 18.0), (P, 18.0), (Mp, 15.0), (Mf, 15.0), (F, 10.5), (Ff, 7.5)]
        {
            close(breath_of("flute", "C5", loudness), seconds);
        }
        close(breath_of("flute", "C4", Mf), 10.0);
        close(breath_of("flute", "G4", Mf), 15.0);
    }

    #[test]
    fn the_scale_of_breaths() {
        let asked = |seconds| {
            let tones = [tone("C5", seconds, Loudness::Mf)];
            breath(row("flute"), PRO, &tones, &Figures::default()).unwrap().verdict
        };
        use Verdict::{Awkward, Easy, Hard, Impossible};
        assert_eq!([15.0, 22.0, 37.0, 38.0].map(asked), [Easy, Awkward, Hard, Impossible]);
        let tones = [tone("C5", 9.0, Loudness::Mf)];
        assert_eq!(breath(row("piano"), PRO, &tones, &Figures::default()), None);
    }

    #[test]
    fn a_slur_adds_up_over_dynamics() {
        let tones = [tone("C5", 9.0, Loudness::P), tone("C5", 5.25, Loudness::F)];
        let found = breath(row("flute"), PRO, &tones, &Figures::default()).unwrap();
        assert!((found.share - 1.0).abs() < 1e-9);
    }

    /// Section 9: longer than a bow is awkward, beyond two and a half hard, never impossible.
    #[test]
    fn a_bow_can_change() {
        let asked = |seconds| {
            let tones = [tone("B4", seconds, Loudness::F)];
            bow(row("violin"), &tones, &Figures::default()).unwrap().verdict
        };
        use Verdict::{Awkward, Easy, Hard};
        assert_eq!([4.0, 10.0, 20.0, 200.0].map(asked), [Easy, Awkward, Hard, Hard]);
        assert_eq!(bow(row("flute"), &[], &Figures::default()), None);
    }

    /// Section 9: too long without a rest, or too long wholly above the middle register.
    #[test]
    fn endurance_of_lips() {
        let asked = |id: &str, note: &str, seconds| {
            let tones = vec![tone(note, 1.0, Loudness::Mf); seconds];
            endurance(row(id), PRO, &tones).map(|found| found.tiring)
        };
        assert_eq!(asked("oboe", "A4", 160), Some(Tiring::Long));
        assert_eq!(asked("oboe", "A4", 80), None);
        assert_eq!(asked("trumpet-in-c", "A5", 32), Some(Tiring::High));
        assert_eq!(asked("trumpet-in-c", "C5", 32), None);
        for id in ["great-highland-bagpipe", "violin", "piano"] {
            assert_eq!(asked(id, "A4", 600), None, "{id}");
        }
    }

    #[test]
    fn a_high_stretch_is_found_in_the_middle() {
        let mut tones = vec![tone("C5", 1.0, Loudness::F); 60];
        tones[10..40].fill(tone("A5", 1.0, Loudness::F));
        let found = endurance(row("trumpet-in-c"), PRO, &tones).unwrap();
        assert_eq!((found.notes, found.seconds), ([10, 39], 30.0));
    }
}
