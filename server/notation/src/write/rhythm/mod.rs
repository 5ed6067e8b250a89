//! Rewriting the rhythm of a bar without changing what sounds: ties that show the beat, ties that say nothing,
//! rests, beams and tuplets.
//!
//! One function for each job, over a bar in one voice or in all: [`show_beats`], [`join_ties`],
//! [`regroup_rests`], [`beam_by_beat`], [`split_tuplets`]. What reads a bar for them, [`Row`], also serves whoever
//! judges it: [`wanted_beams`] and its like say what a copyist would write, and the rest is comparison.

mod beams;
mod edits;
mod heads;
mod rests;
mod row;
mod shown;
mod ties;
mod tuplets;
mod words;

pub use beams::{Beamed, Style, by_beat, wanted_beams};
pub use edits::{can_join, joint_edit};
pub use rests::{rest_edits, silent_stretches};
pub use row::{Kind, Row, Sign, fitting, rows};
pub use shown::{hidden, shown_edits};
pub use ties::{joined_edits, needless};
pub use tuplets::{across, duplet_edits, ratio_edits, split_edits};

use super::{Refusal, TextEdit};
use crate::Lowered;
use recte_theory::metre::Beats;
use std::fmt;

/// Why a rhythm cannot be rewritten; shown, it is a sentence.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Unwritable(&'static str);

impl fmt::Display for Unwritable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0)
    }
}

impl std::error::Error for Unwritable {}

impl From<Unwritable> for Refusal {
    fn from(why: Unwritable) -> Refusal {
        Refusal::new(why.0)
    }
}

/// A bar, in one voice or in all.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Place {
    /// The bar, counted from 0.
    pub bar: u32,
    /// The voice, by index; all of them if none is named.
    pub voice: Option<usize>,
}

/// The edits that show the beats a bar hides, by ties.
///
/// # Errors
/// When the bar is in no metre, does not hold what its signature asks for, or a value in it cannot be split.
pub fn show_beats(text: &str, read: &Lowered, place: Place) -> Result<Vec<TextEdit>, Unwritable> {
    each_row(read, place, |row, beats, rows| {
        let hiding = hidden(row, beats);
        let style = Style::of_others(&read.tune, place.bar);
        if hiding.is_empty() {
            Ok(Vec::new())
        } else {
            shown_edits(text, rows, row, beats, &hiding, style)
        }
    })
}

/// The edits that write as one value what is tied for no reason.
///
/// # Errors
/// When the bar is in no metre or does not hold what its signature asks for.
pub fn join_ties(text: &str, read: &Lowered, place: Place) -> Result<Vec<TextEdit>, Unwritable> {
    each_row(read, place, |row, beats, rows| {
        let runs = needless(row, beats).into_iter();
        let edits = runs.map(|run| joined_edits(text, rows, row, run));
        Ok(edits.collect::<Result<Vec<_>, _>>()?.concat())
    })
}

/// The edits that group the rests of a bar by its beats.
///
/// # Errors
/// When the bar is in no metre or does not hold what its signature asks for.
pub fn regroup_rests(
    text: &str,
    read: &Lowered,
    place: Place,
) -> Result<Vec<TextEdit>, Unwritable> {
    each_row(read, place, |row, beats, rows| {
        let runs = silent_stretches(row, beats).into_iter();
        let edits = runs.map(|stretch| rest_edits(text, rows, row, beats, &stretch));
        Ok(edits.collect::<Result<Vec<_>, _>>()?.concat())
    })
}

/// The edits that beam a bar by its beats.
///
/// # Errors
/// When the bar is in no metre, does not hold what its signature asks for, or a line of text ends inside a beam.
pub fn beam_by_beat(text: &str, read: &Lowered, place: Place) -> Result<Vec<TextEdit>, Unwritable> {
    each_row(read, place, |row, beats, rows| {
        let wanted = by_beat(row, beats);
        edits::joints(text, rows, row, &wanted)
    })
}

/// The edits that split tuplets where they lie over a line.
///
/// # Errors
/// When the bar is in no metre, does not hold what its signature asks for, or a tuplet does not come apart.
pub fn split_tuplets(
    text: &str,
    read: &Lowered,
    place: Place,
) -> Result<Vec<TextEdit>, Unwritable> {
    each_row(read, place, |row, beats, rows| {
        let all = across(row, beats).into_iter();
        let edits = all.map(|one| split_edits(text, rows, row, beats, &one));
        Ok(edits.collect::<Result<Vec<_>, _>>()?.concat())
    })
}

/// Does a job on every layer of a bar, under the reading of its signature that fits all voices best.
fn each_row(
    read: &Lowered,
    place: Place,
    job: impl Fn(&Row, &Beats, &recte_score::Voice) -> Result<Vec<TextEdit>, Unwritable>,
) -> Result<Vec<TextEdit>, Unwritable> {
    let tune = &read.tune;
    let mut bars = tune.voices.iter().filter_map(|voice| voice.bars.get(place.bar as usize));
    if bars.any(|bar| tune.metre(bar).is_free()) {
        return Err(Unwritable("There is no metre here to show."));
    }
    let all = rows(tune, place.bar)
        .ok_or(Unwritable("This bar does not hold what its signature asks for."))?;
    let metre = all.first().map(|row| tune.metre(&tune.voices[row.voice].bars[place.bar as usize]));
    let readings = metre.map(recte_theory::Metre::beats).unwrap_or_default();
    let beats =
        fitting(&readings, &all, None).ok_or(Unwritable("There is no metre here to show."))?;
    let mut edits = Vec::new();
    for row in all.iter().filter(|row| place.voice.is_none_or(|voice| voice == row.voice)) {
        edits.extend(job(row, &readings[beats], &tune.voices[row.voice])?);
    }
    Ok(edits)
}

#[cfg(test)]
mod tests;
