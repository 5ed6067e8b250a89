//! Ties and slurs.

use super::ink::{Ink, Kind};
use super::score::{Placed, Score};
use super::shape::y_of;
use recte_assist::report::staff::{Bow, Item};

/// A tie that leads nowhere, or comes from nowhere, is so long.
const STUB: f64 = 16.0;

/// The ties of a system: to the next note of the same step, over a bar line too; half of one at an edge.
pub(super) fn ties(score: &Score<'_>, ink: &mut Ink, system: usize) {
    let staff = score.staff;
    for (at, item) in staff.items.iter().enumerate() {
        let own = &score.placed[at];
        for (head, one) in item.heads.iter().enumerate().filter(|(_, head)| head.tied_out) {
            let next = partner(score, at, one.step);
            let from = own.x + own.shape.heads[head] + head_wide(own) + 1.0;
            let up = curves_up(score, at, head);
            let told = one.told;
            match next {
                _ if own.system != system => {}
                Some((there, other)) if score.placed[there].system == system => {
                    let to = score.placed[there].x + score.placed[there].shape.heads[other] - 1.0;
                    tie(ink, at, told, (from, to), one.step, up);
                }
                Some(_) => {
                    let to = score.systems[system].right.max(from + 8.0);
                    tie(ink, at, told, (from, to), one.step, up);
                }
                None => tie(ink, at, told, (from, from + STUB), one.step, up),
            }
        }
        if own.system != system {
            continue;
        }
        for (head, one) in item.heads.iter().enumerate().filter(|(_, head)| head.tied_in) {
            let to = own.x + own.shape.heads[head] - 1.0;
            let from = match came_from(score, at, one.step) {
                Some(there) if score.placed[there].system == system => continue,
                Some(_) => score.systems[system].left,
                None => (to - STUB).max(score.systems[system].left),
            };
            tie(
                ink,
                at,
                one.told,
                (from.max(to - 2.0 * STUB).min(to - 7.0), to),
                one.step,
                curves_up(score, at, head),
            );
        }
    }
}

fn head_wide(own: &Placed) -> f64 {
    super::glyphs::width(&own.shape.sign) * own.shape.scale
}

fn tie(ink: &mut Ink, at: usize, told: bool, (from, to): (f64, f64), step: i32, up: bool) {
    let way = if up { -1.0 } else { 1.0 };
    let to = to.max(from + 5.0);
    let y = y_of(step) + way * 4.5;
    let height = way * ((to - from) * 0.16).clamp(4.5, 11.0);
    ink.bow(Kind::Tie(at), told, (from, y), (to, y), height, false);
}

/// The item and the head a tie leads to.
fn partner(score: &Score<'_>, at: usize, step: i32) -> Option<(usize, usize)> {
    let end = score.moments[at] + score.staff.items[at].lasts;
    let item = &score.staff.items[at];
    let is_next = |there: &usize| {
        let other = &score.staff.items[*there];
        *there != at && (score.moments[*there] == end && (!other.grace || item.grace))
    };
    let head = |there: usize| {
        let heads = &score.staff.items[there].heads;
        heads.iter().position(|one| one.step == step && one.tied_in).map(|head| (there, head))
    };
    let mut all: Vec<usize> = (0..score.staff.items.len()).filter(is_next).collect();
    all.sort_by_key(|there| score.staff.items[*there].layer != item.layer);
    all.into_iter().find_map(head)
}

fn came_from(score: &Score<'_>, at: usize, step: i32) -> Option<usize> {
    (0..score.staff.items.len()).find(|there| {
        score.staff.items[*there].heads.iter().any(|head| head.step == step && head.tied_out)
            && partner(score, *there, step).is_some_and(|(to, _)| to == at)
    })
}

/// Away from the stem; in a chord the upper half upwards; in layers outwards.
fn curves_up(score: &Score<'_>, at: usize, head: usize) -> bool {
    let item = &score.staff.items[at];
    if score.layers[at] > 1 {
        return item.layer.is_multiple_of(2);
    }
    match item.heads.len() {
        1 => !score.placed[at].shape.up,
        count if 2 * head + 1 == count => !score.placed[at].shape.up,
        count => 2 * head + 1 > count,
    }
}

/// The slurs of a system.
pub(super) fn slurs(score: &Score<'_>, ink: &mut Ink, system: usize) {
    for bow in &score.staff.slurs {
        let (from, to) = (bow.from.unwrap_or(0), bow.to.unwrap_or(score.staff.items.len() - 1));
        let systems = (score.placed[from].system, score.placed[to].system);
        if from > to || system < systems.0 || systems.1 < system {
            continue;
        }
        let layer = bow.from.or(bow.to).map_or(0, |at| score.staff.items[at].layer);
        let inside: Vec<usize> = (from..=to)
            .filter(|at| {
                let item: &Item = &score.staff.items[*at];
                score.placed[*at].system == system && item.layer == layer && !item.heads.is_empty()
            })
            .collect();
        slur(score, ink, system, bow, &inside);
    }
}

fn slur(score: &Score<'_>, ink: &mut Ink, system: usize, bow: &Bow, inside: &[usize]) {
    let (Some(first), Some(last)) = (inside.first(), inside.last()) else { return };
    let upwards = |at: &usize| score.placed[*at].shape.up;
    let above = match score.layers[*first] > 1 {
        true => score.staff.items[*first].layer.is_multiple_of(2),
        false => !inside.iter().all(upwards),
    };
    let way = if above { -1.0 } else { 1.0 };
    let edge = |at: usize| {
        let own = &score.placed[at];
        // A grace note leads into the head beside it.
        let tip = own.shape.stemmed && own.shape.up == above;
        let heads = score.staff.items[at].heads.iter().map(|head| way * y_of(head.step));
        let outer = heads.fold(f64::MIN, f64::max) + 6.5;
        way * if tip { outer.max(way * own.tip + 3.0) } else { outer }
    };
    let middle = |at: usize| score.placed[at].x + score.placed[at].shape.right.min(12.0) / 2.0;
    let starts_here = bow.from.is_some_and(|at| score.placed[at].system == system);
    let ends_here = bow.to.is_some_and(|at| score.placed[at].system == system);
    let a = match starts_here {
        true => (middle(*first), edge(*first)),
        false => (score.systems[system].left.min(middle(*first) - 10.0), edge(*first) + way * 3.0),
    };
    let b = match ends_here {
        true => (middle(*last), edge(*last)),
        false => (score.systems[system].right.max(middle(*last) + 10.0), edge(*last) + way * 3.0),
    };
    let long = b.0 - a.0;
    // The bow stays outside of what lies between its ends.
    let needed = inside.iter().map(|at| {
        let share = ((middle(*at) - a.0) / long.max(1.0)).clamp(0.0, 1.0);
        let line = a.1 + (b.1 - a.1) * share;
        let bend = 3.0 * share * (1.0 - share);
        if bend < 0.25 { 0.0 } else { (way * (edge(*at) - line) + 3.5) / bend }
    });
    let height = needed.fold((long * 0.14).clamp(7.0, 18.0), f64::max).min(60.0);
    ink.bow(Kind::Slur, false, a, b, way * height, bow.dotted);
}
