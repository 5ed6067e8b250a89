//! The outlines of the signs of music, from `glyphs.tsv`.

use std::sync::OnceLock;

/// A sign. The distance of two staff lines is 10, y grows downwards; its own line or space is at 0.
#[derive(Clone, Copy, Debug)]
pub(in crate::render::html) struct Glyph {
    pub(in crate::render::html) name: &'static str,
    /// Left, top, right, bottom.
    pub(super) bounds: [f64; 4],
    pub(super) path: &'static str,
}

fn all() -> &'static [Glyph] {
    static ALL: OnceLock<Vec<Glyph>> = OnceLock::new();
    ALL.get_or_init(|| include_str!("glyphs.tsv").lines().filter_map(read).collect())
}

fn read(line: &'static str) -> Option<Glyph> {
    let cells: Vec<&str> = line.split('\t').collect();
    let [name, left, top, right, bottom, path] = *cells.as_slice() else { return None };
    let number = |cell: &str| cell.parse().ok();
    let bounds = [number(left)?, number(top)?, number(right)?, number(bottom)?];
    Some(Glyph { name, bounds, path })
}

/// The sign of a name; every name used is in the table.
pub(super) fn glyph(name: &str) -> Glyph {
    let found = all().iter().find(|one| one.name == name).copied();
    found.unwrap_or(Glyph { name: "", bounds: [0.0; 4], path: "" })
}

/// How wide it is.
pub(super) fn width(name: &str) -> f64 {
    glyph(name).bounds[2]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_is_read() {
        let lines = include_str!("glyphs.tsv").lines().filter(|line| !line.starts_with('#'));
        assert_eq!(all().len(), lines.count());
        for one in all() {
            assert!(one.path.starts_with('M') && one.bounds[2] > one.bounds[0], "{}", one.name);
        }
    }

    #[test]
    fn heads_fill_a_space_and_digits_two() {
        for name in ["head", "half", "whole"] {
            let [_, top, _, bottom] = glyph(name).bounds;
            assert!((bottom - top - 10.5).abs() < 1.0, "{name}");
        }
        let [_, top, _, bottom] = glyph("t4").bounds;
        assert_eq!(bottom - top, 20.0);
    }
}
