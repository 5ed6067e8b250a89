//! Two lines that go from one perfect interval to another of its kind.

use super::{At, Parts};
use recte_theory::{Interval, Pitch};

/// Fifths, and octaves with unisons.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Perfect {
    Fifth,
    Octave,
    Unison,
}

impl Perfect {
    fn between(a: Pitch, b: Pitch) -> Option<Perfect> {
        let Interval { steps, semitones } = Interval::between(a, b);
        match (steps.rem_euclid(7), semitones.rem_euclid(12)) {
            (4, 7) => Some(Perfect::Fifth),
            (0, 0) if steps == 0 => Some(Perfect::Unison),
            (0, 0) => Some(Perfect::Octave),
            _ => None,
        }
    }

    fn is_fifth(self) -> bool {
        self == Perfect::Fifth
    }
}

/// How two lines come to a perfect interval.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Motion {
    /// From one like it, in one direction.
    Parallel,
    /// From one like it, in opposite directions.
    Contrary,
    /// From any other interval, in one direction, the upper line by leap.
    Direct,
}

/// Two lines on their way to a perfect interval: the notes they leave and those they come to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Consecutive {
    pub(crate) from: Perfect,
    pub(crate) kind: Perfect,
    pub(crate) motion: Motion,
    pub(crate) upper: (At, At),
    pub(crate) lower: (At, At),
}

impl Parts {
    /// Fifths and octaves that strict style avoids, in time.
    pub(crate) fn consecutives(&self) -> Vec<Consecutive> {
        let mut found = Vec::new();
        for upper in 0..self.lines.len() {
            for lower in upper + 1..self.lines.len() {
                let outer = upper == 0 && lower + 1 == self.lines.len();
                if !self.doubled(upper, lower) {
                    let places = 0..self.lines[upper].tones.len();
                    found.extend(
                        places.filter_map(|at| self.consecutive((upper, at), lower, outer)),
                    );
                }
            }
        }
        found.sort_by_key(|one| (self.tone(one.upper.1).onset, one.upper.1.0, one.lower.1.0));
        found
    }

    /// Where two lines both move to a note of the upper one.
    fn consecutive(&self, to: At, lower: usize, outer: bool) -> Option<Consecutive> {
        let own = self.tone(to);
        let under = self.at(lower, own.onset).filter(|at| self.tone(*at).onset == own.onset)?;
        let (from, left) = (self.before(to)?, self.before(under)?);
        let pitch = |at: At| self.tone(at).pitch;
        let kind = Perfect::between(pitch(to), pitch(under))?;
        let (up, also) =
            (pitch(to).midi() - pitch(from).midi(), pitch(under).midi() - pitch(left).midi());
        if up == 0 || also == 0 {
            return None;
        }
        let before = Perfect::between(pitch(from), pitch(left));
        let was = before.unwrap_or(kind);
        let alike = before.is_some_and(|before| before.is_fifth() == kind.is_fifth());
        let together = (up > 0) == (also > 0);
        let motion = match (alike, together) {
            (true, true) => Motion::Parallel,
            (true, false) => Motion::Contrary,
            (false, true) if self.direct && outer => {
                let leaps = (pitch(to).steps() - pitch(from).steps()).abs() > 1;
                leaps.then_some(Motion::Direct)?
            }
            _ => return None,
        };
        let apart = self.apparent(from, left) || self.apparent(to, under);
        (!apart).then_some(Consecutive {
            from: was,
            kind,
            motion,
            upper: (from, to),
            lower: (left, under),
        })
    }

    /// Whether one of two notes that sound together only embellishes a line and the other does not move with it, or
    /// comes too early.
    fn apparent(&self, upper: At, lower: At) -> bool {
        let (one, other) = (self.embellishes(upper), self.embellishes(lower));
        let early = |at: At| {
            let next = self.after(at);
            self.is_light(at)
                && next.is_some_and(|next| self.tone(next).pitch == self.tone(at).pitch)
        };
        one != other || early(upper) || early(lower)
    }
}
