//! How a rhythm fits a grouping of its bar.
//!
//! A note, a rest or a beam fits if it lies inside one group or fills groups from end to end. In simple time
//! a value that begins on a beat may also be dotted over the next (common practice, no source). What begins off the lines and crosses one hides the beat most.

use super::rhythm::{Rhythm, Unit, UnitKind};
use recte_theory::Time;

/// The beat groups of a bar.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Grouping {
    /// Their lengths; they add up to the bar.
    pub(crate) groups: Vec<Time>,
    /// The offsets where groups begin, and the end of the bar.
    lines: Vec<Time>,
    /// Whether all groups are undotted and alike: the beats of simple time.
    simple: bool,
}

/// How a bar stands between its signature and another grouping.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Reading {
    /// Something in it contradicts the other grouping.
    Against,
    /// It fits both.
    Neutral,
    /// It contradicts its signature and fits the other grouping. `off_line`: something begins off the
    /// signature's lines and crosses one.
    For {
        /// Whether something begins off the lines and crosses one.
        off_line: bool,
    },
}

impl Reading {
    /// Whether the bar asks for the other grouping.
    pub(crate) fn is_for(&self) -> bool {
        matches!(self, Reading::For { .. })
    }
}

impl Grouping {
    /// From the lengths of the groups.
    pub(crate) fn new(groups: Vec<Time>) -> Grouping {
        let mut lines = vec![Time::ZERO];
        for group in &groups {
            lines.push(lines[lines.len() - 1] + *group);
        }
        let alike = groups.windows(2).all(|pair| pair[0] == pair[1]);
        let simple = alike && groups.first().is_some_and(|group| group.numerator() == 1);
        Grouping { groups, lines, simple }
    }

    /// Groups counted in a unit: 3, 2, 2, 2 eighths.
    pub(crate) fn counted(counts: &[i64], unit: Time) -> Grouping {
        Grouping::new(counts.iter().map(|count| unit * Time::new(*count, 1)).collect())
    }

    /// Whether every group begins with something.
    pub(crate) fn shows_in(&self, rhythm: &Rhythm) -> bool {
        let inner = &self.lines[1..self.lines.len() - 1];
        inner.iter().all(|line| rhythm.onsets.contains(line))
    }

    fn on_line(&self, at: Time) -> bool {
        self.lines.contains(&at)
    }

    /// Inside a group, or whole groups.
    fn holds(&self, start: Time, end: Time) -> bool {
        let inside = self.lines.windows(2).any(|group| group[0] <= start && end <= group[1]);
        inside || (self.on_line(start) && self.on_line(end))
    }

    /// Whether a unit of a bar that is to be read in this grouping fits it.
    fn takes(&self, unit: &Unit) -> bool {
        let dotted = self.simple && unit.kind != UnitKind::Beam && self.on_line(unit.start);
        self.holds(unit.start, unit.end)
            || dotted
            || (unit.kind == UnitKind::Note && self.holds(unit.sound.0, unit.sound.1))
    }

    /// Whether notes or beams contradict this grouping as a signature, and whether one begins off its lines.
    fn contradicted(&self, rhythm: &Rhythm, beams: bool) -> Option<bool> {
        let mut found = None;
        for unit in &rhythm.units {
            let counts = match unit.kind {
                UnitKind::Note | UnitKind::Tuplet => !self.holds(unit.start, unit.end),
                // In simple time beams may join beats; only a break off the beat tells (below).
                UnitKind::Beam => beams && !self.simple && !self.holds(unit.start, unit.end),
                UnitKind::Rest => false,
            };
            let off_line = !self.on_line(unit.start);
            if counts && (off_line || !self.simple) {
                found = Some(found.unwrap_or(false) || off_line);
            }
        }
        let broken = beams && self.simple && rhythm.breaks.iter().any(|at| !self.on_line(*at));
        if broken { Some(true) } else { found }
    }
}

/// How a bar stands between the groupings its signature allows and another one.
pub(crate) fn read(
    rhythm: &Rhythm,
    signature: &[Grouping],
    other: &Grouping,
    beams: bool,
) -> Reading {
    let broken = beams && other.simple && rhythm.breaks.iter().any(|at| !other.on_line(*at));
    let units = rhythm.units.iter().filter(|unit| beams || unit.kind != UnitKind::Beam);
    if broken || units.into_iter().any(|unit| !other.takes(unit)) {
        return Reading::Against;
    }
    let verdicts: Option<Vec<bool>> =
        signature.iter().map(|grouping| grouping.contradicted(rhythm, beams)).collect();
    match verdicts {
        Some(verdicts) if !verdicts.is_empty() => {
            Reading::For { off_line: verdicts.into_iter().all(|off_line| off_line) }
        }
        _ => Reading::Neutral,
    }
}
