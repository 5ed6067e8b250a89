//! Where things stand beside one another: the columns of a bar, one for each moment, and the room each needs. Wider for longer
//! values, but less than in proportion (common practice, no source).

use super::front::{accidental, change};
use super::glyphs::width;
use super::ink::{Ink, words_wide};
use super::shape::{SMALL, Shape, steps};
use super::stems::flags;
use recte_assist::report::staff::{Change, Figure, Item, Staff, StaffBar};
use recte_score::Clef;
use recte_theory::Time;

/// Between an accidental and what is right of it.
const CLOSE: f64 = 2.2;
/// Between things that do not belong together.
const APART: f64 = 5.0;
/// Accidentals of one column are so many steps apart.
const CLEAR: i32 = 6;

/// What stands at one moment. Everything in it is measured from its heads.
#[derive(Clone, Debug, Default)]
pub(super) struct Column {
    pub(super) time: Time,
    /// Its items, grace notes apart.
    pub(super) items: Vec<usize>,
    /// Grace notes, and where each stands.
    pub(super) graces: Vec<(usize, f64)>,
    /// Accidentals: item, head, place.
    pub(super) accidentals: Vec<(usize, usize, f64)>,
    /// What takes over before it, and where that stands.
    pub(super) changes: Vec<(f64, Change)>,
    /// How far it reaches to both sides.
    pub(super) left: f64,
    pub(super) right: f64,
    /// Where it is, from the beginning of its bar.
    pub(super) x: f64,
}

/// The columns of a bar, and how wide it is.
pub(super) fn columns(
    staff: &Staff,
    bar: &StaffBar,
    shapes: &mut [Shape],
    clef: &Clef,
) -> (Vec<Column>, f64) {
    let own = || bar.items.clone().map(|at| (at, &staff.items[at]));
    let mut times: Vec<Time> = own().map(|(_, item)| item.start).collect();
    times.sort_unstable();
    times.dedup();
    let mut all: Vec<Column> = Vec::new();
    for time in times {
        let here = || own().filter(|(_, item)| item.start == time);
        let mut column = Column { time, ..Column::default() };
        column.items = here().filter(|(_, item)| !item.grace).map(|(at, _)| at).collect();
        layers_aside(staff, &column.items, shapes);
        column.measure(staff, shapes);
        let graces: Vec<usize> = here().filter(|(_, item)| item.grace).map(|(at, _)| at).collect();
        column.put_graces(staff, &graces, shapes);
        column
            .put_changes(here().flat_map(|(_, item)| item.changes.iter().cloned()).collect(), clef);
        all.push(column);
    }
    let wide = place(staff, bar, &mut all);
    (all, wide)
}

/// The width that a length asks for.
fn room(lasts: Time) -> f64 {
    let eighths = lasts.numerator() as f64 / lasts.denominator() as f64 * 8.0;
    24.0 * eighths.max(0.0).powf(0.55)
}

/// Puts the columns of a bar beside one another.
fn place(staff: &Staff, bar: &StaffBar, columns: &mut [Column]) -> f64 {
    let mut symbol_ends = 0.0_f64;
    let times: Vec<Time> = columns.iter().map(|column| column.time).collect();
    let mut before: Option<(f64, f64)> = None;
    for (at, column) in columns.iter_mut().enumerate() {
        let mut x = match before {
            Some((x, right)) => {
                let least = x + right + APART + column.left;
                least.max(x + room(column.time - times[at - 1]))
            }
            None => 8.0 + column.left,
        };
        let symbol = column.items.iter().find_map(|item| staff.items[*item].symbol.as_ref());
        if let Some(symbol) = symbol {
            x = x.max(symbol_ends);
            symbol_ends = x + words_wide(symbol) + APART;
        }
        column.x = x;
        before = Some((x, column.right));
    }
    let Some((x, right)) = before else { return 30.0 };
    let left = bar.length - times.last().copied().unwrap_or_default();
    (x + right + 7.0).max(x + room(left).min(60.0)).max(x.max(symbol_ends)).max(30.0)
}

impl Column {
    /// Accidentals of all its notes, and how far it reaches.
    fn measure(&mut self, staff: &Staff, shapes: &[Shape]) {
        let reach = |from: f64, at: &usize| from.min(shapes[*at].left);
        let leftmost = self.items.iter().fold(0.0, reach);
        for at in &self.items {
            let (item, shape) = (&staff.items[*at], &shapes[*at]);
            let flag = if shape.up && flags(item) > 0 { 11.0 } else { 0.0 };
            self.right = self.right.max(shape.right).max(shape.stem + flag);
        }
        let mut signs: Vec<(usize, usize)> = Vec::new();
        for at in &self.items {
            let heads = staff.items[*at].heads.iter().enumerate();
            signs.extend(
                heads.filter(|(_, head)| head.accidental.is_some()).map(|(head, _)| (*at, head)),
            );
        }
        let (accidentals, left) = accidentals(staff, signs, leftmost, 1.0);
        self.accidentals = accidentals;
        self.left = -left;
    }

