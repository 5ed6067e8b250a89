//! Figures: patterns of one or two bars that come again bar after bar, and who carries them.
//!
//! A figure is a class of bars (`cells`), or two that take turns, which some part plays at least three times in
//! succession. A part carries it as long as it plays nothing else; a single other bar does not end it, a bar of rest does
//! (common practice, no source).

use super::cells::{Cells, Class};
use super::measures::entropy;
use std::collections::BTreeMap;

/// A pattern that comes again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// The classes of its bars: one, or two that take turns.
    pub classes: Vec<Class>,
    /// Notes that begin in a bar of it; in two bars the mean, rounded up.
    pub onsets: usize,
    /// Who carries it, in time.
    pub runs: Vec<Run>,
}

/// One part with one figure, bars counted from 0, the last one included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run {
    /// The part, by index.
    pub part: u32,
    /// The first bar.
    pub from: u32,
    /// The last bar.
    pub to: u32,
    /// A bit for each pitch class it has in these bars.
    pub classes: u16,
    /// The lowest and the highest pitch.
    pub compass: (i32, i32),
}

impl Run {
    /// So many bars.
    pub fn bars(&self) -> u32 {
        self.to - self.from + 1
    }
}

impl Figure {
    /// How evenly parts share it: the entropy of its bars by part, in bits. One part 0, four with as many bars each 2.
    pub fn carrier_entropy(&self) -> f64 {
        let mut bars: BTreeMap<u32, f64> = BTreeMap::new();
        for run in &self.runs {
            *bars.entry(run.part).or_default() += f64::from(run.bars());
        }
        entropy(bars.into_values())
    }

    /// So many of its bars are in its longest run.
    pub fn longest(&self) -> Option<&Run> {
        self.runs.iter().max_by_key(|run| (run.bars(), std::cmp::Reverse(run.from)))
    }
}

/// So many times in succession make a figure.
const FEWEST: usize = 3;
/// A bar with fewer onsets is no figure.
const THINNEST: usize = 3;

/// The figures of a tune, in the order in which they come.
pub fn figures(cells: &Cells) -> Vec<Figure> {
    let mut all: BTreeMap<Vec<Class>, Figure> = BTreeMap::new();
    for (part, row) in cells.parts.iter().enumerate() {
        let classes: Vec<Option<Class>> =
            row.iter().map(|cell| Some(cell.as_ref()?.class)).collect();
        let mut from = 0;
        while from < classes.len() {
            let Some((to, classes)) = run(&classes, from) else {
                from += 1;
                continue;
            };
            let onsets = figure_onsets(cells, part, from, classes.len());
            if onsets >= THINNEST {
                let own = row[from..=to].iter().flatten();
                let run = Run {
                    part: part as u32,
                    from: from as u32,
                    to: to as u32,
                    classes: own.clone().fold(0, |all, cell| all | cell.classes),
                    compass: own.fold((i32::MAX, i32::MIN), |all, cell| {
                        (all.0.min(cell.compass.0), all.1.max(cell.compass.1))
                    }),
                };
                let mut key = classes.clone();
                key.sort_unstable();
                let figure = all.entry(key).or_insert(Figure { classes, onsets, runs: Vec::new() });
                figure.runs.push(run);
            }
            from = to + 1;
        }
    }
    let mut all: Vec<Figure> = all.into_values().collect();
    for figure in &mut all {
        figure.runs.sort_by_key(|run| (run.from, run.part));
    }
    all.sort_by_key(|figure| figure.runs.first().map(|run| (run.from, run.part)));
    all
}

/// Notes that begin in a bar, of two bars the mean.
fn figure_onsets(cells: &Cells, part: usize, from: usize, bars: usize) -> usize {
    let onsets = (from..from + bars).filter_map(|bar| Some(cells.at(part, bar)?.onsets));
    onsets.sum::<usize>().div_ceil(bars.max(1))
}

/// The longest run that begins with a bar: its last bar, and its classes.
fn run(classes: &[Option<Class>], from: usize) -> Option<(usize, Vec<Class>)> {
    let of = |period: usize| {
        let pattern: Vec<Class> =
            classes.get(from..from + period)?.iter().copied().collect::<Option<_>>()?;
        if period == 2 && pattern[0] == pattern[1] {
            return None;
        }
        let fits = |bar: usize| classes[bar] == Some(pattern[(bar - from) % period]);
        let mut to = from + period - 1;
        let mut next = to + 1;
        while next < classes.len() {
            if fits(next) {
                to = next;
                next += 1;
            } else if classes[next].is_some()
                && (next + 1..next + 3).all(|bar| bar < classes.len() && fits(bar))
            {
                // One bar of something else, and the figure comes back.
                next += 1;
            } else {
                break;
            }
        }
        let times = (to - from + 1) / period;
        (times >= FEWEST).then_some((to, pattern))
    };
    let (one, two) = (of(1), of(2));
    // Of two as long, the shorter pattern.
    match (one, two) {
        (Some(one), Some(two)) if two.0 > one.0 => Some(two),
        (Some(one), _) => Some(one),
        (None, two) => two,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::texture::cells::Cell;

    /// A letter a bar, a dot for rest.
    fn of(parts: &[&str]) -> Vec<Figure> {
        let cell = |letter: char| {
            let class = letter as Class;
            let cell =
                Cell { class, rhythm: class, onsets: 4, compass: (60, 67), classes: 0b1001_0001 };
            (letter != '.').then_some(cell)
        };
        let parts = parts.iter().map(|bars| bars.chars().map(cell).collect()).collect();
        figures(&Cells { parts, classes: 0 })
    }

    fn runs(parts: &[&str]) -> Vec<Vec<(u32, u32, u32)>> {
        let figures = of(parts);
        let figures = figures.iter().map(|figure| &figure.runs);
        figures.map(|runs| runs.iter().map(|r| (r.part, r.from, r.to)).collect()).collect()
    }

    #[test]
    fn who_carries_what() {
        assert_eq!(runs(&["aaaabcde", "fghiaaaa"]), [vec![(0, 0, 3), (1, 4, 7)]]);
        assert_eq!(runs(&["abababcd"]), [vec![(0, 0, 5)]]);
        assert_eq!(runs(&["aabbccdd"]), [] as [Vec<(u32, u32, u32)>; 0]);
    }

    #[test]
    fn another_bar_does_not_end_it_and_a_rest_does() {
        assert_eq!(runs(&["aaaxaaa"]), [vec![(0, 0, 6)]]);
        assert_eq!(runs(&["aaa.aaa"]), [vec![(0, 0, 2), (0, 4, 6)]]);
        assert_eq!(runs(&["aaaxxaa"]), [vec![(0, 0, 2)]]);
    }

    #[test]
    fn how_evenly_it_is_shared() {
        assert_eq!(of(&["aaaaaaaaaaaaaaaa"])[0].carrier_entropy(), 0.0);
        let four =
            of(&["aaaa............", "....aaaa........", "........aaaa....", "............aaaa"]);
        assert_eq!(four[0].carrier_entropy(), 2.0);
        assert_eq!(four[0].longest().map(|run| run.bars()), Some(4));
    }
}
