//! How fast: notes a second, by the way they are played.
//!
//! The limits are each row's own, comfortable figures for planning and no records; most are from memory.

use super::register::is_slow;
use super::{Figures, Loudness, Verdict};
use crate::instruments::{Instrument, Level};
use crate::pitch::Pitch;

/// How the notes of a passage begin.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Manner {
    /// As it comes: with free fingers.
    Plain,
    /// Each with its own tongue, bow or stroke.
    Detached,
    /// Under a slur.
    Slurred,
    /// Plucked, on an instrument that is bowed.
    Plucked,
    /// A syllable each.
    Syllables,
    /// With the feet.
    Feet,
}

/// A passage at an even pace.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Passage<'a> {
    /// What begins together, one after another, as sounding.
    pub chords: &'a [&'a [Pitch]],
    /// How many of them a second.
    pub per_second: f64,
    /// How they begin.
    pub manner: Manner,
}

/// How fast a passage is for its player.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Pace {
    /// How well it lies.
    pub verdict: Verdict,
    /// Notes a second that are comfortable.
    pub limit: f64,
}

/// Whether the second chord is struck where the first was: on the same keys, or strings.
fn is_same(instrument: &Instrument, first: &[Pitch], second: &[Pitch]) -> bool {
    let by_name = instrument.pedals.is_some() || instrument.levers.is_some();
    let equal = |a: &Pitch, b: &Pitch| if by_name { a == b } else { a.midi() == b.midi() };
    first.len() == second.len() && first.iter().zip(second).all(|(a, b)| equal(a, b))
}

fn is_octave(chord: &[Pitch]) -> bool {
    matches!(chord, [a, b] if (a.midi() - b.midi()).abs() == 12)
}

/// Notes a second that are comfortable for a passage, before slow registers are thought of.
fn limit(instrument: &Instrument, level: Level, passage: &Passage) -> Option<f64> {
    let at = |figure: Option<crate::instruments::ByLevel<f64>>| Some(figure?.at(level));
    let repeated = at(instrument.repeat_per_second);
    let free = at(instrument.slurred_per_second);
    let chords = passage.chords;
    if let Some(octaves) = at(instrument.octave_repeat_per_second)
        && chords.iter().all(|chord| is_octave(chord))
    {
        return Some(octaves);
    }
    let same = chords.windows(2).all(|pair| is_same(instrument, pair[0], pair[1]));
    match passage.manner {
        Manner::Feet => Some(instrument.pedalboard.as_ref()?.notes_per_second),
        Manner::Syllables => at(instrument.syllables_per_second).or(free),
        Manner::Plucked => at(instrument.pizz_per_second).or(repeated).or(free),
        Manner::Detached if level < Level::School && instrument.multiple_tonguing_common => {
            instrument.multiple_tonguing_per_second.or(repeated).or(free)
        }
        Manner::Detached => repeated.or(free),
        Manner::Plain if same => repeated.or(free),
        Manner::Plain | Manner::Slurred => free.or(repeated),
    }
}

/// How fast a passage is; nothing where the row has no figures. Notes in a register that is slow count twice.
pub fn pace(
    instrument: &Instrument,
    level: Level,
    passage: &Passage,
    figures: &Figures,
) -> Option<Pace> {
    let limit = limit(instrument, level, passage)?;
    let all = passage.chords.len().max(1) as f64;
    let slow = passage.chords.iter().filter(|chord| chord.iter().any(|n| is_slow(instrument, *n)));
    let limit = limit / (1.0 + slow.count() as f64 / all);
    Some(Pace { verdict: figures.pace.verdict(passage.per_second / limit), limit })
}

