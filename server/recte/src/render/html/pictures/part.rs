//! What a part uses of its instrument: registers as bands, how long each pitch sounds as bars.

use super::{canvas, markup, number, path, rectangle, share, stretched, text};
use maud::Markup;
use recte_assist::report::PartReport;

/// The picture; none where nothing with a pitch sounds.
pub(crate) fn histogram(part: &PartReport) -> Option<Markup> {
    let (low, high) = part.compass.map(|(low, high)| (low.midi(), high.midi()))?;
    let edges = part.registers.iter().map(|one| (one.range.0.midi(), one.range.1.midi()));
    let range = part.range.map(|(low, high)| (low.midi(), high.midi()));
    let all = || edges.clone().chain(range).chain([(low, high)]);
    let (first, last) = (all().map(|e| e.0).min()?, all().map(|e| e.1).max()?);
    let whole = f64::from(last - first + 1);
    let mut drawn =
        canvas(62.0, &format!("{}: how long each pitch sounds, over its registers", part.name));
    for (at, one) in part.registers.iter().enumerate() {
        let (from, to) =
            (f64::from(one.range.0.midi() - first), f64::from(one.range.1.midi() - first + 1));
        let class = if at % 2 == 0 { "band" } else { "band2" };
        drawn = drawn.add(rectangle(class, share(from, whole), 0.0, share(to - from, whole), 46.0));
        if (to - from) / whole >= 0.02 * one.label.chars().count() as f64 {
            let middle = share((from + to) / 2.0, whole);
            drawn = drawn.add(text(&one.label, "soft", middle, 11.0, "middle"));
        }
    }
    let most = part.pitches.iter().map(|(_, lasts)| *lasts).fold(0.0, f64::max);
    let mut d = String::new();
    for (pitch, lasts) in &part.pitches {
        let x = f64::from(pitch.midi() - first) + 0.08;
        let height = if most > 0.0 { (lasts / most * 100.0).max(3.0) } else { 0.0 };
        d.push_str(&format!("M{} 100v-{}h.84V100z", number(x), number(height)));
    }
    let inner = stretched(15.0, 31.0, whole, 100.0);
    drawn = drawn
        .add(inner.add(path("strong", d)).add(path("hair", format!("M0 100H{}", number(whole)))));
    // The notes of the ends: of what is used, and of the instrument where these are apart.
    let at = |midi: i32| share(f64::from(midi - first) + 0.5, whole);
    let near = |a: i32, b: i32| f64::from((a - b).abs()) < whole * 0.09;
    let names = part.compass.map(|(a, b)| [(a, "middle"), (b, "middle")]);
    for (pitch, anchor) in names.into_iter().flatten() {
        if pitch.midi() == high && near(low, high) && low != high {
            continue;
        }
        let anchor = match pitch.midi() {
            midi if near(midi, first) => "start",
            midi if near(midi, last) => "end",
            _ => anchor,
        };
        drawn = drawn.add(text(&pitch.symbol(), "name", at(pitch.midi()), 59.0, anchor));
    }
    for (midi, pitch) in part.range.into_iter().flat_map(|(a, b)| [(a.midi(), a), (b.midi(), b)]) {
        if !near(midi, low) && !near(midi, high) {
            let anchor = if near(midi, first) {
                "start"
            } else if near(midi, last) {
                "end"
            } else {
                "middle"
            };
            drawn = drawn.add(text(&pitch.symbol(), "soft", at(midi), 59.0, anchor));
        }
    }
    Some(markup(&drawn))
}
