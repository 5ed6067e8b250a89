//! Staying in the metre and holding the last note, where an odd bar only lengthens it.

use super::length::{is_one_value, length_text};
use super::signs::Signs;
use super::{Refusal, tune_bar, voices_with};
use crate::Lowered;
use crate::lower::read_length;
use crate::write::TextEdit;
use recte_score::{Bar, Event, EventKind, Span, Voice};
use recte_theory::{Metre, Time};

/// The edits that give a bar the signature before it again, its last note shortened to fit in every voice
/// and held by a `!fermata!`. The written length changes, so this is only for a suggestion.
///
/// # Errors
/// When something begins in the time that would go, or a shortened note cannot be written as one value.
pub fn pause_instead(
    text: &str,
    read: &Lowered,
    bar: u32,
    metre: &Metre,
) -> Result<Vec<TextEdit>, Refusal> {
    let length = metre.length().unwrap_or_default();
    if length.is_zero() || length >= tune_bar(&read.tune, bar)? {
        return Err(Refusal::new("This bar is not longer than the bars around it."));
    }
    let mut edits = Vec::new();
    for voice in voices_with(&read.tune, bar)? {
        edits.extend(Signs { text, tune: &read.tune, voice }.set(bar, bar, metre)?);
        edits.extend(shortened(text, voice, &voice.bars[bar as usize], length)?);
    }
    Ok(edits)
}

fn shortened(text: &str, voice: &Voice, bar: &Bar, length: Time) -> Result<Vec<TextEdit>, Refusal> {
    let mut edits = Vec::new();
    for events in voice.events_of(bar).chunk_by(|a, b| a.layer == b.layer) {
        let Some(last) = events.iter().rfind(|event| !event.grace) else { continue };
        if matches!(last.kind, EventKind::BarRest(1)) {
            continue;
        }
        let kept = length - last.offset;
        if kept <= Time::ZERO || last.end() <= length {
            return Err(Refusal::new("Something still moves in the time that would go."));
        }
        let odd =
            last.tuplet.is_some() || last.broken || matches!(last.kind, EventKind::BarRest(_));
        if odd || !is_one_value(kept) {
            return Err(Refusal::new("The last note cannot be shortened to one plain value."));
        }
        let typed = typed_length(text, last)?;
        let shorter = length_text(typed * kept / last.duration);
        edits.push(TextEdit { span: last.length, text: shorter });
        let start = last.span.start as usize;
        let typed = text.get(last.full.start as usize..start).unwrap_or_default();
        if !typed.contains("fermata") {
            let fermata = "!fermata!".to_owned();
            edits.push(TextEdit { span: Span::new(start, start), text: fermata });
        }
    }
    Ok(edits)
}

/// The length typed for an event, in unit lengths.
fn typed_length(text: &str, event: &Event) -> Result<Time, Refusal> {
    let typed = text.get(event.length.range()).unwrap_or_default();
    read_length(typed).ok_or_else(|| Refusal::new("A note here has a length that cannot be read."))
}
