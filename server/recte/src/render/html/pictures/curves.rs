//! One curve over the bars.

use super::{canvas, markup, number, path, stretched};
use maud::Markup;

/// A line through what is known, broken where nothing is; joints of the form as dashes.
pub(crate) fn curve(values: &[Option<f64>], joints: &[u32], name: &str) -> Markup {
    let known = || values.iter().flatten().copied();
    let (low, high) =
        (known().fold(f64::INFINITY, f64::min), known().fold(f64::NEG_INFINITY, f64::max));
    let wide = values.len().max(1) as f64;
    let mut inner =
        stretched(4.0, 44.0, wide, 100.0).add(path("hair", format!("M0 100H{}", number(wide))));
    let dashes: String = joints.iter().map(|bar| format!("M{bar} 0V100")).collect();
    inner = inner.add(path("joint", dashes));
    let height =
        |value: f64| if high > low { 96.0 - (value - low) / (high - low) * 92.0 } else { 50.0 };
    let mut d = String::new();
    let mut open = false;
    for (bar, value) in values.iter().enumerate() {
        match value {
            Some(value) => {
                let y = number(height(*value));
                // Each bar is level: what is measured is the bar, not a moment.
                if open {
                    d.push_str(&format!("V{y}h1"))
                } else {
                    d.push_str(&format!("M{bar} {y}h1"))
                }
                open = true;
            }
            None => open = false,
        }
    }
    inner = inner.add(path("curve", d));
    markup(&canvas(52.0, &format!("{name} by bar")).add(inner))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_is_a_gap() {
        let drawn = curve(&[Some(1.0), Some(2.0), None, Some(1.0)], &[2], "Density").into_string();
        assert!(drawn.contains("M0 96h1V4h1M3 96h1"), "{drawn}");
        assert!(curve(&[None], &[], "Loudness").into_string().contains("Loudness by bar"));
    }
}
