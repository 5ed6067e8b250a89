//! What is drawn, each thing with its bounds; and how it is written as SVG.

use super::glyphs::{Glyph, glyph};
use std::collections::BTreeMap;
use svg::Document;
use svg::node::element::{Group, Path, Text, Use};

/// What a thing is. Items and heads go by their index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Line,
    Clef,
    Key,
    Metre,
    BarLine,
    Head(usize, usize),
    Accidental(usize, usize),
    Ledger(usize),
    Stem(usize),
    Flag(usize),
    Beam(usize, usize),
    Dot(usize),
    Rest(usize),
    Tie(usize),
    Slur,
    Tuplet,
    Word,
    Sign,
}

/// Left, top, right, bottom.
pub(super) type Bounds = [f64; 4];

#[derive(Clone, Debug)]
enum Shape {
    Glyph { name: &'static str, x: f64, y: f64, scale: f64, turned: bool },
    Path(String),
    Dotted(String),
    Text { words: String, x: f64, y: f64 },
}

/// A thing that is drawn.
#[derive(Clone, Debug)]
pub(super) struct Mark {
    pub(super) kind: Kind,
    pub(super) bounds: Bounds,
    /// Whether the remark is about it.
    pub(super) told: bool,
    shape: Shape,
}

/// All that is drawn of a system, its middle line at 0.
#[derive(Clone, Debug, Default)]
pub(super) struct Ink {
    pub(super) marks: Vec<Mark>,
}

impl Ink {
    fn push(&mut self, kind: Kind, told: bool, bounds: Bounds, shape: Shape) {
        self.marks.push(Mark { kind, bounds, told, shape });
    }

    /// A sign.
    pub(super) fn glyph(&mut self, kind: Kind, told: bool, name: &str, x: f64, y: f64, scale: f64) {
        let Glyph { name, bounds: [l, t, r, b], .. } = glyph(name);
        let bounds = [x + l * scale, y + t * scale, x + r * scale, y + b * scale];
        self.push(kind, told, bounds, Shape::Glyph { name, x, y, scale, turned: false });
    }

    /// A sign upside down.
    pub(super) fn turned(
        &mut self,
        kind: Kind,
        told: bool,
        name: &str,
        x: f64,
        y: f64,
        scale: f64,
    ) {
        let Glyph { name, bounds: [l, t, r, b], .. } = glyph(name);
        let bounds = [x + l * scale, y - b * scale, x + r * scale, y - t * scale];
        self.push(kind, told, bounds, Shape::Glyph { name, x, y, scale, turned: true });
    }

    /// A filled rectangle.
    pub(super) fn bar(&mut self, kind: Kind, told: bool, [l, t, r, b]: Bounds) {
        let d = format!("M{} {}H{}V{}H{}z", n(l), n(t), n(r), n(b), n(l));
        self.push(kind, told, [l, t, r, b], Shape::Path(d));
    }

    /// A slanted bar of a thickness below its upper edge.
    pub(super) fn slant(
        &mut self,
        kind: Kind,
        told: bool,
        a: (f64, f64),
        b: (f64, f64),
        thick: f64,
    ) {
        let d = format!(
            "M{} {}L{} {}v{}L{} {}z",
            n(a.0),
            n(a.1),
            n(b.0),
            n(b.1),
            n(thick),
            n(a.0),
            n(a.1 + thick)
        );
        let bounds = [a.0.min(b.0), a.1.min(b.1), a.0.max(b.0), a.1.max(b.1) + thick];
        self.push(kind, told, bounds, Shape::Path(d));
    }

    /// A dot.
    pub(super) fn dot(&mut self, kind: Kind, told: bool, x: f64, y: f64, radius: f64) {
        let r = n(radius);
        let d = format!(
            "M{} {}a{r} {r} 0 1 0 {w} 0a{r} {r} 0 1 0-{w} 0z",
            n(x - radius),
            n(y),
            w = n(2.0 * radius)
        );
        self.push(kind, told, [x - radius, y - radius, x + radius, y + radius], Shape::Path(d));
    }

