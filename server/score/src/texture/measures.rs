//! The formulas, over plain numbers: register, rhythm, distributions and how far they are apart.
//!
//! Entropy: C. E. Shannon, "A Mathematical Theory of Communication" (1948). Contrast of successive lengths (nPVI):
//! E. Grabe and E. L. Low (2002), A. Patel and J. Daniele (2003). Distance of distributions: J. Lin, "Divergence
//! Measures Based on the Shannon Entropy", *IEEE Transactions on Information Theory* 37(1), 1991. Distance of rhythms:
//! G. Toussaint, "A comparison of rhythmic similarity measures" (2004). (All but the last from memory.) The rest is
//! common practice, no source.

/// The mean of values, each as heavy as its weight: of pitches by their lengths, the register. None without weight.
pub fn weighted_mean(values: impl IntoIterator<Item = (f64, f64)>) -> Option<f64> {
    let (mut sum, mut weight) = (0.0, 0.0);
    for (value, heavy) in values {
        sum += value * heavy;
        weight += heavy;
    }
    (weight > 0.0).then(|| sum / weight)
}

/// The value below which a share of the weight lies; `values` are in order.
pub fn quantile(values: &[(f64, f64)], share: f64) -> Option<f64> {
    let all: f64 = values.iter().map(|(_, weight)| weight).sum();
    let mut reached = 0.0;
    let found = values.iter().find(|(_, weight)| {
        reached += weight;
        reached >= all * share
    });
    found.or(values.last()).map(|(value, _)| *value)
}

/// `-Σ q log2 q` over shares, in bits: 0 where all is one, 1 where two are even.
pub fn entropy(weights: impl IntoIterator<Item = f64>) -> f64 {
    let weights: Vec<f64> = weights.into_iter().filter(|weight| *weight > 0.0).collect();
    let all: f64 = weights.iter().sum();
    let bits = weights.iter().map(|weight| weight / all).map(|share| -share * share.log2());
    bits.sum::<f64>().max(0.0)
}

/// The same over how often each value occurs.
pub fn entropy_of<T: Ord>(values: impl IntoIterator<Item = T>) -> f64 {
    let mut values: Vec<T> = values.into_iter().collect();
    values.sort();
    entropy(values.chunk_by(|a, b| a == b).map(|same| same.len() as f64))
}

/// How much each length differs from the next, a hundredth of their mean: 0 in even rhythm. None for fewer than two.
pub fn npvi(lengths: &[f64]) -> Option<f64> {
    let pairs = lengths.windows(2).map(|pair| {
        let mean = (pair[0] + pair[1]) / 2.0;
        if mean > 0.0 { (pair[0] - pair[1]).abs() / mean } else { 0.0 }
    });
    let count = pairs.len();
    (count > 0).then(|| 100.0 / count as f64 * pairs.sum::<f64>())
}

/// In how many places two rhythms on one grid differ.
pub fn hamming(a: &[bool], b: &[bool]) -> usize {
    let longer = a.len().abs_diff(b.len());
    longer + a.iter().zip(b).filter(|(a, b)| a != b).count()
}

/// Shares that add up to 1; all nothing where there is nothing.
pub fn shares<const N: usize>(weights: [f64; N]) -> [f64; N] {
    let all: f64 = weights.iter().sum();
    if all > 0.0 { weights.map(|weight| weight / all) } else { weights }
}

/// The Jensen-Shannon divergence of two distributions, base 2: 0 where they are one, 1 where they share nothing. Its
/// root is a distance.
///
/// `(KL(P, M) + KL(Q, M)) / 2` with `M = (P + Q) / 2`, which is `H(M) - (H(P) + H(Q)) / 2`.
pub fn divergence<const N: usize>(p: &[f64; N], q: &[f64; N]) -> f64 {
    let bits = |share: f64| if share > 0.0 { -share * share.log2() } else { 0.0 };
    let terms = p.iter().zip(q).map(|(&p, &q)| bits((p + q) / 2.0) - (bits(p) + bits(q)) / 2.0);
    terms.sum::<f64>().clamp(0.0, 1.0)
}

