//! How like each bar is to each other: the half under the diagonal, mirrored.

use super::{markup, number, path};
use maud::Markup;
use recte_score::texture::Matrix;
use svg::Document;

/// At most so many squares on a side; more bars share one.
const SIDE: usize = 80;
/// Kinds of darkness.
const STEPS: usize = 5;

/// The picture, square; joints as dashes. Darkness is by rank: the most alike fifth of all pairs is darkest.
pub(crate) fn likeness(matrix: &Matrix, joints: &[u32]) -> Markup {
    let bars = matrix.size();
    let side = bars.clamp(1, SIDE);
    let first = |square: usize| square * bars / side;
    let mean = |a: usize, b: usize| {
        let rows = first(a)..first(a + 1).max(first(a) + 1);
        let columns = || first(b)..first(b + 1).max(first(b) + 1);
        let count = rows.len() * columns().len();
        rows.flat_map(|row| columns().map(move |column| matrix.at(row, column))).sum::<f64>()
            / count as f64
    };
    let squares: Vec<Vec<f64>> = (0..side).map(|a| (0..=a).map(|b| mean(a, b)).collect()).collect();
    let mut all: Vec<f64> =
        squares.iter().enumerate().flat_map(|(a, row)| row[..a].iter().copied()).collect();
    all.sort_by(f64::total_cmp);
    let limit = |share: f64| all.get((all.len() as f64 * share) as usize).copied().unwrap_or(1.0);
    // The lightest half is paper.
    let limits = [limit(0.5), limit(0.68), limit(0.8), limit(0.9), limit(0.97)];
    let mut paths = vec![String::new(); STEPS + 1];
    let level = |a: usize, b: usize| {
        let value = squares[a.max(b)][a.min(b)];
        if a == b {
            STEPS
        } else {
            limits.iter().filter(|limit| value >= **limit && value > 0.0).count()
        }
    };
    for a in 0..side {
        let mut b = 0;
        while b < side {
            let own = level(a, b);
            let run = (b..side).take_while(|at| level(a, *at) == own).count();
            if own > 0 {
                paths[own].push_str(&format!("M{b} {a}h{run}v1h-{run}z"));
            }
            b += run;
        }
    }
    let mut drawn = Document::new()
        .set("viewBox", (0, 0, side, side))
        .set("role", "img")
        .set("aria-label", "How like each bar is to each other")
        .set("shape-rendering", "crispEdges")
        .add(path("band", format!("M0 0h{side}v{side}h-{side}z")));
    for (step, d) in paths.into_iter().enumerate().filter(|(_, d)| !d.is_empty()) {
        drawn = drawn.add(path(&format!("c{step}"), d));
    }
    let place = |bar: u32| number(f64::from(bar) / bars.max(1) as f64 * side as f64);
    let dashes: String = joints
        .iter()
        .map(|bar| place(*bar))
        .map(|at| format!("M{at} 0V{side}M0 {at}H{side}"))
        .collect();
    markup(&drawn.add(path("joint", dashes)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_pieces_share_squares() {
        let matrix = Matrix::of(500, |a, b| if a.abs_diff(b) % 50 == 0 { 1.0 } else { 0.1 });
        let drawn = likeness(&matrix, &[250]).into_string();
        assert!(
            drawn.contains("viewBox=\"0 0 80 80\"") && drawn.contains("M40 0V80"),
            "{}",
            drawn.len()
        );
        assert!(drawn.len() < 120_000, "{}", drawn.len());
        assert!(likeness(&Matrix::default(), &[]).into_string().contains("0 0 1 1"));
    }
}