    /// A bow between two places, `height` up (negative) or down at its controls.
    pub(super) fn bow(
        &mut self,
        kind: Kind,
        told: bool,
        a: (f64, f64),
        b: (f64, f64),
        height: f64,
        dotted: bool,
    ) {
        let third = (b.0 - a.0) * 0.28;
        let there = |h: f64| {
            format!(
                "C{} {} {} {} {} {}",
                n(a.0 + third),
                n(a.1 + h),
                n(b.0 - third),
                n(b.1 + h),
                n(b.0),
                n(b.1)
            )
        };
        let back = |h: f64| {
            format!(
                "C{} {} {} {} {} {}z",
                n(b.0 - third),
                n(b.1 + h),
                n(a.0 + third),
                n(a.1 + h),
                n(a.0),
                n(a.1)
            )
        };
        let start = format!("M{} {}", n(a.0), n(a.1));
        let far = [a.1 + height * 0.75, b.1 + height * 0.75, a.1, b.1];
        let (top, bottom) =
            far.iter().fold((f64::MAX, f64::MIN), |(t, b), y| (t.min(*y), b.max(*y)));
        let bounds = [a.0, top, b.0, bottom];
        let shape = if dotted {
            Shape::Dotted(start + &there(height))
        } else {
            Shape::Path(start + &there(height) + &back(height - height.signum() * 2.6))
        };
        self.push(kind, told, bounds, shape);
    }

    /// Words, from a place on to the right.
    pub(super) fn words(&mut self, kind: Kind, words: &str, x: f64, y: f64) {
        let bounds = [x, y - 10.0, x + words_wide(words), y + 2.0];
        self.push(kind, false, bounds, Shape::Text { words: words.to_owned(), x, y });
    }

    /// What is drawn between two places.
    pub(super) fn reach(&self, left: f64, right: f64) -> Option<(f64, f64)> {
        let own = self.marks.iter().filter(|m| m.bounds[2] >= left && m.bounds[0] <= right);
        let own = own.filter(|mark| mark.kind != Kind::Line);
        own.map(|m| (m.bounds[1], m.bounds[3])).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }

    /// The top and the bottom of all.
    pub(super) fn height(&self) -> (f64, f64) {
        let all = self.marks.iter().map(|m| (m.bounds[1], m.bounds[3]));
        all.fold((-22.0, 22.0), |a, b| (a.0.min(b.0), a.1.max(b.1)))
    }
}

/// How wide words are, near enough (there is no measuring without a browser).
pub(super) fn words_wide(words: &str) -> f64 {
    words.chars().count() as f64 * 7.2
}

/// Writes systems under one another.
pub(super) fn write(
    systems: &[Ink],
    wide: f64,
    label: &str,
    class: &str,
    used: &mut BTreeMap<&'static str, &'static str>,
) -> Document {
    const BETWEEN: f64 = 14.0;
    let mut at = 1.0;
    let mut groups = Vec::new();
    for ink in systems {
        let (top, bottom) = ink.height();
        let y = at - top;
        at = y + bottom + BETWEEN;
        let mut group = Group::new().set("transform", format!("translate(1 {})", n(y)));
        for told in [false, true] {
            let own: Vec<&Mark> = ink.marks.iter().filter(|mark| mark.told == told).collect();
            let mut inner = Group::new();
            if told {
                inner = inner.set("class", "t");
            }
            if !own.is_empty() {
                group = group.add(drawn(inner, &own, used));
            }
        }
        groups.push(group);
    }
    let (width, height) = (wide + 2.0, at - BETWEEN + 1.0);
    // Two lines are 6.2 pixels apart.
    let pixels = |units: f64| n(units * 0.62);
    let start = Document::new()
        .set("class", class)
        .set("width", pixels(width))
        .set("height", pixels(height))
        .set("viewBox", format!("0 0 {} {}", n(width), n(height)))
        .set("role", "img")
        .set("aria-label", super::super::pictures::spoken(label));
    groups.into_iter().fold(start, |all, one| all.add(one))
}

fn drawn(
    mut group: Group,
    marks: &[&Mark],
    used: &mut BTreeMap<&'static str, &'static str>,
) -> Group {
    let mut d = String::new();
    for mark in marks {
        match &mark.shape {
            Shape::Path(own) => d.push_str(own),
            Shape::Dotted(own) => {
                group = group.add(Path::new().set("class", "dots").set("d", own.as_str()));
            }
            Shape::Text { words, x, y } => {
                group = group.add(Text::new(words).set("x", n(*x)).set("y", n(*y)));
            }
            Shape::Glyph { name, x, y, scale, turned } => {
                used.insert(name, glyph(name).path);
                let mut one = Use::new().set("href", format!("#g-{name}"));
                if *scale == 1.0 && !turned {
                    one = one.set("x", n(*x)).set("y", n(*y));
                } else {
                    let down = if *turned { -scale } else { *scale };
                    let matrix =
                        format!("matrix({} 0 0 {} {} {})", n(*scale), n(down), n(*x), n(*y));
                    one = one.set("transform", matrix);
                }
                group = group.add(one);
            }
        }
    }
    if d.is_empty() { group } else { group.add(Path::new().set("d", d)) }
}

/// A number with at most one decimal, two below one.
fn n(value: f64) -> String {
    let text = if value.abs() < 1.0 { format!("{value:.2}") } else { format!("{value:.1}") };
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
