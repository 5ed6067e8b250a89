//! Bars laid out: systems that fit the page, and where everything stands in them.

use super::front::{bar_line, front};
use super::ink::Ink;
use super::shape::{STEM, Shape};
use super::spacing::{Column, columns};
use super::stems::{beam_tips, directions, tip};
use recte_assist::report::staff::{Change, Figure, Front, Item, Staff};
use recte_theory::Time;
use std::ops::Range;

/// A system is at most so wide, if it holds more than one bar: what a phone shows without shrinking it.
const WIDEST: f64 = 490.0;

/// An item in its place.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub(super) system: usize,
    /// Where its heads are measured from.
    pub(super) x: f64,
    pub(super) shape: Shape,
    /// Where its stem ends.
    pub(super) tip: f64,
}

/// A line of music.
#[derive(Clone, Debug)]
pub(super) struct System {
    pub(super) bars: Range<usize>,
    /// What is in force at its beginning.
    pub(super) front: Front,
    /// Where its music begins and ends.
    pub(super) left: f64,
    pub(super) right: f64,
}

/// Bars laid out.
pub(super) struct Score<'a> {
    pub(super) staff: &'a Staff,
    pub(super) systems: Vec<System>,
    pub(super) placed: Vec<Placed>,
    /// The columns of each bar, and where the bar begins.
    pub(super) bars: Vec<(Vec<Column>, f64, f64)>,
    pub(super) beams: Vec<Vec<usize>>,
    /// The moment of each item, and how many layers its bar has.
    pub(super) moments: Vec<Time>,
    pub(super) layers: Vec<u8>,
}

impl<'a> Score<'a> {
    pub(super) fn of(staff: &'a Staff) -> Score<'a> {
        let beams = staff.beamed();
        let up = directions(staff, &beams);
        let layers: Vec<u8> =
            staff.bars.iter().flat_map(|bar| bar.items.clone().map(|_| bar.layers)).collect();
        let mut shapes: Vec<Shape> = staff
            .items
            .iter()
            .enumerate()
            .map(|(at, item)| Shape::of(item, up[at], layers[at]))
            .collect();
        let fronts = fronts(staff);
        let bars = staff.bars.iter().zip(&fronts).map(|(bar, front)| {
            let (columns, wide) = columns(staff, bar, &mut shapes, &front.clef);
            (columns, 0.0, wide)
        });
        let bars = bars.collect();
        let placed =
            shapes.into_iter().map(|shape| Placed { system: 0, x: 0.0, tip: 0.0, shape }).collect();
        let moments = staff.moments();
        let mut score = Score { staff, systems: Vec::new(), placed, bars, beams, moments, layers };
        score.break_systems(&fronts);
        score.put_items();
        score.put_tips();
        score
    }

    /// How wide the line after a bar is; `last` of its system.
    fn line_wide(&self, bar: usize, last: bool) -> f64 {
        let opens = !last && self.staff.bars.get(bar + 1).is_some_and(|next| next.opens);
        bar_line(&mut Ink::default(), self.staff.bars.get(bar), opens, 0.0)
    }

    fn break_systems(&mut self, fronts: &[Front]) {
        let mut bar = 0;
        while bar < self.bars.len() {
            let mut scratch = Ink::default();
            let mut x = front(&mut scratch, &fronts[bar], self.systems.is_empty());
            if self.staff.bars[bar].opens {
                x += 6.0 + bar_line(&mut scratch, None, true, 0.0);
            }
            let (left, first) = (x, bar);
            while bar < self.bars.len() {
                let wide = self.bars[bar].2;
                if bar > first && x + wide + self.line_wide(bar, true) > WIDEST {
                    break;
                }
                self.bars[bar].1 = x;
                x += wide + self.line_wide(bar, false);
                bar += 1;
            }
            // What opens after the last line opens at the next system's beginning.
            let right = self.bars[bar - 1].1 + self.bars[bar - 1].2 + self.line_wide(bar - 1, true);
            self.systems.push(System {
                bars: first..bar,
                front: fronts[first].clone(),
                left,
                right,
            });
        }
    }

    fn put_items(&mut self) {
        for (number, system) in self.systems.iter().enumerate() {
            for bar in system.bars.clone() {
                let (columns, begins, wide) = &self.bars[bar];
                for column in columns {
                    for at in &column.items {
                        let own = &mut self.placed[*at];
                        (own.system, own.x) = (number, begins + column.x);
                        if self.staff.items[*at].figure == Figure::BarRest {
                            own.x = begins + (wide - own.shape.right) / 2.0;
                        }
                    }
                    for (at, x) in &column.graces {
                        let own = &mut self.placed[*at];
                        (own.system, own.x) = (number, begins + column.x + x);
                    }
                }
            }
        }
    }

    fn put_tips(&mut self) {
        for (item, own) in self.staff.items.iter().zip(&mut self.placed) {
            own.tip = tip(item, &own.shape);
        }
        for group in &self.beams {
            let items: Vec<&Item> = group.iter().map(|at| &self.staff.items[*at]).collect();
            let shapes: Vec<&Shape> = group.iter().map(|at| &self.placed[*at].shape).collect();
            let tips = beam_tips(&items, &shapes, &self.stems(group));
            for (at, tip) in group.iter().zip(tips) {
                self.placed[*at].tip = tip;
            }
        }
    }

    /// The middle of the stem of each of some items.
    pub(super) fn stems(&self, group: &[usize]) -> Vec<f64> {
        let stem = |at: &usize| self.placed[*at].x + self.placed[*at].shape.stem + STEM / 2.0;
        group.iter().map(stem).collect()
    }

    /// The items of a system.
    pub(super) fn items_of(&self, system: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.placed.len()).filter(move |at| self.placed[*at].system == system)
    }
}

/// What is in force as each bar begins, its own changes at its first note counted only where a system may begin with it.
fn fronts(staff: &Staff) -> Vec<Front> {
    let mut now = staff.front.clone();
    let mut all = Vec::new();
    for bar in &staff.bars {
        all.push(now.clone());
        for change in staff.items[bar.items.clone()].iter().flat_map(|item| &item.changes) {
            match change {
                Change::Clef(clef) => now.clef = clef.clone(),
                Change::Key(key, _) => now.signature = *key,
                Change::Metre(metre) => now.metre = metre.clone(),
            }
        }
    }
    all
}
