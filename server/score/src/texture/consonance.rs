//! How consonant what sounds together is, by the intervals in it.
//!
//! Sum over all pairs of an index for the class of their interval: D. Huron, "Interval-Class Content in Equally
//! Tempered Pitch-Class Sets", *Music Perception* 11(3), 1994, 289-305. The six numbers are from memory. The share of
//! dissonant pairs is our own.

/// From a semitone (or major seventh) to a tritone.
const INDEX: [f64; 6] = [-1.428, -0.582, 0.594, 0.386, 1.240, -0.453];

/// What is heard together: a bit for each pitch class.
pub type Classes = u16;

/// How often each interval class from 1 to 6 occurs among pitch classes.
pub fn interval_classes(classes: Classes) -> [u32; 6] {
    let mut counts = [0; 6];
    for low in 0..12 {
        for high in low + 1..12 {
            if classes >> low & 1 == 1 && classes >> high & 1 == 1 {
                let apart: usize = high - low;
                counts[apart.min(12 - apart) - 1] += 1;
            }
        }
    }
    counts
}

/// The sum over all pairs.
pub fn sum(classes: Classes) -> f64 {
    let counts = interval_classes(classes);
    counts.iter().zip(INDEX).map(|(count, index)| f64::from(*count) * index).sum()
}

/// The mean over all pairs, so that chords of different size compare; none for fewer than two pitch classes.
pub fn mean(classes: Classes) -> Option<f64> {
    let pairs = interval_classes(classes).iter().sum::<u32>();
    (pairs > 0).then(|| sum(classes) / f64::from(pairs))
}

/// The share of seconds, sevenths and tritones among all pairs.
pub fn dissonant_share(classes: Classes) -> Option<f64> {
    let counts = interval_classes(classes);
    let pairs = counts.iter().sum::<u32>();
    let harsh = counts[0] + counts[1] + counts[5];
    (pairs > 0).then(|| f64::from(harsh) / f64::from(pairs))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(classes: &[u32]) -> Classes {
        classes.iter().fold(0, |all, class| all | 1 << class)
    }

    /// Notes, vector, sum, mean.
    const CASES: [(&[u32], [u32; 6], f64, f64); 11] = [
        (&[0, 4, 7], [0, 0, 1, 1, 1, 0], 2.220, 0.740),
        (&[0, 4, 8], [0, 0, 0, 3, 0, 0], 1.158, 0.386),
        (&[0, 3, 6], [0, 0, 2, 0, 0, 1], 0.735, 0.245),
        (&[0, 3, 7, 10], [0, 1, 2, 1, 2, 0], 3.472, 0.579),
        (&[0, 4, 7, 11], [1, 0, 1, 2, 2, 0], 2.418, 0.403),
        (&[0, 4, 7, 10], [0, 1, 2, 1, 1, 1], 1.779, 0.297),
        (&[0, 3, 7, 11], [1, 0, 1, 3, 1, 0], 1.564, 0.261),
        (&[0, 3, 6, 9], [0, 0, 4, 0, 0, 2], 1.470, 0.245),
        (&[0, 5, 10], [0, 1, 0, 0, 2, 0], 1.898, 0.633),
        (&[0, 2, 4, 6, 9, 10], [1, 4, 2, 4, 2, 2], 0.550, 0.037),
        (&[0, 1, 2], [2, 1, 0, 0, 0, 0], -3.438, -1.146),
    ];

    #[test]
    fn chords() {
        for (notes, vector, wanted, each) in CASES {
            assert_eq!(interval_classes(set(notes)), vector, "{notes:?}");
            assert!((sum(set(notes)) - wanted).abs() < 0.0006, "{notes:?}");
            assert!((mean(set(notes)).unwrap() - each).abs() < 0.0006, "{notes:?}");
        }
        assert_eq!(mean(set(&[3])), None);
    }

    #[test]
    fn dissonant_pairs() {
        assert!((dissonant_share(set(&[0, 4, 7, 10])).unwrap() - 1.0 / 3.0).abs() < 1e-9);
        assert_eq!(dissonant_share(set(&[0, 1, 2])), Some(1.0));
        assert_eq!(dissonant_share(set(&[0, 4, 7])), Some(0.0));
    }
}
