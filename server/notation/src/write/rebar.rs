//! Rewriting bars: splitting one in two, setting another signature, holding a note instead of an odd bar.
//!
//! A bar belongs to every voice, so each of these rewrites all voices of the tune or refuses. A split and a
//! new signature never change what sounds; [`pause_instead`] changes a written length and is for suggestions.

mod breaks;
mod carried;
mod gap;
mod head;
mod held;
mod join;
mod layered;
mod leaning;
mod length;
mod lines;
mod moves;
mod pause;
mod plan;
mod reline;
mod rests;
mod scale;
mod scaled;
mod signs;
mod sung;

pub use carried::{carries_all, proved};
pub use length::length_text;
pub use moves::{MovedLines, move_lines, moved_lines};
pub use pause::pause_instead;
pub use plan::NewBar;
pub use scale::{Scale, scale_values, tempo_at, tempo_text};
pub use scaled::scaled_exactly;

use super::TextEdit;
use crate::Lowered;
use plan::{Manner, Plan};
use recte_score::{Bar, Tune, Voice};
use recte_theory::{Metre, Time};
use signs::Signs;
use std::fmt;

/// Why bars cannot be rewritten; shown, it is a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    why: String,
    bar: Option<u32>,
}

impl Refusal {
    pub(crate) fn new(why: impl Into<String>) -> Refusal {
        Refusal { why: why.into(), bar: None }
    }

    /// The same of a bar, counted from 0, if none was named before.
    pub fn in_bar(self, bar: u32) -> Refusal {
        Refusal { bar: self.bar.or(Some(bar)), ..self }
    }

    /// The same of no bar in particular.
    fn anywhere(self) -> Refusal {
        Refusal { bar: None, ..self }
    }

    /// The bar it is about, counted from 0, if it is about one.
    pub fn bar(&self) -> Option<u32> {
        self.bar
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.why)
    }
}

impl std::error::Error for Refusal {}

/// The edits that make two bars of one, in every voice: the first up to `at` (whole notes from the bar
/// line) under the first signature, the rest under the second; the old signature comes back after them. Tied notes
/// are tied where the groups of their new bar meet.
///
/// # Errors
/// When a voice cannot be cut there surely: inside a tuplet or a broken rhythm, in a bar of another length.
pub fn split_bar(
    text: &str,
    read: &Lowered,
    bar: u32,
    at: Time,
    signatures: [&Metre; 2],
) -> Result<Vec<TextEdit>, Refusal> {
    let whole = tune_bar(&read.tune, bar)?;
    let lengths = signatures.map(|metre| metre.length().unwrap_or_default());
    if at <= Time::ZERO || at >= whole || lengths != [at, whole - at] {
        return Err(Refusal::new("The two signatures do not add up to this bar."));
    }
    let bars = signatures.map(NewBar::full);
    rewritten(text, read, bar, bar, &bars, Manner::Plain { spaced: true, shows_joins: true })
}

/// The edits that put the bars `from` to `to` under one signature of the same length, in every voice; the
/// old signature comes back after them. Where the whole tune is meant, its `M:` field is rewritten.
///
/// # Errors
/// When another signature is typed among these bars, or voices disagree about it.
pub fn set_metre(
    text: &str,
    read: &Lowered,
    from: u32,
    to: u32,
    metre: &Metre,
) -> Result<Vec<TextEdit>, Refusal> {
    tune_bar(&read.tune, from)?;
    let voices = voices_with(&read.tune, from)?;
    let mut edits = Vec::new();
    for voice in voices {
        edits.extend(Signs { text, tune: &read.tune, voice }.set(from, to, metre)?);
    }
    Ok(signs::in_header(text, &read.tune, from, to, metre).map_or(edits, |edit| vec![edit]))
}

/// The edits that put the bar lines of the bars `from` to `to` elsewhere, in every voice: the new bars last as long
/// together. The old signature comes back after them.
///
/// # Errors
/// When a voice cannot be written so surely, with the reason.
pub fn write_bars(
    text: &str,
    read: &Lowered,
    from: u32,
    to: u32,
    bars: &[NewBar],
) -> Result<Vec<TextEdit>, Refusal> {
    let spaced = signs::spaced_lines(text, &read.tune);
    rewritten(text, read, from, to, bars, Manner::Plain { spaced, shows_joins: false })
}

