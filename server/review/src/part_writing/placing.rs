//! Where lines lie: how far apart, and whether they cross or overlap.

use super::{At, Parts};
use recte_theory::Time;

/// Two neighbours further than an octave apart, from the first such chord on.
pub(crate) struct Wide {
    pub(crate) upper: At,
    pub(crate) lower: At,
}

/// Two neighbours of which the lower lies above the upper.
pub(crate) struct Crossing {
    pub(crate) upper: At,
    pub(crate) lower: At,
    /// Whether a line moves beyond where its neighbour just was, and not beyond where it is.
    pub(crate) overlap: bool,
    /// Which of the two moves.
    pub(crate) moves: At,
}

/// In semitones: neighbours among the upper voices may be an octave apart.
const OCTAVE: i32 = 12;
/// In semitones: a line may overlap by so much, a major third.
const OVERLAP: i32 = 4;

/// Two notes that are wrong together, from one moment to another.
struct Stretch {
    upper: At,
    lower: At,
    onset: Time,
    end: Time,
}

impl Parts {
    /// Where neighbours stand in a relation, each stretch of it once.
    fn stretches(&self, upper: usize, wrong: impl Fn(i32) -> bool) -> Vec<Stretch> {
        let lower = upper + 1;
        let mut found: Vec<Stretch> = Vec::new();
        for onset in self.moments() {
            let both = self.at(upper, onset).zip(self.at(lower, onset));
            let Some((above, below)) = both else { continue };
            let (a, b) = (self.tone(above), self.tone(below));
            if a.onset < onset && b.onset < onset || !wrong(a.pitch.midi() - b.pitch.midi()) {
                continue;
            }
            let end = a.end.min(b.end);
            match found.last_mut().filter(|last| last.end == onset && !self.parted(onset)) {
                Some(last) => last.end = end,
                None => found.push(Stretch { upper: above, lower: below, onset, end }),
            }
        }
        found
    }

    /// Upper lines more than an octave apart, for longer than a beat.
    pub(crate) fn wide(&self) -> Vec<Wide> {
        if !(3..=5).contains(&self.lines.len()) {
            return Vec::new();
        }
        let mut found = Vec::new();
        for upper in 0..self.lines.len() - 2 {
            let wide = self.stretches(upper, |apart| apart > OCTAVE);
            let long = wide.into_iter().filter(|one| self.is_long(one));
            found.extend(long.map(|one| Wide { upper: one.upper, lower: one.lower }));
        }
        found.sort_by_key(|one| self.tone(one.upper).onset.max(self.tone(one.lower).onset));
        found
    }

    fn is_long(&self, one: &Stretch) -> bool {
        let bar = self.bars.get(self.tone(one.upper).bar as usize);
        bar.is_some_and(|(_, beat)| one.end - one.onset > *beat)
    }

    /// Neighbours that cross for longer than a beat (over the highest line, for a beat), or overlap.
    pub(crate) fn crossings(&self) -> Vec<Crossing> {
        let mut found = Vec::new();
        for upper in 0..self.lines.len().saturating_sub(1) {
            if self.doubled(upper, upper + 1) {
                continue;
            }
            for one in self.stretches(upper, |apart| apart < 0) {
                let melody = upper == 0 && !self.is_light(one.upper) && !self.is_light(one.lower);
                if melody || self.is_long(&one) {
                    let (a, b) = (self.tone(one.upper).onset, self.tone(one.lower).onset);
                    let moves = if a >= b { one.upper } else { one.lower };
                    let (upper, lower) = (one.upper, one.lower);
                    found.push(Crossing { upper, lower, overlap: false, moves });
                }
            }
            found.extend(self.overlaps(upper));
        }
        let onset = |one: &Crossing| self.tone(one.upper).onset.max(self.tone(one.lower).onset);
        found.sort_by_key(onset);
        found
    }

    /// Where both of two neighbours move, and one goes further than the other just was.
    fn overlaps(&self, upper: usize) -> Vec<Crossing> {
        let mut found = Vec::new();
        for place in 0..self.lines[upper].tones.len() {
            let above = (upper, place);
            let onset = self.tone(above).onset;
            let below = self.at(upper + 1, onset).filter(|at| self.tone(*at).onset == onset);
            let Some(below) = below else { continue };
            let (Some(was_above), Some(was_below)) = (self.before(above), self.before(below))
            else {
                continue;
            };
            let midi = |at: At| self.tone(at).pitch.midi();
            let root = |moment: Time| {
                let heading = self.harmonies[self.harmony(moment)?].chord.as_ref()?;
                Some(heading.chord.root)
            };
            // Within one harmony the lines only change places in it.
            let same =
                root(onset) == root(self.tone(was_above).onset.max(self.tone(was_below).onset));
            if midi(above) < midi(below) || same {
                continue;
            }
            if midi(was_below) - midi(above) > OVERLAP {
                found.push(Crossing {
                    upper: above,
                    lower: was_below,
                    overlap: true,
                    moves: above,
                });
            } else if midi(below) - midi(was_above) > OVERLAP {
                found.push(Crossing {
                    upper: was_above,
                    lower: below,
                    overlap: true,
                    moves: below,
                });
            }
        }
        found
    }
}
