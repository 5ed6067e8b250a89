//! What is played in each bar, note by note, and how much of it two bars share.
//!
//! A bar is the set of its onsets, each with its place in the bar and its pitch class; two bars share
//! `2 |A ∩ B| / (|A| + |B|)` (the coefficient of L. R. Dice, "Measures of the Amount of Ecologic Association Between
//! Species", *Ecology* 26(3), 1945, from memory), whoever plays it and in whatever octave.

use super::table::{QUARTER, Table};

/// So many places a quarter has: 48ths tell all but the rarest tuplets apart.
const PLACES: i64 = 48;

/// The onsets of each bar.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Material {
    /// By bar, in order: place times twelve, plus pitch class.
    bars: Vec<Vec<u32>>,
}

impl Material {
    /// Of a table; only parts with a pitch.
    pub fn of(table: &Table) -> Material {
        let mut bars = vec![Vec::new(); table.bars.len()];
        for sound in table.sounds.iter().filter(|sound| table.pitched[sound.part as usize]) {
            let bar = sound.bar as usize;
            let place = (sound.onset - table.bars[bar].start) * PLACES / QUARTER;
            bars[bar].push((place.max(0) as u32) * 12 + sound.midi.rem_euclid(12) as u32);
        }
        for bar in &mut bars {
            bar.sort_unstable();
            bar.dedup();
        }
        Material { bars }
    }

    /// How much two bars share, 0 to 1; two bars of silence all.
    pub fn shared(&self, a: usize, b: usize) -> f64 {
        let (Some(a), Some(b)) = (self.bars.get(a), self.bars.get(b)) else { return 0.0 };
        dice(a, b)
    }

    /// The same once the second bar is so many semitones higher.
    pub fn shared_transposed(&self, a: usize, b: usize, semitones: u32) -> f64 {
        let (Some(a), Some(b)) = (self.bars.get(a), self.bars.get(b)) else { return 0.0 };
        let higher = |key: &u32| key / 12 * 12 + (key % 12 + semitones) % 12;
        let mut moved: Vec<u32> = b.iter().map(higher).collect();
        moved.sort_unstable();
        dice(a, &moved)
    }
}

/// Both are in order and hold nothing twice.
fn dice(a: &[u32], b: &[u32]) -> f64 {
    if a.is_empty() && b.is_empty() {
        return 1.0;
    }
    let (mut i, mut j, mut shared) = (0, 0, 0);
    while let (Some(x), Some(y)) = (a.get(i), b.get(j)) {
        shared += usize::from(x == y);
        i += usize::from(x <= y);
        j += usize::from(y <= x);
    }
    2.0 * shared as f64 / (a.len() + b.len()) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_two_bars_share() {
        let material =
            Material { bars: vec![vec![0, 16, 31], vec![0, 16, 40], vec![2, 18, 33], vec![]] };
        assert!((material.shared(0, 1) - 2.0 / 3.0).abs() < 1e-9);
        assert_eq!(material.shared(0, 2), 0.0);
        assert_eq!(material.shared(0, 3), 0.0);
        assert_eq!(material.shared(3, 3), 1.0);
        assert_eq!(material.shared_transposed(2, 0, 2), 1.0);
    }
}
