//! Instruments that have only some notes: whistles, pipes, natural brass, free reeds.
//!
//! Which notes there are stands in the rows. Pitches are as sounding; the rows' written notes are moved by their
//! transposition.

use super::Verdict;
use super::register::written;
use crate::instruments::{Instrument, NaturalPolicy};
use crate::pitch::Pitch;

/// How a note is there, whatever its name: easy where it is; where it is not, what the row's policy says. (The table keeps
/// "a caution", and for professionals a hint, for every policy but that of notes which do not exist.)
pub fn note(instrument: &Instrument, sounding: Pitch) -> Verdict {
    let midi = written(instrument, sounding);
    let among = |notes: &[Pitch]| notes.iter().any(|note| note.midi() == midi);
    if !instrument.fixed_pitches.is_empty() {
        return if among(&instrument.fixed_pitches) { Verdict::Easy } else { Verdict::Impossible };
    }
    let classes = &instrument.natural_pitch_classes;
    if classes.is_empty() && instrument.natural_pitches.is_empty() {
        return Verdict::Easy;
    }
    let class = midi.rem_euclid(12);
    let in_class = classes.iter().any(|name| i32::from(name.pitch_class()) == class);
    match instrument.natural_policy {
        _ if in_class || among(&instrument.natural_pitches) => Verdict::Easy,
        Some(NaturalPolicy::OthersDoNotExist) => Verdict::Impossible,
        Some(NaturalPolicy::OthersNeedBending) => Verdict::Hard,
        _ => Verdict::Awkward,
    }
}

/// What a pipe reads under `K:HP`, where the sharps are left out. Written pitches.
pub fn read_under_hp(instrument: &Instrument, written: Pitch) -> Pitch {
    let pairs = instrument.khp_reads.iter().filter_map(|pair| pair.split_once('='));
    let mut pairs =
        pairs.filter_map(|(typed, read)| Some((typed.parse().ok()?, read.parse().ok()?)));
    pairs.find(|(typed, _): &(Pitch, Pitch)| *typed == written).map_or(written, |(_, read)| read)
}

/// One thing after another in a line.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)]
pub enum Sign {
    Note(Pitch),
    Grace(Pitch),
    Rest,
}

/// What an instrument does not do.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Fault {
    /// A note it does not have, or has only by an art.
    Note(Verdict),
    /// A rest, where the sound goes on and on: impossible.
    Rest,
    /// A note equal to the one before, with no grace note between: impossible, for they run together.
    Equal,
}

impl Fault {
    /// How bad it is.
    pub fn verdict(self) -> Verdict {
        match self {
            Fault::Note(verdict) => verdict,
            Fault::Rest | Fault::Equal => Verdict::Impossible,
        }
    }
}

/// What in a line its instrument does not do, each with its place. Rests before the first and after the last note are
/// none.
pub fn line(instrument: &Instrument, signs: &[Sign]) -> Vec<(usize, Fault)> {
    let is_note = |sign: &Sign| matches!(sign, Sign::Note(_));
    let last = signs.iter().rposition(is_note).unwrap_or(0);
    let mut found = Vec::new();
    let mut before: Option<Pitch> = None;
    let mut grace = false;
    for (place, sign) in signs.iter().enumerate() {
        match sign {
            Sign::Rest => {
                if instrument.continuous_sound && before.is_some() && place < last {
                    found.push((place, Fault::Rest));
                }
                grace = true;
            }
            Sign::Grace(pitch) | Sign::Note(pitch) => {
                let verdict = note(instrument, *pitch);
                if verdict > Verdict::Easy {
                    found.push((place, Fault::Note(verdict)));
                }
                if is_note(sign) {
                    let equal = before.is_some_and(|before| before.midi() == pitch.midi());
                    if instrument.equal_notes_need_grace && equal && !grace {
                        found.push((place, Fault::Equal));
                    }
                    before = Some(*pitch);
                }
                grace = !is_note(sign);
            }
        }
    }
    found
}

