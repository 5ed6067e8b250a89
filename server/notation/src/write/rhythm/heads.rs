//! Notes and rests as they are typed, their lengths left out.

use super::Unwritable;
use crate::lower::read_length;
use crate::write::length_text;
use recte_score::{Event, EventKind};
use recte_theory::Time;
use recte_theory::metre::{Ticks, time};

const UNUSUAL: Unwritable = Unwritable("A note here is typed in an unusual way.");

/// An event under the hand: what is typed before its length, for the first, the middle and the last of the
/// values it is written as.
pub(super) struct Heads {
    pub(super) first: String,
    pub(super) middle: String,
    pub(super) last: String,
    /// Whether the first differs from what is typed.
    pub(super) changed: bool,
}

/// What stands before an event's length, and how the values after the first one repeat it: without accidentals,
/// which the tie carries, and with the ties that leave from inside a chord only at the last.
pub(super) fn heads(text: &str, event: &Event) -> Result<Heads, Unwritable> {
    let typed = text.get(event.span.start as usize..event.length.start as usize).ok_or(UNUSUAL)?;
    if matches!(event.kind, EventKind::Rest | EventKind::InvisibleRest) {
        let bare = matches!(typed, "z" | "x");
        let same = || typed.to_owned();
        let heads = Heads { first: same(), middle: same(), last: same(), changed: false };
        return if bare { Ok(heads) } else { Err(UNUSUAL) };
    }
    let accidental = |c: char| matches!(c, '^' | '_' | '=');
    if !typed.starts_with('[') {
        let bare = typed.trim_start_matches(accidental);
        if !bare.starts_with(|c: char| c.is_ascii_alphabetic()) {
            return Err(UNUSUAL);
        }
        let (middle, last) = (bare.to_owned(), bare.to_owned());
        return Ok(Heads { first: typed.to_owned(), middle, last, changed: false });
    }
    let simple = |c: char| c.is_ascii_alphanumeric() || "[]^_=,'/-".contains(c);
    let mut letters: Vec<char> =
        typed.chars().filter(char::is_ascii_alphabetic).map(|c| c.to_ascii_uppercase()).collect();
    letters.sort_unstable();
    let doubled = letters.windows(2).any(|pair| pair[0] == pair[1]);
    let other = letters.iter().any(|letter| *letter > 'G');
    if !typed.chars().all(simple) || other || doubled && typed.contains(accidental) {
        return Err(Unwritable("A chord here has signs of its own."));
    }
    let last: String = typed.chars().filter(|c| !accidental(*c)).collect();
    let first = typed.replace('-', "");
    let changed = first != typed;
    Ok(Heads { middle: last.replace('-', ""), first, last, changed })
}

/// The length to type for a part of an event's time.
pub(super) fn typed_part(text: &str, event: &Event, part: Ticks) -> Result<String, Unwritable> {
    let typed = text.get(event.length.range()).unwrap_or_default();
    let typed = read_length(typed).ok_or(Unwritable("A length here cannot be read."))?;
    if event.duration <= Time::ZERO {
        return Err(UNUSUAL);
    }
    Ok(length_text(typed * time(part) / event.duration))
}

/// The length to type for an event that is to be multiplied.
pub(super) fn typed_times(
    text: &str,
    event: &Event,
    above: i64,
    below: i64,
) -> Result<String, Unwritable> {
    let typed = text.get(event.length.range()).unwrap_or_default();
    let typed = read_length(typed).ok_or(Unwritable("A length here cannot be read."))?;
    Ok(length_text(typed * Time::new(above, below)))
}