/// Tremolo that goes on for so many seconds without a rest: loud, it tires the arm.
pub fn tremolo(seconds: f64, loudness: Loudness, figures: &Figures) -> Verdict {
    let tires = loudness.is_loud() && seconds > figures.tremolo_seconds;
    if tires { Verdict::Awkward } else { Verdict::Easy }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::playability::testing::{pitches, row};

    fn asked(id: &str, level: Level, notes: &str, per_second: f64, manner: Manner) -> Pace {
        let notes = pitches(notes);
        let chords: Vec<&[Pitch]> = notes.chunks(1).collect();
        let passage = Passage { chords: &chords, per_second, manner };
        pace(row(id), level, &passage, &Figures::default()).unwrap()
    }

    fn limit(id: &str, level: Level, notes: &str, manner: Manner) -> f64 {
        asked(id, level, notes, 1.0, manner).limit
    }

    #[test]
    fn the_limits_of_section_nine() {
        use Level::{Advanced, Professional, School};
        assert_eq!(limit("violin", Professional, "A4 B4", Manner::Detached), 12.0);
        assert_eq!(limit("violin", Professional, "A4 B4", Manner::Slurred), 15.0);
        assert_eq!(limit("violin", Professional, "A4 B4", Manner::Plucked), 6.0);
        assert_eq!(limit("piano", Professional, "A4 A4", Manner::Plain), 10.0);
        assert_eq!(limit("piano", Professional, "A4 B4", Manner::Plain), 16.0);
        assert_eq!(limit("soprano", Professional, "A4 B4", Manner::Syllables), 7.0);
        assert_eq!(limit("flute", Advanced, "C5 C5", Manner::Detached), 14.0);
        assert_eq!(limit("flute", School, "C5 C5", Manner::Detached), 6.0);
        assert_eq!(limit("clarinet-in-b-flat", Advanced, "C5 C5", Manner::Detached), 7.5);
        assert_eq!(limit("organ", Professional, "C2 C3", Manner::Feet), 6.0);
    }

    /// Section 2: about 10 a second on a grand, 8 for advanced, 6 for school players; repeated octaves 7.
    #[test]
    fn one_key_and_octaves() {
        let levels = [Level::Professional, Level::Advanced, Level::School];
        assert_eq!(levels.map(|l| limit("piano", l, "A4 A4", Manner::Plain)), [10.0, 8.0, 6.0]);
        let octave = pitches("C4 C5");
        let chords = [octave.as_slice(); 2];
        let passage = Passage { chords: &chords, per_second: 7.0, manner: Manner::Plain };
        let found = pace(row("piano"), Level::Professional, &passage, &Figures::default());
        assert_eq!(found, Some(Pace { verdict: Verdict::Easy, limit: 7.0 }));
    }

    /// Section 3: fast repeats go over two strings of one sound.
    #[test]
    fn harp_repeats_by_homophones() {
        let found = |notes| asked("harp", Level::Professional, notes, 10.0, Manner::Plain).verdict;
        assert_eq!(found("D4 D4"), Verdict::Hard);
        assert_eq!(found("B#3 C4 B#3 C4"), Verdict::Easy);
    }

    #[test]
    fn the_scale_of_verdicts() {
        let found = |rate| asked("violin", Level::Professional, "A4 B4", rate, Manner::Detached);
        let verdicts = [12.0, 13.0, 20.0, 22.0].map(|rate| found(rate).verdict);
        use Verdict::{Awkward, Easy, Hard, Impossible};
        assert_eq!(verdicts, [Easy, Awkward, Hard, Impossible]);
    }

    #[test]
    fn slow_registers_count_twice() {
        assert_eq!(limit("tuba", Level::Professional, "C1 C1", Manner::Detached), 4.0);
        assert_eq!(limit("tuba", Level::Professional, "F1 F1", Manner::Detached), 8.0);
    }

    #[test]
    fn only_loud_tremolo_tires() {
        let figures = Figures::default();
        assert_eq!(tremolo(60.0, Loudness::Ff, &figures), Verdict::Awkward);
        assert_eq!(tremolo(600.0, Loudness::P, &figures), Verdict::Easy);
        assert_eq!(tremolo(20.0, Loudness::Ff, &figures), Verdict::Easy);
    }

    #[test]
    fn every_pitched_row_has_a_limit() {
        for instrument in crate::instruments::instruments() {
            let note = instrument.range(Level::School).map(|range| range.sounding_max);
            let note = note.as_slice();
            let passage = Passage { chords: &[note], per_second: 1.0, manner: Manner::Plain };
            let found = pace(instrument, Level::School, &passage, &Figures::default());
            assert!(found.is_some_and(|pace| pace.limit > 0.0), "{}", instrument.id);
        }
    }
}
