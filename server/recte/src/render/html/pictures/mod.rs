//! The pictures of a page, drawn with the `svg` crate. Widths are shares of the page, so that text keeps its size; what is a
//! curve or a run of bars lies in an inner picture that is stretched. Nothing is told by colour alone: kinds differ in shape,
//! and each picture has text beside it that says the same.

mod curves;
mod keys;
mod layers;
mod likeness;
mod part;

pub(super) use curves::curve;
pub(super) use keys::key_band;
pub(super) use layers::{axis, legend_sign, row};
pub(super) use likeness::likeness;
pub(super) use part::histogram;

use maud::{Markup, PreEscaped};
use svg::Document;
use svg::node::element::{Path, Rectangle, SVG, Text};

/// A picture of a height in pixels, as wide as its place; `label` is what it is called for those who hear the page.
fn canvas(height: f64, label: &str) -> Document {
    Document::new()
        .set("width", "100%")
        .set("height", number(height))
        .set("role", "img")
        .set("aria-label", spoken(label))
}

/// A label as an attribute may hold it: the crate that draws escapes all signs but the quotation mark.
pub(super) fn spoken(label: &str) -> String {
    label.replace('"', "”")
}

/// A picture in it that is stretched to its width.
fn stretched(y: f64, height: f64, wide: f64, high: f64) -> SVG {
    SVG::new()
        .set("y", number(y))
        .set("width", "100%")
        .set("height", number(height))
        .set("viewBox", format!("0 0 {} {}", number(wide), number(high)))
        .set("preserveAspectRatio", "none")
}

/// A share of the width.
fn share(of: f64, whole: f64) -> String {
    format!("{}%", number(if whole > 0.0 { of / whole * 100.0 } else { 0.0 }))
}

/// A number with at most two decimals.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn rectangle(class: &str, x: String, y: f64, width: String, height: f64) -> Rectangle {
    Rectangle::new()
        .set("class", class)
        .set("x", x)
        .set("y", number(y))
        .set("width", width)
        .set("height", number(height))
}

fn path(class: &str, d: String) -> Path {
    Path::new().set("class", class).set("d", d)
}

fn text(words: &str, class: &str, x: String, y: f64, anchor: &str) -> Text {
    Text::new(words).set("class", class).set("x", x).set("y", number(y)).set("text-anchor", anchor)
}

fn markup(document: &Document) -> Markup {
    PreEscaped(document.to_string().replace('\n', ""))
}

/// The step between bars that are numbered, so that there are at most ten.
fn step(bars: usize) -> usize {
    [1, 2, 4, 5, 10, 20, 25, 50, 100, 200, 250, 500]
        .into_iter()
        .find(|step| bars <= step * 10)
        .unwrap_or(1000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!([0.5, 2.0, 1.0 / 3.0, 100.0].map(number), ["0.5", "2", "0.33", "100"]);
        assert_eq!([3, 11, 48, 500].map(step), [1, 2, 5, 50]);
    }

    #[test]
    fn words_are_escaped() {
        let drawn =
            canvas(10.0, "a \"b\" <c>").add(text("<b>&", "soft", share(1.0, 2.0), 9.0, "middle"));
        let drawn = markup(&drawn).into_string();
        assert!(
            !drawn.contains("<b>") && !drawn.contains("<c>") && drawn.contains("50%"),
            "{drawn}"
        );
    }
}
