//! Quoted bars drawn on a staff. `recte_assist::report::staff` says what there is to draw; `score` lays it out (`shape` one
//! item by itself, `spacing` the columns, `stems` and beams), the others draw it; `ink` writes SVG.

mod bows;
mod front;
mod glyphs;
mod ink;
mod over;
mod score;
mod shape;
mod spacing;
mod stems;
#[cfg(test)]
mod tests;

use ink::{Ink, Kind};
use maud::{Markup, PreEscaped};
use recte_assist::report::staff::{Figure, Staff};
use score::Score;
use shape::{SMALL, STEM, Shape, y_of};
use std::collections::BTreeMap;
use svg::Document;
use svg::node::element::{Definitions, Path};

/// The outlines that a page refers to, by name.
pub(super) type Outlines = BTreeMap<&'static str, &'static str>;

/// A staff as a picture; `label` is what it is called for those who hear the page, `class` whether it is a proposal.
pub(super) fn staff(staff: &Staff, label: &str, class: &str, outlines: &mut Outlines) -> Markup {
    let systems = systems(&Score::of(staff));
    let wide = systems.iter().flat_map(|ink| &ink.marks).map(|mark| mark.bounds[2]);
    let wide = wide.fold(0.0, f64::max);
    let drawn = ink::write(&systems, wide, label, class, outlines);
    PreEscaped(drawn.to_string().replace('\n', ""))
}

/// The outlines, once for a page.
pub(super) fn outlines(used: &Outlines) -> Option<Markup> {
    let each = used.iter().map(|(name, d)| Path::new().set("id", format!("g-{name}")).set("d", *d));
    let all = each.fold(Definitions::new(), |all, one| all.add(one));
    let hidden = Document::new()
        .set("width", 0)
        .set("height", 0)
        .set("class", "outlines")
        .set("aria-hidden", "true");
    let drawn = hidden.add(all).to_string().replace('\n', "");
    (!used.is_empty()).then_some(PreEscaped(drawn))
}

fn systems(score: &Score<'_>) -> Vec<Ink> {
    (0..score.systems.len()).map(|system| draw(score, system)).collect()
}

fn draw(score: &Score<'_>, number: usize) -> Ink {
    let mut ink = Ink::default();
    let system = &score.systems[number];
    for y in [-20.0, -10.0, 0.0, 10.0, 20.0] {
        ink.bar(Kind::Line, false, [0.0, y - 0.5, system.right, y + 0.5]);
    }
    front::front(&mut ink, &system.front, number == 0);
    bar_lines(score, &mut ink, number);
    changes(score, &mut ink, number);
    for at in score.items_of(number) {
        match score.staff.items[at].figure {
            Figure::Notes => notes(score, &mut ink, at),
            Figure::Rest | Figure::BarRest => rest(score, &mut ink, at),
            Figure::Room => {}
        }
    }
    accidentals(score, &mut ink, number);
    beams(score, &mut ink, number);
    bows::ties(score, &mut ink, number);
    over::tuplets(score, &mut ink, number);
    bows::slurs(score, &mut ink, number);
    over::words(score, &mut ink, number);
    over::told(score, &mut ink, number);
    ink
}

fn bar_lines(score: &Score<'_>, ink: &mut Ink, number: usize) {
    let bars = &score.staff.bars;
    let system = &score.systems[number];
    if bars[system.bars.start].opens {
        let wide = front::bar_line(&mut Ink::default(), None, true, 0.0);
        front::bar_line(ink, None, true, system.left - wide);
    }
    for bar in system.bars.clone() {
        let (_, x, wide) = &score.bars[bar];
        let inside = bar + 1 < system.bars.end;
        let opens = inside && bars.get(bar + 1).is_some_and(|next| next.opens);
        front::bar_line(ink, bars.get(bar), opens, x + wide);
    }
}

fn changes(score: &Score<'_>, ink: &mut Ink, number: usize) {
    let mut clef = score.systems[number].front.clef.clone();
    for bar in score.systems[number].bars.clone() {
        let (columns, begins, _) = &score.bars[bar];
        for column in columns {
            for (x, change) in &column.changes {
                if let recte_assist::report::staff::Change::Clef(now) = change {
                    clef = now.clone();
                }
                front::change(ink, change, &clef, begins + column.x + x);
            }
        }
    }
}