    /// Grace notes go left of everything that belongs to their note.
    fn put_graces(&mut self, staff: &Staff, graces: &[usize], shapes: &[Shape]) {
        let mut edge = -self.left;
        for at in graces.iter().rev() {
            let shape = &shapes[*at];
            let flag = if flags(&staff.items[*at]) > 0 && shape.up {
                shape.stem + 11.0 * SMALL
            } else {
                0.0
            };
            let x = edge - 3.5 - shape.right.max(flag);
            self.graces.push((*at, x));
            let heads = staff.items[*at].heads.iter().enumerate();
            let signs = heads.filter(|(_, h)| h.accidental.is_some()).map(|(head, _)| (*at, head));
            let (own, left) = accidentals(staff, signs.collect(), shape.left, SMALL);
            self.accidentals.extend(own.into_iter().map(|(at, head, dx)| (at, head, x + dx)));
            edge = x + left;
        }
        self.left = -edge;
        if self.items.is_empty() {
            self.right = 0.0;
        }
    }

    fn put_changes(&mut self, changes: Vec<Change>, clef: &Clef) {
        let mut scratch = Ink::default();
        let wides: Vec<f64> =
            changes.iter().map(|one| change(&mut scratch, one, clef, 0.0)).collect();
        let all: f64 = wides.iter().sum();
        let mut x = -self.left - all;
        self.left += all;
        for (one, wide) in changes.into_iter().zip(wides) {
            self.changes.push((x, one));
            x += wide;
        }
    }
}

/// Accidentals left of their heads, from outside inwards, each as near as it can be; and how far they reach.
fn accidentals(
    staff: &Staff,
    mut signs: Vec<(usize, usize)>,
    leftmost: f64,
    scale: f64,
) -> (Vec<(usize, usize, f64)>, f64) {
    let step = |sign: &(usize, usize)| staff.items[sign.0].heads[sign.1].step;
    let alter = |sign: &(usize, usize)| staff.items[sign.0].heads[sign.1].accidental.unwrap_or(0);
    signs.sort_by_key(|sign| -step(sign));
    let mut order = Vec::new();
    let (mut top, mut bottom) = (0, signs.len());
    while top < bottom {
        order.push(signs[top]);
        top += 1;
        if top < bottom {
            bottom -= 1;
            order.push(signs[bottom]);
        }
    }
    let mut rows: Vec<Vec<(usize, usize)>> = Vec::new();
    for sign in order {
        let clear = |row: &&mut Vec<(usize, usize)>| {
            row.iter().all(|other| (step(other) - step(&sign)).abs() >= CLEAR)
        };
        match rows.iter_mut().find(clear) {
            Some(row) => row.push(sign),
            None => rows.push(vec![sign]),
        }
    }
    let mut edge = leftmost;
    let mut all = Vec::new();
    for row in rows {
        let wide = |sign: &(usize, usize)| width(accidental(alter(sign))) * scale;
        let most = row.iter().map(wide).fold(0.0, f64::max);
        let right = edge - CLOSE * scale;
        all.extend(row.iter().map(|sign| (sign.0, sign.1, right - wide(sign))));
        edge = right - most;
    }
    (all, edge)
}

/// Notes of a lower layer stand beside those of the upper one where heads would cover each other.
fn layers_aside(staff: &Staff, items: &[usize], shapes: &mut [Shape]) {
    let notes: Vec<usize> =
        items.iter().copied().filter(|at| staff.items[*at].figure == Figure::Notes).collect();
    rests_aside(staff, items, &notes, shapes);
    for pair in notes.windows(2) {
        let (a, b) = (&staff.items[pair[0]], &staff.items[pair[1]]);
        let (Some(upper), Some(lower)) = (steps(a), steps(b)) else { continue };
        let apart = upper.1 - lower.0;
        let same = |a: &Item, b: &Item| {
            let dots = |item: &Item| item.sign.map(|sign| sign.dots);
            shapes[pair[0]].sign == shapes[pair[1]].sign && dots(a) == dots(b)
        };
        if apart >= 2 || apart == 0 && a.heads.len() + b.heads.len() == 2 && same(a, b) {
            continue;
        }
        let by = shapes[pair[0]].right + if apart == 1 { -1.2 } else { 2.0 };
        shapes[pair[1]].shift(by);
    }
}

/// Rests keep clear of the notes of the other layer.
fn rests_aside(staff: &Staff, items: &[usize], notes: &[usize], shapes: &mut [Shape]) {
    let ends = || notes.iter().filter_map(|at| steps(&staff.items[*at]));
    let (Some(high), Some(low)) = (ends().map(|e| e.0).max(), ends().map(|e| e.1).min()) else {
        return;
    };
    for at in items {
        let item = &staff.items[*at];
        if matches!(item.figure, Figure::Rest | Figure::BarRest) {
            let line = |step: i32| f64::from((step + 1).div_euclid(2)) * -10.0;
            let y = &mut shapes[*at].y;
            *y = match item.layer % 2 {
                0 => y.min(line(high) - 20.0),
                _ => y.max(line(low) + 20.0),
            };
        }
    }
}
