//! Singers: how long a voice stays high, and text on the change of register.
//!
//! Where voices are at home, and where they change, stands in the rows; how long is too long is from memory. Bodies
//! differ: what is found here is for the singer and the teacher to judge.

use super::Figures;
use super::register::outside;
use crate::instruments::{Instrument, Range, Zone, ZoneKind};
use crate::pitch::Pitch;

/// A sung note.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sung {
    /// What sounds.
    pub sounding: Pitch,
    /// How long, in seconds.
    pub seconds: f64,
    /// Whether a syllable begins with it.
    pub syllable: bool,
}

/// What a stretch of singing has in common.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Strain<'a> {
    /// Every note lies above where the voice is at home.
    High {
        /// The top of where it is at home.
        above: Pitch,
    },
    /// Every note has a syllable and lies where the voice changes.
    TextInPassage {
        /// Where.
        zone: &'a Zone,
    },
}

/// Notes one after another that strain: awkward.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Stretch<'a> {
    /// Why.
    pub strain: Strain<'a>,
    /// The first and the last note, by their places.
    pub notes: [usize; 2],
    /// How long they are together, in seconds.
    pub seconds: f64,
}

/// The stretches of a line that are [`Figures::tessitura_seconds`] long or longer, each as long as it goes.
pub fn stretches<'a>(
    instrument: &'a Instrument,
    line: &[Sung],
    figures: &Figures,
) -> Vec<Stretch<'a>> {
    let mut found = Vec::new();
    if let Some(home) = instrument.tessitura {
        let high = |note: &Sung| note.sounding.midi() > home.max.midi();
        runs(line, high, Strain::High { above: home.max }, figures, &mut found);
    }
    for zone in instrument.zones.iter().filter(|zone| zone.kind == ZoneKind::Passage) {
        let inside = |range: &Range, note: &Sung| outside(range, note.sounding) == 0;
        let text = |note: &Sung| note.syllable && inside(&zone.range, note);
        runs(line, text, Strain::TextInPassage { zone }, figures, &mut found);
    }
    found
}

fn runs<'a>(
    line: &[Sung],
    strains: impl Fn(&Sung) -> bool,
    strain: Strain<'a>,
    figures: &Figures,
    found: &mut Vec<Stretch<'a>>,
) {
    let mut from = 0;
    while from < line.len() {
        let length = line[from..].iter().take_while(|note| strains(note)).count();
        let seconds: f64 = line[from..from + length].iter().map(|note| note.seconds).sum();
        if length > 0 && seconds >= figures.tessitura_seconds - 1e-9 {
            found.push(Stretch { strain, notes: [from, from + length - 1], seconds });
        }
        from += length.max(1);
    }
}

#[cfg(test)]
mod tests {
    //! Section 9 of the specification, "Tessitura".

    use super::*;
    use crate::playability::testing::{pitches, row};

    fn asked(id: &str, notes: &str, seconds: f64, syllable: bool) -> Vec<Stretch<'static>> {
        let sung = |sounding| Sung { sounding, seconds, syllable };
        let line: Vec<Sung> = pitches(notes).into_iter().map(sung).collect();
        stretches(row(id), &line, &Figures::default())
    }

    #[test]
    fn eight_seconds_above_the_tessitura() {
        let found = asked("soprano", "C5 A5 G5 A5 Bb5 C5", 2.0, false);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].notes, found[0].seconds), ([1, 4], 8.0));
        assert!(matches!(found[0].strain, Strain::High { .. }));
        assert!(asked("soprano", "A5 G5 A5 C5 A5 G5 A5", 2.0, false).is_empty());
        assert!(asked("soprano", "F5 F5 F5 F5 F5", 2.0, false).is_empty());
    }

    #[test]
    fn eight_seconds_of_text_where_the_voice_changes() {
        let text = asked("soprano", "E5 F5 E5 F5", 2.0, true);
        assert!(matches!(text[..], [Stretch { strain: Strain::TextInPassage { .. }, .. }]));
        assert!(asked("soprano", "E5 F5 E5 F5", 2.0, false).is_empty());
        assert!(asked("violin", "E7 E7 E7", 9.0, true).is_empty());
    }
}