fn notes(score: &Score<'_>, ink: &mut Ink, at: usize) {
    let (item, own) = (&score.staff.items[at], &score.placed[at]);
    let shape = &own.shape;
    let told = |head: usize| item.heads[head].told;
    let all_told = item.heads.iter().all(|head| head.told);
    for (head, (one, dx)) in item.heads.iter().zip(&shape.heads).enumerate() {
        ledgers(ink, at, one.step, own.x + dx, shape);
        ink.glyph(
            Kind::Head(at, head),
            told(head),
            &shape.sign,
            own.x + dx,
            y_of(one.step),
            shape.scale,
        );
    }
    dots(ink, at, all_told, own.x, shape);
    if !shape.stemmed {
        return;
    }
    let (Some(low), Some(high)) = (item.heads.first(), item.heads.last()) else { return };
    let x = own.x + shape.stem;
    let from = if shape.up { y_of(low.step) - 1.2 } else { y_of(high.step) + 1.2 };
    ink.bar(Kind::Stem(at), all_told, [x, from.min(own.tip), x + STEM, from.max(own.tip)]);
    let flags = stems::flags(item).min(5);
    if flags > 0 {
        let name = format!("flag{flags}");
        match shape.up {
            true => ink.glyph(Kind::Flag(at), all_told, &name, x, own.tip, shape.scale),
            false => ink.turned(Kind::Flag(at), all_told, &name, x, own.tip, shape.scale),
        }
    }
    let begins_group = |group: &Vec<usize>| group.first() == Some(&at);
    if item.slashed && (item.beams.is_empty() || score.beams.iter().any(begins_group)) {
        let y = own.tip + if shape.up { 13.0 } else { -13.0 };
        let rise = if shape.up { -9.0 } else { 9.0 };
        ink.slant(Kind::Sign, all_told, (x - 5.0, y), (x + 8.0, y + rise), 1.1);
    }
}

/// Short lines for notes off the staff.
fn ledgers(ink: &mut Ink, at: usize, step: i32, x: f64, shape: &Shape) {
    let wide = glyphs::width(&shape.sign) * shape.scale;
    let over = 4.0 * shape.scale;
    let lines = (6..=step).step_by(2).chain((step..=-6).rev().filter(|line| line % 2 == 0));
    for line in lines {
        let y = y_of(line);
        ink.bar(Kind::Ledger(at), false, [x - over, y - 0.6, x + wide + over, y + 0.6]);
    }
}

fn dots(ink: &mut Ink, at: usize, told: bool, x: f64, shape: &Shape) {
    for (dx, step) in &shape.dots {
        ink.dot(Kind::Dot(at), told, x + dx, y_of(*step), 2.1 * shape.scale);
    }
}

fn rest(score: &Score<'_>, ink: &mut Ink, at: usize) {
    let (item, own) = (&score.staff.items[at], &score.placed[at]);
    ink.glyph(Kind::Rest(at), item.told, &own.shape.sign, own.x, own.shape.y, 1.0);
    // A whole or a half rest off the staff needs its line.
    if item.sign.is_none_or(|sign| sign.halvings() <= 1) && own.shape.y.abs() > 20.0 {
        let hangs = item.sign.is_none_or(|sign| sign.halvings() <= 0);
        let y = own.shape.y - if hangs { 10.0 } else { 0.0 };
        ink.bar(
            Kind::Ledger(at),
            false,
            [own.x - 4.0, y - 0.6, own.x + own.shape.right + 4.0, y + 0.6],
        );
    }
    dots(ink, at, item.told, own.x, &own.shape);
}

fn accidentals(score: &Score<'_>, ink: &mut Ink, number: usize) {
    for bar in score.systems[number].bars.clone() {
        let (columns, begins, _) = &score.bars[bar];
        for column in columns {
            for (at, head, dx) in &column.accidentals {
                let item = &score.staff.items[*at];
                let one = &item.heads[*head];
                let Some(alter) = one.accidental else { continue };
                let scale = if item.grace { SMALL } else { 1.0 };
                let (name, x) = (front::accidental(alter), begins + column.x + dx);
                ink.glyph(Kind::Accidental(*at, *head), one.told, name, x, y_of(one.step), scale);
            }
        }
    }
}

fn beams(score: &Score<'_>, ink: &mut Ink, number: usize) {
    let here = |group: &&Vec<usize>| group.iter().any(|at| score.placed[*at].system == number);
    for group in score.beams.iter().filter(here) {
        let items: Vec<_> = group.iter().map(|at| &score.staff.items[*at]).collect();
        let xs = score.stems(group);
        let (Some(first), Some(last)) = (group.first(), group.last()) else { continue };
        let (a, b) = (score.placed[*first].tip, score.placed[*last].tip);
        let slope = (b - a) / (xs[xs.len() - 1] - xs[0]).max(1.0);
        let shape = &score.placed[*first].shape;
        let (scale, up) = (shape.scale, shape.up);
        let told = items.iter().all(|item| item.told);
        for (level, from, to, one, other) in stems::pieces(&items, &xs) {
            let y = |x: f64| {
                let line = a + slope * (x - xs[0]);
                let inwards = level as f64 * stems::NEXT * scale;
                if up { line + inwards } else { line - inwards - stems::BEAM * scale }
            };
            let (from, to) = (from - STEM / 2.0, to + STEM / 2.0);
            let kind = Kind::Beam(group[one], group[other]);
            ink.slant(kind, told, (from, y(from)), (to, y(to)), stems::BEAM * scale);
        }
    }
}
