//! What stands over and under the notes: tuplets, chord symbols, endings, and the sign of what a remark is about.

use super::glyphs::width;
use super::ink::{Ink, Kind};
use super::score::Score;
use recte_assist::report::staff::{Bracket, Figure};

/// Between what is drawn and a bracket.
const CLEAR: f64 = 4.0;

/// The numbers of the tuplets of a system; with a bracket where no beam shows what belongs to them.
pub(super) fn tuplets(score: &Score<'_>, ink: &mut Ink, system: usize) {
    for tuplet in &score.staff.tuplets {
        if score.placed[tuplet.first].system == system && tuplet.number > 0 {
            one(score, ink, tuplet);
        }
    }
}

fn one(score: &Score<'_>, ink: &mut Ink, tuplet: &Bracket) {
    let staff = score.staff;
    let layer = staff.items[tuplet.first].layer;
    let system = score.placed[tuplet.first].system;
    let inside: Vec<usize> = (tuplet.first..=tuplet.last)
        .filter(|at| {
            let item = &staff.items[*at];
            !item.grace && item.layer == layer && score.placed[*at].system == system
        })
        .collect();
    let (Some(first), Some(last)) = (inside.first(), inside.last()) else { return };
    let notes = || inside.iter().filter(|at| staff.items[**at].figure == Figure::Notes);
    let ups = notes().filter(|at| score.placed[**at].shape.up).count();
    let above = if notes().count() == 0 { true } else { ups * 2 >= notes().count() };
    let (left, right) = (
        score.placed[*first].x + score.placed[*first].shape.left,
        score.placed[*last].x + score.placed[*last].shape.right,
    );
    let beamed = score.beams.contains(&inside);
    let way = if above { -1.0 } else { 1.0 };
    // Only what belongs to it counts, so that another layer does not push it away.
    let own = |kind: Kind| match kind {
        Kind::Head(at, _)
        | Kind::Accidental(at, _)
        | Kind::Stem(at)
        | Kind::Flag(at)
        | Kind::Rest(at) => inside.contains(&at),
        Kind::Beam(a, b) => inside.contains(&a) || inside.contains(&b),
        Kind::Tie(at) => inside.contains(&at),
        _ => false,
    };
    let reach = ink.marks.iter().filter(|mark| own(mark.kind));
    let far = reach.map(|m| if above { -m.bounds[1] } else { m.bounds[3] }).fold(0.0, f64::max);
    let told = inside.iter().all(|at| staff.items[*at].told);
    let digits = tuplet.number.to_string();
    let wide: f64 = digits.chars().map(|digit| width(&format!("i{digit}"))).sum();
    let middle = (left + right) / 2.0;
    let y = way * (if beamed { far.max(0.0) } else { far.max(20.0) } + CLEAR + 5.5);
    let mut x = middle - wide / 2.0;
    for digit in digits.chars() {
        let name = format!("i{digit}");
        ink.glyph(Kind::Tuplet, told, &name, x, y, 1.0);
        x += width(&name);
    }
    if !beamed {
        let gap = wide / 2.0 + 3.0;
        for (a, b, end) in [(left, middle - gap, left), (middle + gap, right, right - 1.0)] {
            if b > a {
                ink.bar(Kind::Tuplet, told, [a, y - 0.5, b, y + 0.5]);
            }
            let (t, b) = if above { (y, y + 5.0) } else { (y - 5.0, y) };
            ink.bar(Kind::Tuplet, told, [end, t, end + 1.0, b]);
        }
    }
}

/// Chord symbols on one line over all, endings over them.
pub(super) fn words(score: &Score<'_>, ink: &mut Ink, system: usize) {
    let staff = score.staff;
    let symbols: Vec<(f64, &str)> = score
        .items_of(system)
        .filter_map(|at| Some((score.placed[at].x, staff.items[at].symbol.as_deref()?)))
        .collect();
    let (top, _) = ink.height();
    for (x, symbol) in &symbols {
        ink.words(Kind::Word, symbol, *x, top.min(-24.0) - 5.0);
    }
    let (top, _) = ink.height();
    let y = top.min(-26.0) - 13.0;
    for bar in score.systems[system].bars.clone() {
        let Some(ending) = &staff.bars[bar].ending else { continue };
        let (_, x, wide) = &score.bars[bar];
        ink.bar(Kind::Sign, false, [*x, y, x + wide - 2.0, y + 1.0]);
        ink.bar(Kind::Sign, false, [*x, y, x + 1.0, y + 11.0]);
        ink.words(Kind::Sign, ending, x + 4.0, y + 11.0);
    }
}

/// A bracket under what a remark is about, so that colour does not say it alone.
pub(super) fn told(score: &Score<'_>, ink: &mut Ink, system: usize) {
    let mut all: Vec<(f64, f64, bool)> = score
        .items_of(system)
        .filter(|at| score.staff.items[*at].figure != Figure::Room)
        .map(|at| {
            let own = &score.placed[at];
            let left = own.x + own.shape.left;
            (left, own.x + own.shape.right.max(6.0), score.staff.items[at].told)
        })
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut spans: Vec<(f64, f64)> = Vec::new();
    let mut goes_on = false;
    for (left, right, told) in all {
        // Two brackets do not touch.
        let over = |span: &&mut (f64, f64)| goes_on || left <= span.1 + 8.0;
        match spans.last_mut().filter(over) {
            Some(span) if told => span.1 = span.1.max(right),
            _ if told => spans.push((left, right)),
            _ => {}
        }
        goes_on = told || spans.last().is_some_and(|span| goes_on && left < span.1);
    }
    for (left, right) in spans {
        let (left, right) = (left - 1.5, right + 1.5);
        let bottom =
            ink.reach(left - 5.0, right + 5.0).map_or(22.0, |(_, bottom)| bottom).max(22.0);
        let y = bottom + CLEAR + 4.0;
        ink.bar(Kind::Sign, true, [left, y, right, y + 1.8]);
        ink.bar(Kind::Sign, true, [left, y - 4.0, left + 1.8, y]);
        ink.bar(Kind::Sign, true, [right - 1.8, y - 4.0, right, y]);
    }
}
