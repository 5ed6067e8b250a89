//! What one item looks like by itself: heads on both sides of a stem, dots, a rest. x is from the left of its first head.
//! Sizes and sides are common practice, no source.

use super::glyphs::width;
use recte_assist::report::staff::{Figure, Item};

/// Grace notes are so much smaller.
pub(super) const SMALL: f64 = 0.64;
/// How thick a stem is.
pub(super) const STEM: f64 = 1.2;
/// From a head to its dot, and from one dot to the next.
const DOT: f64 = 5.0;

/// An item, drawn by itself.
#[derive(Clone, Debug, Default)]
pub(super) struct Shape {
    /// The sign of its heads, or of its rest.
    pub(super) sign: String,
    /// Whether its stem goes up.
    pub(super) up: bool,
    pub(super) stemmed: bool,
    pub(super) scale: f64,
    /// Where each head is.
    pub(super) heads: Vec<f64>,
    /// Where its stem is (its left edge).
    pub(super) stem: f64,
    /// Its dots: where, and on which step.
    pub(super) dots: Vec<(f64, i32)>,
    /// From the leftmost to the rightmost of heads and dots.
    pub(super) left: f64,
    pub(super) right: f64,
    /// A rest's height.
    pub(super) y: f64,
}

/// The height of a step above the middle line.
pub(super) fn y_of(step: i32) -> f64 {
    f64::from(step) * -5.0
}

/// The highest and the lowest step of an item's heads.
pub(super) fn steps(item: &Item) -> Option<(i32, i32)> {
    Some((item.heads.last()?.step, item.heads.first()?.step))
}

impl Shape {
    pub(super) fn of(item: &Item, up: bool, layers: u8) -> Shape {
        let scale = if item.grace { SMALL } else { 1.0 };
        let halvings = item.sign.map_or(0, |sign| sign.halvings());
        let mut shape = Shape { scale, up, ..Shape::default() };
        match item.figure {
            Figure::Notes => shape.notes(item, halvings, layers),
            Figure::Rest | Figure::BarRest => {
                shape.sign = format!("rest{halvings}");
                shape.y = rest_y(item, layers);
                shape.right = width(&shape.sign);
                let step = 1 - (shape.y / 10.0).round() as i32 * 2;
                shape.dot(item, &[step], layers);
            }
            Figure::Room => shape.right = 4.0,
        }
        shape
    }

    fn notes(&mut self, item: &Item, halvings: i32, layers: u8) {
        self.sign = match halvings {
            ..=-1 => "breve",
            0 => "whole",
            1 => "half",
            _ => "head",
        }
        .to_owned();
        self.stemmed = halvings > 0;
        let wide = width(&self.sign) * self.scale;
        self.heads = sides(item, self.up, wide - STEM);
        self.stem = if self.up { wide - STEM } else { 0.0 };
        self.left = self.heads.iter().copied().fold(0.0, f64::min);
        self.right = self.heads.iter().copied().fold(0.0, f64::max) + wide;
        let steps: Vec<i32> = item.heads.iter().map(|head| head.step).collect();
        self.dot(item, &steps, layers);
    }

    /// Dots stand in spaces, no two in one.
    fn dot(&mut self, item: &Item, steps: &[i32], layers: u8) {
        let count = item.sign.map_or(0, |sign| sign.dots);
        if count == 0 {
            return;
        }
        let downwards = layers > 1 && item.layer % 2 == 1;
        let mut taken: Vec<i32> = Vec::new();
        for step in steps.iter().rev() {
            let (first, second) = match (step % 2 == 0, downwards) {
                (true, false) => (step + 1, step - 1),
                (true, true) => (step - 1, step + 1),
                (false, _) => (*step, step - 2),
            };
            let free = if taken.contains(&first) { second } else { first };
            if !taken.contains(&free) {
                taken.push(free);
            }
        }
        let from = self.right;
        for step in taken {
            for at in 0..count {
                self.dots.push((from + DOT + f64::from(at) * DOT, step));
            }
        }
        self.right = from + DOT + f64::from(count - 1) * DOT + 2.0;
    }

    /// Moves it sideways.
    pub(super) fn shift(&mut self, by: f64) {
        self.heads.iter_mut().for_each(|head| *head += by);
        self.dots.iter_mut().for_each(|dot| dot.0 += by);
        self.stem += by;
        self.left += by;
        self.right += by;
    }
}

/// Heads a second apart stand on both sides of the stem.
fn sides(item: &Item, up: bool, step_aside: f64) -> Vec<f64> {
    let count = item.heads.len();
    let mut all = vec![0.0; count];
    let order: Vec<usize> = if up { (0..count).collect() } else { (0..count).rev().collect() };
    for pair in order.windows(2) {
        let (before, at) = (pair[0], pair[1]);
        let close = (item.heads[at].step - item.heads[before].step).abs() < 2;
        if close && all[before] == 0.0 {
            all[at] = if up { step_aside } else { -step_aside };
        }
    }
    all
}

/// Rests of several layers make room for each other.
fn rest_y(item: &Item, layers: u8) -> f64 {
    match (layers > 1, item.layer % 2) {
        (false, _) => 0.0,
        (true, 0) => -20.0,
        (true, _) => 20.0,
    }
}
