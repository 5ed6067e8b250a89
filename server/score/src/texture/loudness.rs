//! How loud a part is at each moment: its dynamics, and hairpins between them as straight lines.
//!
//! pppp is 0, ppp 1, pp 2, p 3, mp 4, mf 5, f 6, ff 7, fff 8, ffff 9 (from memory; the steps are even by convention).
//! A hairpin leads to the dynamic typed at its end or within a bar after it, if that lies its way, else one step. A
//! word (cresc.) leads to the next dynamic, if that lies its way. What a part does not say is not known.

use super::table::{Ticks, ticks};
use crate::meaning::{Dynamic, Meaning};
use crate::tune::{MarkPlace, Tune, Voice};
use recte_theory::metre::WHOLE;

/// The dynamics of one part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Loudness {
    /// From each moment on; between two that are joined the level goes straight from one to the other.
    points: Vec<Point>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Point {
    at: Ticks,
    level: f64,
    /// Whether the level goes on straight to the next point, not stays until there.
    leads: bool,
}

/// The level of a dynamic.
pub fn level(dynamic: Dynamic) -> f64 {
    f64::from(dynamic as u8)
}

impl Loudness {
    /// Of a voice.
    pub fn of(tune: &Tune, voice: &Voice) -> Loudness {
        let mut signs: Vec<(Ticks, Meaning)> = Vec::new();
        for mark in &voice.marks {
            let Some(meaning) = mark.meaning else { continue };
            let bar = |bar: u32| tune.bars.get(bar as usize).map(|bar| bar.start + bar.length);
            let at = match mark.on {
                MarkPlace::BarLine(before) => bar(before),
                _ => match voice.events.get(mark.event as usize) {
                    Some(event) => Some(tune.onset(event)),
                    None => tune.bars.last().map(|bar| bar.start + bar.length),
                },
            };
            signs.extend(at.map(|at| (ticks(at), meaning)));
        }
        signs.sort_by_key(|(at, _)| *at);
        Loudness::by(&signs)
    }

    fn by(signs: &[(Ticks, Meaning)]) -> Loudness {
        let mut points: Vec<Point> = Vec::new();
        for (place, &(at, meaning)) in signs.iter().enumerate() {
            let up = match meaning {
                Meaning::Dynamic(dynamic) => {
                    points.push(Point { at, level: level(dynamic), leads: false });
                    continue;
                }
                Meaning::CrescendoStart => true,
                Meaning::DiminuendoStart => false,
                _ => continue,
            };
            let Some(from) = points.last().copied() else { continue };
            let later = &signs[place + 1..];
            // Another hairpin, or its end, whichever comes first.
            let end = later.iter().find(|(_, next)| {
                Some(*next) == meaning.end()
                    || matches!(next, Meaning::CrescendoStart | Meaning::DiminuendoStart)
            });
            let end = end.filter(|(_, next)| Some(*next) == meaning.end()).map(|(end, _)| *end);
            let goal = later.iter().find_map(|(next, meaning)| match meaning {
                Meaning::Dynamic(dynamic) => Some((*next, level(*dynamic))),
                _ => None,
            });
            let its_way = |to: f64| if up { to > from.level } else { to < from.level };
            let goal = goal.filter(|(_, level)| its_way(*level));
            let goal = goal.filter(|(next, _)| end.is_none_or(|end| *next <= end + WHOLE));
            let step = if up { 1.0 } else { -1.0 };
            let target = match (goal, end) {
                (Some(goal), _) => goal,
                (None, Some(end)) => (end, from.level + step),
                (None, None) => continue,
            };
            points.push(Point { at, level: from.level, leads: true });
            points.push(Point { at: target.0, level: target.1.clamp(0.0, 9.0), leads: false });
        }
        points.sort_by_key(|point| point.at);
        Loudness { points }
    }

    /// The level at a moment; none before the first dynamic.
    pub fn at(&self, moment: Ticks) -> Option<f64> {
        let after = self.points.partition_point(|point| point.at <= moment);
        let point = self.points.get(after.checked_sub(1)?)?;
        let next = self.points.get(after).filter(|_| point.leads);
        Some(next.map_or(point.level, |next| {
            let way = (moment - point.at) as f64 / (next.at - point.at).max(1) as f64;
            point.level + way * (next.level - point.level)
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const P: Meaning = Meaning::Dynamic(Dynamic::P);
    const F: Meaning = Meaning::Dynamic(Dynamic::F);

    fn levels(signs: &[(Ticks, Meaning)], at: &[Ticks]) -> Vec<Option<f64>> {
        let signs: Vec<_> = signs.iter().map(|(at, meaning)| (at * WHOLE, *meaning)).collect();
        at.iter().map(|at| Loudness::by(&signs).at(at * WHOLE)).collect()
    }

    #[test]
    fn dynamics_hold_until_the_next() {
        assert_eq!(
            levels(&[(1, P), (3, F)], &[0, 1, 2, 3]),
            [None, Some(3.0), Some(3.0), Some(6.0)]
        );
    }

    #[test]
    fn hairpins_are_straight() {
        let signs = [(0, P), (0, Meaning::CrescendoStart), (3, Meaning::CrescendoEnd), (3, F)];
        assert_eq!(levels(&signs, &[0, 1, 2, 3]), [3.0, 4.0, 5.0, 6.0].map(Some));
        let signs = [(0, F), (0, Meaning::DiminuendoStart), (2, Meaning::DiminuendoEnd)];
        assert_eq!(levels(&signs, &[1, 2, 9]), [5.5, 5.0, 5.0].map(Some), "one step");
    }

    #[test]
    fn a_word_leads_to_the_next_dynamic_that_lies_its_way() {
        assert_eq!(
            levels(&[(0, P), (2, Meaning::CrescendoStart), (5, F)], &[1, 4]),
            [3.0, 5.0].map(Some)
        );
        assert_eq!(
            levels(&[(0, F), (2, Meaning::CrescendoStart), (5, P)], &[4, 5]),
            [6.0, 3.0].map(Some)
        );
    }
}
