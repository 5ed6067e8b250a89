//! One row of the map of layers, and its axis.

use super::{canvas, markup, number, path, share, step, stretched, text};
use maud::Markup;
use recte_assist::report::{Bars, LayerMap};
use recte_score::texture::Role;
use svg::Document;

/// What a role looks like in a row ten high: its class, and the shape from one bar to another.
fn shape(role: Role) -> Option<(&'static str, &'static [(f64, f64)])> {
    Some(match role {
        Role::Melody => ("strong", &[(0.0, 10.0)]),
        Role::Line => ("middle", &[(2.0, 6.0)]),
        // Two rails.
        Role::Figure => ("middle", &[(0.5, 3.0), (6.5, 3.0)]),
        Role::Bass => ("strong", &[(6.0, 4.0)]),
        Role::Sustained => ("strong", &[(4.3, 1.4)]),
        Role::Doubling => ("ring", &[(0.8, 8.4)]),
        Role::Resting => return None,
    })
}

/// The runs of one part.
pub(crate) fn row(map: &LayerMap, voice: usize, bars: usize, name: &str) -> Markup {
    let runs = map.rows.get(voice).map_or(&[][..], Vec::as_slice);
    let mut inner =
        stretched(2.0, 16.0, bars.max(1) as f64, 10.0).add(path("hair", format!("M0 5H{bars}")));
    for role in
        [Role::Melody, Role::Line, Role::Figure, Role::Bass, Role::Sustained, Role::Doubling]
    {
        let Some((class, bands)) = shape(role) else { continue };
        let mut d = String::new();
        for run in runs.iter().filter(|run| run.role == role) {
            // A little air between runs.
            let (from, wide) = (f64::from(run.from) + 0.06, f64::from(run.to - run.from) + 0.88);
            for (y, high) in bands {
                d.push_str(&format!(
                    "M{} {y}h{}v{high}h-{}z",
                    number(from),
                    number(wide),
                    number(wide)
                ));
            }
        }
        if !d.is_empty() {
            inner = inner.add(path(class, d));
        }
    }
    let mut drawn = canvas(20.0, &format!("{name}: what it carries")).add(inner);
    // The letters of figures that last.
    let figures = runs
        .iter()
        .filter(|run| run.role == Role::Figure && (run.to - run.from + 1) as usize * 16 >= bars);
    for run in figures {
        let id =
            run.figure.and_then(|at| map.figures.get(at)).map_or("", |figure| figure.id.as_str());
        let middle = f64::from(run.from + run.to + 1) / 2.0;
        drawn = drawn.add(text(id, "letter", share(middle, bars as f64), 14.0, "middle"));
    }
    markup(&drawn)
}

/// The sign of a role for the legend.
pub(crate) fn legend_sign(role: Role) -> Markup {
    let mut inner = stretched(1.0, 12.0, 10.0, 10.0);
    if let Some((class, bands)) = shape(role) {
        let d: String =
            bands.iter().map(|(y, high)| format!("M0.3 {y}h9.4v{high}h-9.4z")).collect();
        inner = inner.add(path(class, d));
    }
    markup(&Document::new().set("height", "14").set("aria-hidden", "true").add(inner))
}

/// The numbers of bars, and marks where sections begin.
pub(crate) fn axis(bars: &Bars, joints: &[u32]) -> Markup {
    let count = bars.count();
    let mut drawn =
        Document::new().set("width", "100%").set("height", "16").set("aria-hidden", "true");
    let mut inner =
        stretched(0.0, 4.0, count.max(1) as f64, 1.0).add(path("hair", format!("M0 0H{count}")));
    let ticks: String = joints.iter().map(|bar| format!("M{bar} 0v1")).collect();
    inner = inner.add(path("ring", ticks));
    drawn = drawn.add(inner);
    let step = step(count) as i32;
    for (at, shown) in bars.numbers.iter().enumerate() {
        if *shown == 1 || *shown > 0 && shown % step == 0 && step > 1 || step == 1 {
            let (x, anchor) = if at == 0 { (0.0, "start") } else { (at as f64 + 0.5, "middle") };
            drawn =
                drawn.add(text(bars.name(at as u32), "soft", share(x, count as f64), 14.0, anchor));
        }
    }
    markup(&drawn)
}
