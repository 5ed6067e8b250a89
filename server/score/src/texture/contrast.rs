//! How much two stretches differ, term by term.
//!
//! The mean over what is known of both of `|a - b| / scale`: register 6 semitones, span 12, density and parts a doubling,
//! loudness 2 steps, pitch classes half of their distance (root of the Jensen-Shannon divergence), consonance 0.25,
//! colour half of the parts' time. Below 0.5 little, up to 1 some, above 1 clear contrast. Scales and limits are our own,
//! from memory.

use super::describe::Descriptor;
use super::measures::divergence;

/// What two stretches are compared by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Term {
    /// How high it lies.
    Register,
    /// How far its pitches are apart.
    Span,
    /// How often something begins.
    Density,
    /// How loud it is.
    Dynamic,
    /// How many parts sound.
    Parts,
    /// Which pitch classes it has.
    PitchClasses,
    /// How consonant it is.
    Consonance,
    /// Which parts sound.
    Colour,
}

impl Term {
    /// Its name in the trade's words.
    pub fn name(self) -> &'static str {
        match self {
            Term::Register => "register",
            Term::Span => "span",
            Term::Density => "density",
            Term::Dynamic => "dynamic",
            Term::Parts => "parts",
            Term::PitchClasses => "pitch classes",
            Term::Consonance => "consonance",
            Term::Colour => "colour",
        }
    }
}

/// How much two stretches differ.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Contrast {
    /// The mean of the terms.
    pub total: f64,
    /// The terms that are known of both, the largest first.
    pub terms: Vec<(Term, f64)>,
}

/// What two stretches are compared by, in the order of [`values`].
const TERMS: [Term; 8] = [
    Term::Register,
    Term::Span,
    Term::Density,
    Term::Dynamic,
    Term::Parts,
    Term::PitchClasses,
    Term::Consonance,
    Term::Colour,
];

/// Each term, where it is known of both.
fn values(a: &Descriptor, b: &Descriptor) -> [Option<f64>; 8] {
    let apart = |a: Option<f64>, b: Option<f64>, scale: f64| Some((a? - b?).abs() / scale);
    let doubling = |a: f64, b: f64| (a > 0.0 && b > 0.0).then(|| (a / b).log2().abs());
    let has_classes = |one: &Descriptor| one.classes.iter().any(|share| *share > 0.0);
    let pitched = has_classes(a) && has_classes(b);
    let coloured = a.carriers.len() > 1 && a.carriers.len() == b.carriers.len();
    [
        apart(a.centroid, b.centroid, 6.0),
        apart(a.span(), b.span(), 12.0),
        doubling(a.onsets, b.onsets),
        apart(a.dynamic, b.dynamic, 2.0),
        doubling(a.parts, b.parts),
        pitched.then(|| divergence(&a.classes, &b.classes).sqrt() / 0.5),
        apart(a.consonance, b.consonance, 0.25),
        coloured.then(|| colour(&a.carriers, &b.carriers) / 0.5),
    ]
}

/// How like two stretches are, 1 to 0: terms count up to twice their scale, so that none outweighs all others.
pub fn likeness(a: &Descriptor, b: &Descriptor) -> f64 {
    let values = values(a, b);
    let known = values.iter().flatten();
    let (count, sum) =
        known.fold((0.0, 0.0), |(count, sum), value| (count + 1.0, sum + value.min(2.0)));
    if count > 0.0 { 1.0 - sum / (2.0 * count) } else { 1.0 }
}

impl Contrast {
    /// Of two stretches.
    pub fn between(a: &Descriptor, b: &Descriptor) -> Contrast {
        let all = TERMS.into_iter().zip(values(a, b));
        let mut terms: Vec<(Term, f64)> =
            all.filter_map(|(term, value)| Some((term, value?))).collect();
        let sum: f64 = terms.iter().map(|(_, value)| value).sum();
        let total = if terms.is_empty() { 0.0 } else { sum / terms.len() as f64 };
        terms.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        Contrast { total, terms }
    }

    /// One term, if it is known.
    pub fn term(&self, term: Term) -> Option<f64> {
        self.terms.iter().find(|(own, _)| *own == term).map(|(_, value)| *value)
    }
}

/// The share of the sounding time of parts that is in one stretch and not in the other.
fn colour(a: &[f64], b: &[f64]) -> f64 {
    let (mut shared, mut all) = (0.0, 0.0);
    for (a, b) in a.iter().zip(b) {
        shared += a.min(*b);
        all += a.max(*b);
    }
    if all > 0.0 { 1.0 - shared / all } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(centroid: f64, span: i32, onsets: f64, dynamic: f64, parts: f64) -> Descriptor {
        Descriptor {
            centroid: Some(centroid),
            compass: Some((60, 60 + span)),
            dynamic: Some(dynamic),
            onsets,
            parts,
            ..Descriptor::default()
        }
    }

    #[test]
    fn the_worked_example() {
        let contrast =
            Contrast::between(&one(60.0, 12, 2.0, 3.0, 2.0), &one(67.0, 24, 4.0, 6.0, 6.0));
        let shown: Vec<String> = contrast
            .terms
            .iter()
            .map(|(term, value)| format!("{} {value:.3}", term.name()))
            .collect();
        assert_eq!(
            shown,
            ["parts 1.585", "dynamic 1.500", "register 1.167", "span 1.000", "density 1.000"]
        );
        assert!((contrast.total - 1.25).abs() < 0.001);
    }

    #[test]
    fn what_is_not_known_is_not_counted() {
        let silent = Descriptor::default();
        assert_eq!(Contrast::between(&silent, &silent).terms, []);
        let same = one(60.0, 12, 2.0, 3.0, 2.0);
        let contrast = Contrast::between(&same, &same);
        assert_eq!((contrast.total, likeness(&same, &same), contrast.terms.len()), (0.0, 1.0, 5));
    }

    #[test]
    fn colour_is_who_plays() {
        let with =
            |carriers: &[f64]| Descriptor { carriers: carriers.to_vec(), ..Descriptor::default() };
        let other = Contrast::between(&with(&[1.0, 0.0]), &with(&[0.0, 1.0]));
        assert_eq!(other.term(Term::Colour), Some(2.0));
        let same = Contrast::between(&with(&[1.0, 0.0]), &with(&[1.0, 0.0]));
        assert_eq!(same.term(Term::Colour), Some(0.0));
    }
}