/// The edits that make several bars of one, so that joining them again gives the text back: [`join_bars`].
///
/// # Errors
/// As [`split_bar`].
pub fn split_bar_as_typed(
    text: &str,
    read: &Lowered,
    bar: u32,
    parts: &[Metre],
) -> Result<Vec<TextEdit>, Refusal> {
    let bars: Vec<NewBar> = parts.iter().map(NewBar::full).collect();
    rewritten(text, read, bar, bar, &bars, Manner::Exact)
}

/// The edits that make one bar of the bars `from` to `to`, in every voice.
///
/// # Errors
/// When a repeat, an ending or a double bar stands between them, or a voice cannot be written so surely.
pub fn join_bars(
    text: &str,
    read: &Lowered,
    from: u32,
    to: u32,
    metre: &Metre,
) -> Result<Vec<TextEdit>, Refusal> {
    write_bars(text, read, from, to, &[NewBar::full(metre)])
}

fn rewritten(
    text: &str,
    read: &Lowered,
    from: u32,
    to: u32,
    bars: &[NewBar],
    manner: Manner,
) -> Result<Vec<TextEdit>, Refusal> {
    let tune = &read.tune;
    tune_bar(tune, to)?;
    if from > to || bars.is_empty() || bars.iter().any(|bar| bar.length <= Time::ZERO) {
        return Err(Refusal::new("There is no such bar."));
    }
    let empty = |bar: &u32| tune.bars[*bar as usize].length.is_zero();
    if let Some(bar) = (from..=to).find(empty) {
        return Err(Refusal::new("This bar holds nothing that takes time.").in_bar(bar));
    }
    let mut plan = Plan::new(tune, from, to, bars, manner);
    let [old, new] = plan.lengths();
    if old != new {
        return Err(Refusal::new("The new bars are not as long as those there are."));
    }
    let voices = voices_with(tune, from)?;
    for bar in from + 1..=to {
        if voices_with(tune, bar)?.len() != voices.len() {
            return Err(Refusal::new("A voice ends before this bar.").in_bar(bar));
        }
    }
    let above = match bars.split_first() {
        Some((first, rest)) if rest.iter().all(|bar| bar.metre == first.metre) => {
            signs::in_header(text, tune, from, to, &first.metre)
                .filter(|edit| text.get(edit.span.range()) != Some(&edit.text))
        }
        _ => None,
    };
    plan.undoes = manner != Manner::Exact
        && bars.len() < (to - from + 1) as usize
        && signs::undoes(text, tune, &plan);
    let mut edits = Vec::new();
    for voice in voices {
        edits.extend(reline::reline(text, read, voice, &plan, above.is_some())?);
    }
    edits.extend(above);
    Ok(edits)
}

/// The length of a bar.
fn tune_bar(tune: &Tune, bar: u32) -> Result<Time, Refusal> {
    let found = tune.bars.get(bar as usize).map(|bar| bar.length);
    found.ok_or_else(|| Refusal::new("There is no such bar."))
}

/// The voices that have this bar, all under the same signature.
fn voices_with(tune: &Tune, bar: u32) -> Result<Vec<&Voice>, Refusal> {
    let voices: Vec<&Voice> =
        tune.voices.iter().filter(|voice| voice.bars.len() > bar as usize).collect();
    let metre = |voice: &Voice| voice.bars[bar as usize].metre;
    if voices.windows(2).any(|pair| metre(pair[0]) != metre(pair[1])) {
        let why = "The voices have different signatures in this bar.";
        return Err(Refusal::new(why).in_bar(bar));
    }
    for voice in &voices {
        in_order(voice, bar)?;
    }
    Ok(voices)
}

/// A bar whose layers are typed elsewhere (`&&`) cannot be rewritten in its place.
fn in_order(voice: &Voice, bar: u32) -> Result<(), Refusal> {
    let at = bar as usize;
    let apart = |a: &Bar, b: &Bar| a.span.end <= b.span.start || a.span == b.span;
    let before = at.checked_sub(1).is_none_or(|prev| apart(&voice.bars[prev], &voice.bars[at]));
    let after = voice.bars.get(at + 1).is_none_or(|next| apart(&voice.bars[at], next));
    if before && after {
        return Ok(());
    }
    Err(Refusal::new("The layers of this bar are typed apart from it.").in_bar(bar))
}

#[cfg(test)]
mod tests;
