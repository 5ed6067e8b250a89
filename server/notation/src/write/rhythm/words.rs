//! Words under notes that are split or joined: a hold more, or one less.

use super::Unwritable;
use crate::write::TextEdit;
use recte_score::{MarkPlace, Span, Voice};
use std::collections::BTreeSet;

const SHIFT: Unwritable = Unwritable("The words under this line would shift.");

/// Whether a line of symbols goes with the notes, which would shift.
fn has_symbol_lines(voice: &Voice) -> bool {
    voice.marks.iter().any(|mark| matches!(mark.on, MarkPlace::Line(_)))
}

/// The verses sung near an event.
fn verses(voice: &Voice, event: u32) -> BTreeSet<u16> {
    let near = event.saturating_sub(8)..event + 8;
    let sung = voice.syllables.iter().filter(|syllable| near.contains(&syllable.event));
    sung.map(|syllable| syllable.verse).collect()
}

/// The edits that hold the syllable of a note for so many notes more, in every verse.
pub(super) fn held(
    text: &str,
    voice: &Voice,
    event: u32,
    more: usize,
) -> Result<Vec<TextEdit>, Unwritable> {
    if has_symbol_lines(voice) {
        return Err(SHIFT);
    }
    if voice.lyrics.is_empty() {
        return Ok(Vec::new());
    }
    let mut edits = Vec::new();
    for verse in verses(voice, event) {
        let own = |s: &&recte_score::Syllable| s.verse == verse && s.event == event;
        let syllable = voice.syllables.iter().find(own).ok_or(SHIFT)?;
        let end = syllable.span.end as usize;
        let dash = syllable.joined && text.get(end..).is_some_and(|rest| rest.starts_with('-'));
        let end = end + usize::from(dash);
        edits.push(TextEdit { span: Span::new(end, end), text: "_".repeat(more) });
    }
    Ok(edits)
}

/// The edits that take the hold of a note away, which is joined to the one before.
pub(super) fn released(text: &str, voice: &Voice, event: u32) -> Result<Vec<TextEdit>, Unwritable> {
    if has_symbol_lines(voice) {
        return Err(SHIFT);
    }
    if voice.lyrics.is_empty() {
        return Ok(Vec::new());
    }
    let mut edits = Vec::new();
    for verse in verses(voice, event) {
        let own = |s: &&recte_score::Syllable| s.verse == verse && s.event == event;
        let syllable = voice.syllables.iter().find(own).filter(|s| s.held).ok_or(SHIFT)?;
        if text.get(syllable.span.range()) != Some("_") {
            return Err(SHIFT);
        }
        edits.push(TextEdit { span: syllable.span, text: String::new() });
    }
    Ok(edits)
}
