//! Where a note lies on its instrument: its compass, its registers, its breaks and its trills.
//!
//! All pitches are as sounding, so that no custom of transposition matters; what the table has as written is
//! moved by the row's own transposition.

#[cfg(test)]
mod tests;

use super::{Figures, Loudness, Verdict};
use crate::instruments::{Concern, Instrument, Level, Range, Register, Zone, ZoneKind};
use crate::pitch::Pitch;

/// The number of the note as the row's players read it.
pub(super) fn written(instrument: &Instrument, sounding: Pitch) -> i32 {
    sounding.midi() - instrument.transposition.unwrap_or_default().chromatic
}

/// Whether a note lies in a register that is not for quick notes.
pub(super) fn is_slow(instrument: &Instrument, sounding: Pitch) -> bool {
    let register = instrument.register_sounding(sounding);
    register.is_some_and(|register| register.concern.contains(&Concern::Slow))
}

/// How far a note lies outside a range, in semitones: below negative, inside 0.
pub fn outside(range: &Range, sounding: Pitch) -> i32 {
    let note = sounding.midi();
    (note - range.sounding_max.midi()).max(0) + (note - range.sounding_min.midi()).min(0)
}

/// How a note lies in the compass of its instrument.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Compass {
    /// How well.
    pub verdict: Verdict,
    /// Semitones outside the level's range: below negative, inside 0.
    pub outside: i32,
    /// Whether it needs a part that is said to be missing: a foot, key, attachment, string.
    pub missing: bool,
}

/// Whether a note is there for players of a level. With `plain`, what needs an extension, key, attachment or string
/// that not every instrument has is missing. Nothing for unpitched instruments.
pub fn compass(
    instrument: &Instrument,
    sounding: Pitch,
    level: Level,
    plain: bool,
    figures: &Figures,
) -> Option<Compass> {
    let outside_level = outside(&instrument.range(level)?, sounding);
    let outside_all = outside(&instrument.range(Level::Professional)?, sounding);
    let special = |register: &Register| register.concern.contains(&Concern::Special);
    let missing = plain && instrument.register_sounding(sounding).is_some_and(special);
    let verdict = match outside_level.abs() {
        _ if missing || outside_all != 0 => Verdict::Impossible,
        0 => Verdict::Easy,
        semitones if semitones > figures.outside_semitones => Verdict::Impossible,
        _ => Verdict::Hard,
    };
    Some(Compass { verdict, outside: outside_level, missing })
}

/// Whether a note is on the pedals: above where many pedalboards end it is awkward. Nothing where there are none.
pub fn pedalboard(instrument: &Instrument, sounding: Pitch) -> Option<Verdict> {
    let pedals = instrument.pedalboard.as_ref()?;
    let note = written(instrument, sounding);
    Some(match note {
        _ if note < pedals.written_min.midi() => Verdict::Impossible,
        _ if note <= pedals.usual_max.midi() => Verdict::Easy,
        _ if note <= pedals.written_max.midi() => Verdict::Awkward,
        _ => Verdict::Impossible,
    })
}

/// A register against a dynamic.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Colour<'a> {
    /// How well it lies.
    pub verdict: Verdict,
    /// The register.
    pub register: &'a Register,
    /// What speaks against the dynamic, the weightiest first.
    pub concern: Option<Concern>,
}

/// How a note's register agrees with its dynamic, and with how loud the others are. Nothing outside the registers.
pub fn colour(
    instrument: &Instrument,
    sounding: Pitch,
    loudness: Loudness,
    others: Loudness,
) -> Option<Colour<'_>> {
    let register = instrument.register_sounding(sounding)?;
    let has = |concern| register.concern.contains(&concern);
    let covered = has(Concern::NotLoud) && (loudness.is_loud() || others.is_loud());
    let (verdict, concern) = match () {
        () if has(Concern::NotSoft) && loudness.is_soft() => {
            (Verdict::Hard, Some(Concern::NotSoft))
        }
        () if covered => (Verdict::Awkward, Some(Concern::NotLoud)),
        () if has(Concern::Extreme) => (Verdict::Awkward, Some(Concern::Extreme)),
        () => (Verdict::Easy, None),
    };
    Some(Colour { verdict, register, concern })
}

/// The break that lies between two notes no more than a fifth apart: a zone has it in its middle.
pub fn break_between(instrument: &Instrument, notes: [Pitch; 2]) -> Option<&Zone> {
    let (low, high) = (notes[0].midi().min(notes[1].midi()), notes[0].midi().max(notes[1].midi()));
    let breaks = instrument.zones.iter().filter(|zone| zone.kind == ZoneKind::Break);
    breaks.filter(|_| high - low <= 7).find(|zone| {
        let ends = zone.range.sounding_min.midi() + zone.range.sounding_max.midi();
        let above = (ends + 1).div_euclid(2);
        low < above && above <= high
    })
}

/// A line at so many notes a second: awkward where it goes to and fro across a break.
pub fn alternation(
    instrument: &Instrument,
    line: &[Pitch],
    per_second: f64,
    figures: &Figures,
) -> Verdict {
    let to_and_fro = |three: &[Pitch]| {
        let back = three[0].midi() == three[2].midi();
        back && break_between(instrument, [three[0], three[1]]).is_some()
    };
    let quick = per_second >= figures.break_per_second;
    if quick && line.windows(3).any(to_and_fro) { Verdict::Awkward } else { Verdict::Easy }
}

/// A trill, or a quick alternation, of two notes: what the table says of the pair, easy where it says nothing.
pub fn trill(instrument: &Instrument, notes: [Pitch; 2]) -> Verdict {
    let sorted = |[a, b]: [i32; 2]| [a.min(b), a.max(b)];
    let asked = sorted(notes.map(|note| written(instrument, note)));
    let bad = instrument.bad_trills.iter().find(|bad| sorted(bad.pair.map(Pitch::midi)) == asked);
    bad.map_or(Verdict::Easy, |bad| bad.verdict)
}
