//! Whether a set of names can be read as a chord in thirds, complete or not.
//!
//! A reader finds a root for which the other names are third, fifth and seventh; ninths, elevenths and
//! thirteenths need a seventh under them, and altered ones a dominant seventh (common practice, no source;
//! triads and sevenths as in Open Music Theory, "Triads" and "Seventh chords").

use crate::interval::Interval;
use crate::pitch::PitchName;

/// Whether some member is the root of a chord in thirds that all the others belong to.
pub fn reads_in_thirds(names: &[PitchName]) -> bool {
    names.iter().any(|&root| is_root(root, names))
}

fn is_root(root: PitchName, names: &[PitchName]) -> bool {
    let intervals: Vec<(i32, i32)> = names
        .iter()
        .filter(|&&name| name != root)
        .map(|&name| Interval::between_names(root, name))
        .map(|interval| (interval.steps, interval.semitones))
        .collect();
    let has = |interval: (i32, i32)| intervals.contains(&interval);
    let diminished_seventh = has((6, 9));
    let seventh = has((6, 10)) || has((6, 11));
    let dominant = has((2, 4)) && has((6, 10));
    intervals.iter().all(|interval| match interval {
        (2, 3) | (4, 6) => true,
        // A fifth is augmented over a major third alone.
        (4, 8) => !diminished_seventh && !has((2, 3)) && !has((4, 6)),
        (2, 4) | (4, 7) | (6, 10) | (6, 11) => !diminished_seventh,
        (6, 9) => !seventh,
        // Ninth, eleventh, thirteenth as they stand in the scale.
        (1, 2) | (3, 5) | (5, 9) => seventh,
        // Lowered and raised ninth, raised eleventh, lowered thirteenth.
        (1, 1) | (1, 3) | (3, 6) | (5, 8) => dominant,
        _ => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reads(names: &str) -> bool {
        let names: Vec<PitchName> = names.split(' ').map(|n| n.parse().unwrap()).collect();
        reads_in_thirds(&names)
    }

    #[test]
    fn chords_in_thirds() {
        for names in ["C E G", "E G C", "D F G#", "B D F Ab", "C E Ab Bb", "G B Eb F", "F# A Eb"] {
            assert!(reads(names), "{names}");
        }
    }

    #[test]
    fn hidden_chords() {
        for names in
            ["E Ab B", "Db F G#", "C Fb G", "B D E# Ab", "Gb A B#", "F A B#", "A# D F", "B# E G Bb"]
        {
            assert!(!reads(names), "{names}");
        }
    }
}
