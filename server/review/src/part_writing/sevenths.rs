//! Sevenths of chords that do not go down.

use super::{At, Parts};
use recte_score::harmony::Heading;
use recte_theory::PitchName;

/// A seventh, and the note that comes instead of its resolution.
pub(crate) struct Seventh {
    pub(crate) at: At,
    pub(crate) to: At,
    /// The chord: "G7".
    pub(crate) chord: String,
}

/// So many notes further on, after a leap to another note of the chord, a seventh may still resolve.
const LATER: usize = 2;

impl Parts {
    /// Sevenths that do not resolve, in time.
    pub(crate) fn unresolved_sevenths(&self) -> Vec<Seventh> {
        let mut found: Vec<Seventh> = Vec::new();
        for harmony in self.harmonies.iter() {
            let Some(heading) = &harmony.chord else { continue };
            let Some((name, chord)) = seventh(heading) else { continue };
            for line in 0..self.lines.len() {
                let last = self
                    .within(line, harmony.onset, harmony.end)
                    .filter(|at| self.tone(*at).pitch.name == name)
                    .last();
                let Some(at) = last.filter(|at| !self.is_light(*at)) else { continue };
                let Some(to) = self.left_open(at, name) else { continue };
                if found.iter().all(|other| other.to != to) {
                    found.push(Seventh { at, to, chord: chord.clone() });
                }
            }
        }
        found.sort_by_key(|one| (self.tone(one.at).onset, one.at.0));
        found
    }

    /// The note that follows a seventh, if it leaves it unresolved.
    fn left_open(&self, at: At, name: PitchName) -> Option<At> {
        // Held, repeated or moved by an octave, it may wait for the next chord.
        let (mut held, mut to) = (at, self.after(at)?);
        while self.tone(to).pitch.name == name {
            (held, to) = (to, self.after(to)?);
        }
        let (own, next) = (self.tone(held), self.tone(to));
        let fall = |at: At| self.tone(at).pitch.steps() - own.pitch.steps();
        if fall(to) == -1 || fall(to) == 0 {
            return None;
        }
        let mut later = Some(to);
        for _ in 0..LATER {
            later = later.and_then(|at| self.after(at));
            if later.is_some_and(|at| fall(at) == -1) {
                return None;
            }
        }
        // Another line may take it over; the bass may resolve it in its place.
        let bass = self.lines.len() - 1;
        let taken = (0..self.lines.len()).filter(|line| *line != at.0).any(|line| {
            let other = self.at(line, next.onset).map(|other| self.tone(other).pitch);
            other.is_some_and(|pitch| {
                let fallen = (pitch.steps() - own.pitch.steps()).rem_euclid(7) == 6;
                pitch.name == name || (line == bass && fallen)
            })
        });
        // Rising in parallel thirds or tenths with the bass it passes (V43 between I and I6).
        let with_bass = self.at(bass, next.onset).filter(|_| bass != at.0).and_then(|to| {
            let from = self.before(to).filter(|_| self.tone(to).onset == next.onset)?;
            Some(self.tone(to).pitch.steps() - self.tone(from).pitch.steps())
        });
        let passes = fall(to) == 1 && with_bass == Some(1);
        (!passes && !taken).then_some(to)
    }
}

/// The seventh of a chord, and its symbol without the bass. Where it comes late, a major triad is heard as one without: it
/// counts all the same.
fn seventh(heading: &Heading) -> Option<(PitchName, String)> {
    let chord = &heading.chord;
    let intervals: Vec<i32> = chord.quality.intervals.iter().map(|one| one.fifths()).collect();
    let (fifths, symbol) = match intervals[..] {
        [0, 4, 1] => (-2, "7"),
        [0, _, _, seventh @ (-2 | 5 | -9)] => (seventh, chord.quality.symbol.as_deref()?),
        _ => return None,
    };
    let name = PitchName::from_fifths(chord.root.fifths() + fifths);
    Some((name, format!("{}{symbol}", chord.root.symbol())))
}
