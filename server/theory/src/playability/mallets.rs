//! Mallets over bars: as many notes as mallets, shared between two hands.
//!
//! Four mallets and about an octave a hand low down are from Solomon, *How to Write for Percussion* (excerpt).

use super::Verdict;
use crate::instruments::{Instrument, Level};
use crate::pitch::Pitch;

/// What is in the way of mallets.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum MalletObstacle {
    /// More notes than mallets.
    TooManyNotes {
        /// How many mallets.
        mallets: usize,
    },
    /// More mallets than the instrument is usually played with.
    ManyMallets,
    /// Two mallets of one hand too far apart.
    Span {
        /// Semitones between them.
        semitones: i32,
    },
}

/// How bars are struck together.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Struck {
    /// How well it lies.
    pub verdict: Verdict,
    /// How many of the notes, counted from the lowest, are for the left hand.
    pub left: usize,
    /// What makes it hard or impossible.
    pub obstacle: Option<MalletObstacle>,
}

/// As many mallets as anybody holds.
const FOUR: usize = 4;

/// How notes lie under mallets: as many as are said, or as the row has. Nothing where the row has no figures.
///
/// In the lowest octave a hand reaches what the row calls comfortable; where bars are narrower it reaches what is
/// possible.
pub fn mallets(instrument: &Instrument, notes: &[Pitch], said: Option<usize>) -> Option<Struck> {
    let stops = instrument.stops.as_ref()?;
    let usual = stops.max_notes?;
    let in_hand = stops.max_notes_per_hand?;
    let mallets = said.unwrap_or(usual.max(FOUR));
    let mut midi: Vec<i32> = notes.iter().map(|note| note.midi()).collect();
    midi.sort_unstable();
    midi.dedup();
    let too_many = MalletObstacle::TooManyNotes { mallets };
    if midi.len() > mallets {
        return Some(Struck { verdict: Verdict::Impossible, left: 0, obstacle: Some(too_many) });
    }
    let lowest = instrument.range(Level::Professional)?.sounding_min.midi();
    let easy = stops.comfortable_span_semitones;
    let widest = stops.possible_span_semitones.or(easy);
    let hand = |notes: &[i32]| {
        let (Some(low), Some(high)) = (notes.first(), notes.last()) else { return Verdict::Easy };
        let (span, is_low) = (high - low, low - lowest < 12);
        match (easy, widest) {
            (Some(easy), Some(_)) if span <= easy => Verdict::Easy,
            (Some(_), Some(widest)) if span <= widest && !is_low => Verdict::Playable,
            (Some(_), Some(widest)) if span <= widest => Verdict::Hard,
            (Some(_), Some(_)) => Verdict::Impossible,
            _ => Verdict::Easy,
        }
    };
    let most = in_hand.max(mallets.div_ceil(2));
    let ways = (0..=midi.len()).filter(|left| *left <= most && midi.len() - left <= most);
    let ways = ways.map(|left| {
        let (below, above) = midi.split_at(left);
        // The hand with more notes has less freedom: of two good ways the even one.
        (hand(below).max(hand(above)), left.abs_diff(midi.len() - left), left)
    });
    let (verdict, _, left) = ways.min()?;
    let widest = [&midi[..left], &midi[left..]];
    let span = |hand: &[i32]| hand.last().zip(hand.first()).map_or(0, |(high, low)| high - low);
    let semitones = widest.into_iter().map(span).max().unwrap_or(0);
    let unusual = midi.len() > usual;
    let obstacle = match verdict {
        Verdict::Hard | Verdict::Impossible => Some(MalletObstacle::Span { semitones }),
        _ => unusual.then_some(MalletObstacle::ManyMallets),
    };
    let verdict = if unusual && said.is_none() { verdict.max(Verdict::Hard) } else { verdict };
    Some(Struck { verdict, left, obstacle })
}

#[cfg(test)]
mod tests {
    //! Section 7 of the specification, statement by statement.

    use super::*;
    use crate::playability::testing::{pitches, row};

    fn asked(id: &str, notes: &str, said: Option<usize>) -> Struck {
        mallets(row(id), &pitches(notes), said).unwrap()
    }

    #[test]
    fn as_many_notes_as_mallets() {
        let three = asked("marimba", "C4 E4 G4", Some(2));
        assert_eq!(three.obstacle, Some(MalletObstacle::TooManyNotes { mallets: 2 }));
        assert_eq!(asked("marimba", "C4 E4", Some(2)).verdict, Verdict::Easy);
        let five = asked("marimba", "C3 G3 C4 E4 G4", Some(4));
        assert_eq!(five.verdict, Verdict::Impossible);
    }

    #[test]
    fn two_of_four_mallets_in_each_hand() {
        let four = asked("vibraphone", "F3 C4 A4 E5", Some(4));
        assert_eq!((four.verdict, four.left), (Verdict::Easy, 2));
        // Three notes close together and one far off leave no hand for the third.
        let spread = asked("marimba", "C3 C5 D5 E5", Some(4));
        assert_eq!(spread.obstacle, Some(MalletObstacle::Span { semitones: 24 }));
    }

    #[test]
    fn an_octave_a_hand_low_down_and_more_on_narrow_bars() {
        assert_eq!(asked("marimba", "C2 C3 C5 E5", Some(4)).verdict, Verdict::Easy);
        assert_eq!(asked("marimba", "C2 E3 C5 E5", Some(4)).verdict, Verdict::Hard);
        assert_eq!(asked("marimba", "C4 E5 G5 C6", Some(4)).verdict, Verdict::Playable);
        assert_eq!(asked("marimba", "C4 F5 G5 C6", Some(4)).verdict, Verdict::Impossible);
    }

    #[test]
    fn more_mallets_than_usual() {
        assert_eq!(asked("glockenspiel", "G5 C6", None).verdict, Verdict::Easy);
        let three = asked("glockenspiel", "G5 B5 D6", None);
        assert_eq!(
            (three.verdict, three.obstacle),
            (Verdict::Hard, Some(MalletObstacle::ManyMallets))
        );
        assert_eq!(asked("glockenspiel", "G5 B5 D6 F6 A6", None).verdict, Verdict::Impossible);
        assert!(mallets(row("flute"), &pitches("C5"), None).is_none());
    }
}
