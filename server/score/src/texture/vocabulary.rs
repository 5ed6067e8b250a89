//! The chords a piece uses, and how well each tells which comes next.
//!
//! A chord is named by its degree in the local key, inversions apart from each other as its figures say. The entropy of
//! the vocabulary is `H = -Σ p(a) log2 p(a)`, that of the next chord once one is known
//! `H' = -Σ p(a, b) log2 (p(a, b) / p(a))`, over the pairs of the piece itself (C. E. Shannon 1948: a chain of the first
//! order). What is predictable is `1 - H' / H`, with both over the same chords, those that follow one. In a short piece
//! few pairs come twice, so that `H'` is low by chance: compare pieces of like length only. The surprise of one chord is
//! `-log2 (p(a, b) / p(a))`.

use super::measures::entropy;
use crate::harmony::Harmony;
use std::collections::BTreeMap;

/// A chord of the vocabulary.
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    /// Its degree.
    pub degree: String,
    /// How often it comes.
    pub count: usize,
}

/// The chords of a piece.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Vocabulary {
    /// The chords, the most frequent first.
    pub words: Vec<Word>,
    /// The entropy of the chords, in bits.
    pub entropy: f64,
    /// The entropy of the next chord once one is known, in bits.
    pub next_entropy: f64,
    /// How much of the next chord is told by the one before, 0 to 1; none where there is nothing to tell.
    pub predictable: Option<f64>,
}

/// The vocabulary of some harmonies.
pub fn vocabulary(harmonies: &[Harmony]) -> Vocabulary {
    let mut chords: Vec<&str> = Vec::new();
    for harmony in harmonies {
        let Some(heading) = &harmony.chord else { continue };
        // A chord that goes on is not its own successor.
        if chords.last().is_none_or(|last| *last != heading.degree) {
            chords.push(&heading.degree);
        }
    }
    of(&chords)
}

fn of(chords: &[&str]) -> Vocabulary {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    chords.iter().for_each(|chord| *counts.entry(chord).or_default() += 1);
    let mut words: Vec<Word> = counts
        .iter()
        .map(|(degree, count)| Word { degree: (*degree).to_owned(), count: *count })
        .collect();
    words.sort_by(|a, b| b.count.cmp(&a.count).then(a.degree.cmp(&b.degree)));
    let (mut pairs, mut before, mut after) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
    for pair in chords.windows(2) {
        *pairs.entry((pair[0], pair[1])).or_insert(0.0) += 1.0;
        *before.entry(pair[0]).or_insert(0.0) += 1.0;
        *after.entry(pair[1]).or_insert(0.0) += 1.0;
    }
    let surprise = |a: &str, b: &str| -> f64 {
        let (both, first): (f64, f64) = (pairs[&(a, b)], before[a]);
        -(both / first).log2() + 0.0
    };
    let count = chords.len().saturating_sub(1) as f64;
    let next: f64 = pairs.iter().map(|((a, b), both)| both / count * surprise(a, b)).sum();
    let following = entropy(after.values().copied());
    Vocabulary {
        words,
        entropy: entropy(counts.values().map(|count| *count as f64)),
        next_entropy: next,
        predictable: (following > 0.0).then(|| (1.0 - next / following).clamp(0.0, 1.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(chords: &str) -> Vocabulary {
        of(&chords.split(' ').collect::<Vec<_>>())
    }

    #[test]
    fn what_always_follows_is_no_surprise() {
        let round = said("I IV V I IV V I IV V I");
        assert_eq!(round.next_entropy, 0.0);
        assert_eq!(round.predictable, Some(1.0));
        let counts: Vec<_> =
            round.words.iter().map(|word| (&word.degree[..], word.count)).collect();
        assert_eq!(counts, [("I", 4), ("IV", 3), ("V", 3)]);
    }

    #[test]
    fn what_may_be_two_things_is_one_bit() {
        // After I comes V or IV as often.
        let two = said("I V I IV I V I IV I");
        assert_eq!(two.next_entropy, 0.5);
        // What follows is I four times, V and IV twice each.
        assert!((two.predictable.unwrap() - (1.0 - 0.5 / 1.5)).abs() < 1e-9);
    }

    #[test]
    fn little_or_nothing() {
        assert_eq!(said("I").predictable, None);
        assert_eq!(of(&[]), Vocabulary { words: Vec::new(), ..Vocabulary::default() });
    }
}