/// Whether notes at once come with one direction of the breath or bellows; true where the row does not say which has what.
pub fn is_one_direction(instrument: &Instrument, sounding: &[Pitch]) -> bool {
    let all = |notes: &[Pitch]| {
        let among = |midi| notes.iter().any(|note| note.midi() == midi);
        sounding.iter().all(|note| among(written(instrument, *note)))
    };
    let known = !instrument.blow.is_empty() || !instrument.draw.is_empty();
    !known || sounding.len() < 2 || all(&instrument.blow) || all(&instrument.draw)
}

#[cfg(test)]
mod tests {
    //! Section 9 of the specification, "Note-set".

    use super::*;
    use crate::playability::testing::{pitch, pitches, row};

    /// A line as written: `z` a rest, `{G5}` a grace note.
    fn faults(id: &str, text: &str) -> Vec<(usize, Fault)> {
        let sounding = |text: &str| row(id).transposition.unwrap().sounding(pitch(text));
        let sign = |word: &str| match word.strip_prefix('{') {
            _ if word == "z" => Sign::Rest,
            Some(grace) => Sign::Grace(sounding(grace.trim_end_matches('}'))),
            None => Sign::Note(sounding(word)),
        };
        line(row(id), &text.split(' ').map(sign).collect::<Vec<_>>())
    }

    const PIPE: &str = "great-highland-bagpipe";

    #[test]
    fn fixed_notes() {
        assert_eq!(faults(PIPE, "A4 B4 C#5 E5"), []);
        assert_eq!(faults(PIPE, "A4 C5"), [(1, Fault::Note(Verdict::Impossible))]);
        assert_eq!(faults(PIPE, "A4 Db5"), []);
    }

    #[test]
    fn a_pipe_does_not_rest() {
        assert_eq!(faults(PIPE, "z A4 z B4 z"), [(2, Fault::Rest)]);
        assert_eq!(faults("tin-whistle", "D4 z E4"), []);
    }

    #[test]
    fn equal_notes_need_a_grace_note() {
        assert_eq!(faults(PIPE, "E5 E5"), [(1, Fault::Equal)]);
        assert_eq!(faults(PIPE, "E5 {G5} E5"), []);
        assert_eq!(faults("tin-whistle", "E4 E4"), []);
    }

    #[test]
    fn other_notes_by_policy() {
        let verdict = |id: &str, note_written: &str| {
            let sounding = row(id).transposition.unwrap().sounding(pitch(note_written));
            note(row(id), sounding)
        };
        assert_eq!(verdict("tin-whistle", "G#4"), Verdict::Awkward);
        assert_eq!(verdict("natural-trumpet", "A4"), Verdict::Impossible);
        assert_eq!(verdict("natural-horn", "A4"), Verdict::Awkward);
        assert_eq!(verdict("diatonic-harmonica", "F4"), Verdict::Hard);
        assert_eq!(verdict("melodeon", "G#4"), Verdict::Awkward);
        assert_eq!(verdict("melodeon", "G5"), Verdict::Easy);
        assert_eq!(verdict("flute", "G#4"), Verdict::Easy);
    }

    #[test]
    fn a_chord_of_reeds_has_one_direction() {
        let harmonica = row("diatonic-harmonica");
        assert!(is_one_direction(harmonica, &pitches("C4 E4 G4")));
        assert!(is_one_direction(harmonica, &pitches("G4 B4 D5")));
        assert!(!is_one_direction(harmonica, &pitches("C4 D4")));
        assert!(is_one_direction(row("melodeon"), &pitches("C4 D4")));
    }

    #[test]
    fn pipe_music_leaves_the_sharps_out() {
        let read = |note| read_under_hp(row(PIPE), pitch(note)).to_string();
        assert_eq!([read("C5"), read("F5"), read("A4"), read("C#5")], ["C#5", "F#5", "A4", "C#5"]);
        assert_eq!(read_under_hp(row("flute"), pitch("C5")), pitch("C5"));
    }
}
