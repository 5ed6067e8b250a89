//! Which way stems go, how long they are, and the beams they carry. Rules are common practice, no source.

use super::shape::{SMALL, Shape, steps, y_of};
use recte_assist::report::staff::{Figure, Item, Staff};
use recte_score::signs::Beam;

/// The usual stem, an octave.
const STEM: f64 = 35.0;
/// The shortest under a beam.
const SHORTEST: f64 = 27.0;
/// How thick a beam is, and how far the next one is.
pub(super) const BEAM: f64 = 5.0;
pub(super) const NEXT: f64 = 7.5;
/// The length of a short piece of beam.
const HOOK: f64 = 9.0;
/// How far a beam may rise or fall.
const SLOPE: f64 = 10.0;

/// Whether the stem of each item goes up: away from the farthest note of its beam; in layers outwards; grace notes upwards.
pub(super) fn directions(staff: &Staff, beams: &[Vec<usize>]) -> Vec<bool> {
    let mut all: Vec<bool> = vec![true; staff.items.len()];
    for bar in &staff.bars {
        for at in bar.items.clone() {
            let item = &staff.items[at];
            all[at] = match steps(item) {
                _ if bar.layers > 1 => item.layer.is_multiple_of(2),
                _ if item.grace => true,
                Some((high, low)) => high + low < 0,
                None => true,
            };
        }
    }
    let several =
        |at: usize| staff.bars.iter().any(|bar| bar.items.contains(&at) && bar.layers > 1);
    for group in beams {
        let free = |at: &usize| !staff.items[*at].grace && !several(*at);
        if group.iter().all(free) {
            let ends = || group.iter().filter_map(|at| steps(&staff.items[*at]));
            let high = ends().map(|one| one.0).max().unwrap_or(0);
            let low = ends().map(|one| one.1).min().unwrap_or(0);
            group.iter().for_each(|at| all[*at] = high + low < 0);
        }
    }
    all
}

/// How much longer a stem is for its flags or beams.
fn longer(item: &Item) -> f64 {
    let flags = item.sign.map_or(0, |sign| sign.flags());
    flags.saturating_sub(2) as f64 * NEXT
}

/// Where the stem of an item by itself ends.
pub(super) fn tip(item: &Item, shape: &Shape) -> f64 {
    let Some((high, low)) = steps(item) else { return 0.0 };
    let long = (STEM + longer(item)) * shape.scale;
    // What is far off the staff reaches the middle line.
    let centred = !item.grace && item.beams.is_empty();
    match shape.up {
        true => (y_of(high) - long).min(if centred { 0.0 } else { f64::MAX }),
        false => (y_of(low) + long).max(if centred { 0.0 } else { f64::MIN }),
    }
}

/// The ends of the stems of a beam: their outer edge lies on one line. `xs` are the stems' places.
pub(super) fn beam_tips(items: &[&Item], shapes: &[&Shape], xs: &[f64]) -> Vec<f64> {
    let (Some(first), Some(last)) = (xs.first(), xs.last()) else { return Vec::new() };
    let up = shapes[0].up;
    let sign = if up { -1.0 } else { 1.0 };
    let grace = items[0].grace;
    let scale = if grace { SMALL } else { 1.0 };
    // The outermost head of each, larger is farther out.
    let outer: Vec<f64> = items
        .iter()
        .map(|item| steps(item).map_or(0.0, |(high, low)| sign * y_of(if up { high } else { low })))
        .collect();
    let (a, b) = (outer[0], outer[outer.len() - 1]);
    let wide = (last - first).max(1.0);
    let inside = outer.iter().skip(1).take(outer.len().saturating_sub(2));
    let bulges =
        inside.copied().fold(f64::MIN, f64::max) > a.max(b) - 0.1 && outer.len() > 2 && a != b
            || inside_is_farther(&outer);
    let most = (wide * 0.18).min(SLOPE) * scale;
    let slope = if bulges { 0.0 } else { ((b - a) * 0.5).clamp(-most, most) / wide };
    // As far out as the one that asks for most.
    let start = items
        .iter()
        .zip(&outer)
        .zip(xs)
        .map(|((item, outer), x)| {
            let wanted = outer + (STEM.min(SHORTEST + 5.0) + longer(item)) * scale;
            let wanted = if grace { wanted } else { wanted.max(0.0) };
            wanted - slope * (x - first)
        })
        .fold(f64::MIN, f64::max);
    xs.iter().map(|x| sign * (start + slope * (x - first))).collect()
}

fn inside_is_farther(outer: &[f64]) -> bool {
    let ends = outer[0].max(outer[outer.len() - 1]);
    outer.iter().skip(1).take(outer.len().saturating_sub(2)).any(|one| *one > ends)
}

/// The pieces of the beams of a group: level, from one x to another, and the first of the two items they stand over.
pub(super) fn pieces(items: &[&Item], xs: &[f64]) -> Vec<(usize, f64, f64, usize, usize)> {
    let mut all = Vec::new();
    let levels = items.iter().map(|item| item.beams.len()).max().unwrap_or(0);
    let scale = if items.first().is_some_and(|item| item.grace) { SMALL } else { 1.0 };
    for level in 0..levels {
        let mut open = None;
        for (at, item) in items.iter().enumerate() {
            let room = |other: Option<&f64>| other.map_or(HOOK, |x| (x - xs[at]).abs() * 0.6);
            match item.beams.get(level) {
                Some(Beam::Begin) => open = Some(at),
                Some(Beam::End) => {
                    if let Some(from) = open.take() {
                        all.push((level, xs[from], xs[at], from, at));
                    }
                }
                Some(Beam::Forward) => {
                    let long = (HOOK * scale).min(room(xs.get(at + 1)));
                    all.push((level, xs[at], xs[at] + long, at, at));
                }
                Some(Beam::Backward) => {
                    let long = (HOOK * scale).min(room(at.checked_sub(1).and_then(|b| xs.get(b))));
                    all.push((level, xs[at] - long, xs[at], at, at));
                }
                Some(Beam::Continue) | None => {}
            }
        }
    }
    all
}

/// Whether an item has a stem with flags of its own.
pub(super) fn flags(item: &Item) -> usize {
    match item.figure {
        Figure::Notes if item.beams.is_empty() => item.sign.map_or(0, |sign| sign.flags()),
        _ => 0,
    }
}