/// How many edits make one sequence another, each at the cost `cost` says for replacing, 1 for leaving out or adding.
pub fn edit_distance<T>(a: &[T], b: &[T], cost: impl Fn(&T, &T) -> f64) -> f64 {
    let mut row: Vec<f64> = (0..=b.len()).map(|place| place as f64).collect();
    for (at, from) in a.iter().enumerate() {
        let mut before = row[0];
        row[0] = (at + 1) as f64;
        for (place, to) in b.iter().enumerate() {
            let replaced = before + cost(from, to);
            before = row[place + 1];
            row[place + 1] = replaced.min(before + 1.0).min(row[place] + 1.0);
        }
    }
    row.last().copied().unwrap_or_default()
}

/// The correlation of two rows of numbers, -1 to 1; none where one of them is level.
pub fn correlation<const N: usize>(a: &[f64; N], b: &[f64; N]) -> Option<f64> {
    let mean = |row: &[f64; N]| row.iter().sum::<f64>() / N as f64;
    let (middle_a, middle_b) = (mean(a), mean(b));
    let (mut both, mut own_a, mut own_b) = (0.0, 0.0, 0.0);
    for (a, b) in a.iter().zip(b) {
        let (a, b) = (a - middle_a, b - middle_b);
        both += a * b;
        own_a += a * a;
        own_b += b * b;
    }
    let spread = (own_a * own_b).sqrt();
    (spread > 0.0).then(|| both / spread)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, wanted: f64) {
        assert!((value - wanted).abs() < 0.0006, "{value} is not {wanted}");
    }

    #[test]
    fn register() {
        near(weighted_mean([(60.0, 2.0), (79.0, 1.0)]).unwrap(), 66.333);
        assert_eq!(weighted_mean([]), None);
        assert_eq!(quantile(&[(60.0, 8.0), (79.0, 2.0)], 0.5), Some(60.0));
        assert_eq!(quantile(&[(60.0, 8.0), (79.0, 2.0)], 0.9), Some(79.0));
    }

    #[test]
    fn rhythm() {
        near(entropy_of([1, 1, 1, 1, 4]), 0.722);
        near(entropy([4.0, 4.0, 4.0, 4.0]), 2.0);
        assert_eq!(entropy([16.0]), 0.0);
        near(npvi(&[2.0, 1.0, 2.0, 1.0]).unwrap(), 66.667);
        assert_eq!(npvi(&[1.0]), None);
        let grid = |text: &str| text.chars().map(|c| c == 'x').collect::<Vec<_>>();
        assert_eq!(hamming(&grid("x..x..x."), &grid("x.x.x.x.")), 3);
    }

    fn classes(weights: &[(usize, f64)]) -> [f64; 12] {
        let mut all = [0.0; 12];
        weights.iter().for_each(|(class, weight)| all[*class] += weight);
        shares(all)
    }

    #[test]
    fn pitch_classes() {
        let major = classes(&[(0, 2.0), (4, 1.0), (7, 1.0)]);
        assert_eq!((major[0], major[4], major[7]), (0.5, 0.25, 0.25));
        let minor = classes(&[(0, 0.5), (3, 0.25), (7, 0.25)]);
        let far = classes(&[(6, 0.5), (10, 0.25), (1, 0.25)]);
        near(divergence(&major, &minor), 0.25);
        near(divergence(&major, &far), 1.0);
        let four = classes(&[(0, 1.0), (2, 1.0), (4, 1.0), (7, 1.0)]);
        near(divergence(&four, &classes(&[(0, 0.5), (7, 0.5)])), 0.311);
        assert_eq!(divergence(&major, &major), 0.0);
    }

    #[test]
    fn edits() {
        let cost = |a: &char, b: &char| f64::from(u8::from(a != b));
        let distance = |a: &str, b: &str| {
            edit_distance(&a.chars().collect::<Vec<_>>(), &b.chars().collect::<Vec<_>>(), cost)
        };
        assert_eq!(distance("abcd", "abcd"), 0.0);
        assert_eq!(distance("abcd", "axcd"), 1.0);
        assert_eq!(distance("abcd", "acd"), 1.0);
        assert_eq!(distance("", "ab"), 2.0);
    }

    #[test]
    fn correlations() {
        assert_eq!(correlation(&[1.0, 2.0], &[3.0, 5.0]), Some(1.0));
        assert_eq!(correlation(&[1.0, 2.0], &[5.0, 3.0]), Some(-1.0));
        assert_eq!(correlation(&[1.0, 1.0], &[5.0, 3.0]), None);
    }
}
