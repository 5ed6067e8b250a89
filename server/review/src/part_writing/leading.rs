//! The leading note under a dominant that goes home: doubled, or not led up.

use super::{At, Parts};
use recte_score::harmony::Heading;
use recte_theory::{PitchName, Time};

/// A leading note in two lines at once.
pub(crate) struct Doubled {
    pub(crate) name: PitchName,
    pub(crate) upper: At,
    pub(crate) lower: At,
}

/// A leading note of an outer line that does not go up to the tonic.
pub(crate) struct Unresolved {
    pub(crate) at: At,
    pub(crate) to: At,
    pub(crate) tonic: PitchName,
}

/// A dominant that goes to its tonic.
struct Dominant {
    onset: Time,
    end: Time,
    leading: PitchName,
    tonic: PitchName,
}

impl Parts {
    /// Dominants (V, vii° and those applied to a degree) that go home, harmonies of one root taken as one.
    fn dominants(&self) -> Vec<Dominant> {
        let headings = |at: usize| self.harmonies.get(at).and_then(|one| one.chord.as_ref());
        let mut found: Vec<Dominant> = Vec::new();
        for (at, harmony) in self.harmonies.iter().enumerate() {
            let (Some(own), Some(next)) = (&harmony.chord, headings(at + 1)) else { continue };
            let root = own.chord.root;
            let Some(leading) = leading(own, next) else { continue };
            let mut first = at;
            while first > 0
                && headings(first - 1).is_some_and(|before| before.chord.root == root)
                && !self.parted(self.harmonies[first].onset)
            {
                first -= 1;
            }
            if !self.parted(harmony.end) {
                let onset = self.harmonies[first].onset;
                found.push(Dominant { onset, end: harmony.end, leading, tonic: next.chord.root });
            }
        }
        found
    }

    /// Leading notes in two lines at once.
    pub(crate) fn doubled_leading_notes(&self) -> Vec<Doubled> {
        let mut found = Vec::new();
        for dominant in self.dominants() {
            let sounding: Vec<At> = (0..self.lines.len())
                .flat_map(|line| self.within(line, dominant.onset, dominant.end))
                .filter(|at| self.tone(*at).pitch.name == dominant.leading)
                .collect();
            for (place, &upper) in sounding.iter().enumerate() {
                // Passing through is no doubling.
                let with = sounding[place + 1..].iter().find(|&&lower| {
                    let (a, b) = (self.tone(upper), self.tone(lower));
                    upper.0 != lower.0
                        && a.onset < b.end
                        && b.onset < a.end
                        && !self.is_light(upper)
                        && !self.is_light(lower)
                        && !self.doubled(upper.0, lower.0)
                });
                if let Some(&lower) = with {
                    found.push(Doubled { name: dominant.leading, upper, lower });
                    break;
                }
            }
        }
        found
    }

    /// Leading notes of outer lines that do not go up.
    pub(crate) fn unresolved_leading_notes(&self) -> Vec<Unresolved> {
        let mut found = Vec::new();
        let last = self.lines.len().saturating_sub(1);
        for dominant in self.dominants() {
            for line in [0, last] {
                if line == last && last == 0 {
                    continue; // one line alone has no outer ones
                }
                let until = self.within(line, dominant.onset, dominant.end).last();
                let Some(at) = until.filter(|at| {
                    let tone = self.tone(*at);
                    tone.pitch.name == dominant.leading && tone.end == dominant.end
                }) else {
                    continue;
                };
                let Some(to) = self.after(at).filter(|_| !self.is_light(at)) else { continue };
                let rise = |to: At| self.tone(to).pitch.steps() - self.tone(at).pitch.steps();
                // On the way it may be embellished.
                let late = self.after(to).filter(|_| self.is_light(to));
                if rise(to) != 1 && rise(to) != 0 && late.is_none_or(|late| rise(late) != 1) {
                    found.push(Unresolved { at, to, tonic: dominant.tonic });
                }
            }
        }
        found
    }

    /// The notes of a line that sound between two moments.
    pub(super) fn within(&self, line: usize, onset: Time, end: Time) -> impl Iterator<Item = At> {
        let tones = &self.lines[line].tones;
        let first = tones.partition_point(|tone| tone.end <= onset);
        let after = tones.partition_point(|tone| tone.onset < end);
        (first..after.max(first)).map(move |place| (line, place))
    }
}

/// The leading note of a dominant that goes home: the degree says that it is one, and the next chord is where it leads.
fn leading(own: &Heading, next: &Heading) -> Option<PitchName> {
    let degree = own.degree.split_once('/').map_or(own.degree.as_str(), |(degree, _)| degree);
    let figures = degree.trim_start_matches(['V', 'v', 'I', 'i']);
    let numeral = &degree[..degree.len() - figures.len()];
    let (root, to) = (own.chord.root.fifths(), next.chord.root.fifths());
    // With a fifth, whether a third sounds or not.
    let rest = next.chord.quality.intervals.iter().take(3).any(|fifth| fifth.fifths() == 1);
    match numeral {
        "V" if root - to == 1 && rest => Some(PitchName::from_fifths(root + 4)),
        "vii" if root - to == 5 && rest => Some(own.chord.root),
        _ => None,
    }
}
