//! Moving the bar lines of a passage by a beat: a pickup that was mistaken.

use super::plan::NewBar;
use super::{Refusal, tune_bar, write_bars};
use crate::Lowered;
use crate::write::TextEdit;
use recte_score::{Bar, Tune, Voice};
use recte_theory::{Metre, Time};

/// The bars whose lines move together with one of them, and what they become.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MovedLines {
    /// The first bar, counted from 0.
    pub from: u32,
    /// The last.
    pub to: u32,
    /// The bars that take their place: the first and the last may be parts of one.
    pub bars: Vec<NewBar>,
}

/// What becomes of the passage around a bar, from one repeat or double bar to the next, when its bar lines come
/// so much later (earlier, if `by` is less than nothing).
///
/// # Errors
/// When the passage has endings, several signatures, or bars of other lengths among its own.
pub fn moved_lines(read: &Lowered, bar: u32, by: Time) -> Result<MovedLines, Refusal> {
    let tune = &read.tune;
    tune_bar(tune, bar)?;
    let voice = tune.voices.iter().find(|voice| voice.bars.len() > bar as usize);
    let voice = voice.ok_or_else(|| Refusal::new("There is no such bar."))?;
    let (from, to) = passage(tune, voice, bar);
    let metre: &Metre = tune.metre(&voice.bars[from as usize]);
    let full = metre.length().filter(|full| *full > Time::ZERO);
    let full = full.ok_or_else(|| Refusal::new("There is no signature here."))?;
    for number in from..=to {
        let bars = tune.voices.iter().filter_map(|voice| voice.bars.get(number as usize));
        for own in bars {
            if own.ending {
                return Err(Refusal::new("An ending begins with this bar.").in_bar(number));
            }
            if tune.metre(own) != metre {
                return Err(Refusal::new("This bar has another signature.").in_bar(number));
            }
        }
        let length = tune.bars[number as usize].length;
        let edge = number == from || number == to;
        if length > full || length < full && !edge {
            return Err(Refusal::new("This bar is not as long as its signature.").in_bar(number));
        }
    }
    let total: Time = tune.bars[from as usize..=to as usize].iter().map(|bar| bar.length).sum();
    let mut first = tune.bars[from as usize].length + by;
    if first > full {
        first -= full;
    } else if first <= Time::ZERO {
        first += full;
    }
    if first <= Time::ZERO || first >= total || by.is_zero() {
        return Err(Refusal::new("This passage is too short for that."));
    }
    let bar = |length: Time| NewBar { length, metre: metre.clone() };
    let mut bars = vec![bar(first)];
    let mut left = total - first;
    while left > Time::ZERO && bars.len() < 100_000 {
        let length = if left < full { left } else { full };
        bars.push(bar(length));
        left -= length;
    }
    Ok(MovedLines { from, to, bars })
}

/// From one line that ends a section to the next.
fn passage(tune: &Tune, voice: &Voice, bar: u32) -> (u32, u32) {
    let ends = |number: u32| {
        let each = || tune.voices.iter().filter_map(|voice| voice.bars.get(number as usize));
        let next = || tune.voices.iter().filter_map(|voice| voice.bars.get(number as usize + 1));
        let closes = |bar: &Bar| bar.section_ends || bar.repeat_closes > 0;
        each().any(closes) || next().any(|next| next.repeat_opens > 0)
    };
    let last = voice.bars.len() as u32 - 1;
    let from = (0..bar).rev().find(|&before| ends(before)).map_or(0, |before| before + 1);
    let to = (bar..last).find(|&after| ends(after)).unwrap_or(last);
    (from, to)
}

/// The edits that move them, in every voice.
///
/// # Errors
/// As [`moved_lines`] and [`write_bars`].
pub fn move_lines(
    text: &str,
    read: &Lowered,
    bar: u32,
    by: Time,
) -> Result<Vec<TextEdit>, Refusal> {
    let MovedLines { from, to, bars } = moved_lines(read, bar, by)?;
    write_bars(text, read, from, to, &bars)
}
