//! What the tests of the models share.

use crate::instruments::{Instrument, by_id};
use crate::pitch::Pitch;

/// A row of the table.
pub(super) fn row(id: &str) -> &'static Instrument {
    by_id(id).unwrap_or_else(|| panic!("no row {id}"))
}

/// "G3 D4" as pitches.
pub(super) fn pitches(text: &str) -> Vec<Pitch> {
    text.split_whitespace().map(|word| word.parse().unwrap()).collect()
}

/// "F#4" as a pitch.
pub(super) fn pitch(text: &str) -> Pitch {
    text.parse().unwrap()
}
