//! How well pitch classes fit the 24 keys: the correlation of their shares with the profile of each.
//!
//! C. L. Krumhansl, *Cognitive Foundations of Musical Pitch* (1990); the profiles (Krumhansl and Kessler 1982) are from
//! memory. It is a description of a window, not the key that is told: that is the search of `harmony`.

use super::measures::correlation;

const MAJOR: [f64; 12] = [6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88];
const MINOR: [f64; 12] = [6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17];

/// A key that pitch classes fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeyFit {
    /// The pitch class of its tonic.
    pub tonic: u8,
    /// Whether it is minor.
    pub minor: bool,
    /// The correlation, at most 1.
    pub fit: f64,
}

/// The key that the shares of pitch classes fit best; none where all are alike.
pub fn best_key(classes: &[f64; 12]) -> Option<KeyFit> {
    let keys = (0..12u8).flat_map(|tonic| [(tonic, false), (tonic, true)]);
    let fits = keys.filter_map(|(tonic, minor)| {
        let mut turned = *classes;
        turned.rotate_left(tonic.into());
        let fit = correlation(&turned, if minor { &MINOR } else { &MAJOR })?;
        Some(KeyFit { tonic, minor, fit })
    });
    fits.max_by(|a, b| a.fit.total_cmp(&b.fit))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(notes: &[usize]) -> Option<(u8, bool)> {
        let mut classes = [0.0; 12];
        notes.iter().for_each(|note| classes[*note] += 1.0);
        best_key(&classes).map(|key| (key.tonic, key.minor))
    }

    #[test]
    fn keys() {
        assert_eq!(of(&[0, 2, 4, 5, 7, 9, 11, 0, 4, 7]), Some((0, false)));
        assert_eq!(of(&[9, 11, 0, 2, 4, 5, 8, 9, 0, 4]), Some((9, true)));
        assert_eq!(of(&[2, 4, 6, 7, 9, 11, 1, 2, 6, 9]), Some((2, false)));
        assert_eq!(of(&[]), None);
    }
}
