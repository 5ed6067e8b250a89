//! Values that hide a line, and the ties that show it.

use super::Unwritable;
use super::beams::Style;
use super::edits::{Written, rewritten};
use super::row::{Kind, Row, Sign};
use crate::write::TextEdit;
use recte_score::Voice;
use recte_theory::metre::{Beats, is_one_value};

/// The notes of a row that hide a line, or last as long as no one value, by their places in it.
pub fn hidden(row: &Row, beats: &Beats) -> Vec<usize> {
    let hides = |sign: &Sign| {
        let plain = sign.kind == Kind::Note && sign.tuplet.is_none();
        let hides = || beats.hidden(sign.start, sign.end, |at| row.begins(at)).is_some();
        plain && (!is_one_value(sign.end - sign.start) || hides())
    };
    let all = row.signs.iter().enumerate().filter(|(_, sign)| hides(sign));
    all.map(|(place, _)| place).collect()
}

/// The edits that write these notes with ties.
///
/// # Errors
/// When one of them is typed in a way that does not come apart.
pub fn shown_edits(
    text: &str,
    voice: &Voice,
    row: &Row,
    beats: &Beats,
    which: &[usize],
    style: Style,
) -> Result<Vec<TextEdit>, Unwritable> {
    let written = |(place, sign): (usize, &Sign)| {
        let new = which.contains(&place);
        let values = match new {
            true => beats.shown(sign.start, sign.end, &|at| row.begins(at)),
            false => vec![sign.end - sign.start],
        };
        let writable = !new || values.iter().all(|value| is_one_value(*value));
        let written = Written { values, before_second: String::new(), new };
        writable.then_some(written).ok_or(Unwritable("A value here does not come apart."))
    };
    let all: Result<Vec<_>, _> = row.signs.iter().enumerate().map(written).collect();
    rewritten(text, voice, row, beats, &all?, style)
}
