//! Words under notes that are split or joined: a hold more, or one less.

use super::Unwritable;
use crate::write::TextEdit;
use recte_score::{MarkPlace, Span, Syllable, Voice};
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

/// An edit for the syllable of a note in every verse; none where nothing is sung.
fn in_each_verse(
    voice: &Voice,
    event: u32,
    edit: impl Fn(&Syllable) -> Result<TextEdit, Unwritable>,
) -> Result<Vec<TextEdit>, Unwritable> {
    if has_symbol_lines(voice) {
        return Err(SHIFT);
    }
    if voice.lyrics.is_empty() {
        return Ok(Vec::new());
    }
    let of_verse = |verse: u16| {
        let own = |s: &&Syllable| s.verse == verse && s.event == event;
        edit(voice.syllables.iter().find(own).ok_or(SHIFT)?)
    };
    verses(voice, event).into_iter().map(of_verse).collect()
}

/// The edits that hold the syllable of a note for so many notes more, in every verse.
pub(super) fn held(
    text: &str,
    voice: &Voice,
    event: u32,
    more: usize,
) -> Result<Vec<TextEdit>, Unwritable> {
    in_each_verse(voice, event, |syllable| {
        let end = syllable.span.end as usize;
        let dash = syllable.joined && text.get(end..).is_some_and(|rest| rest.starts_with('-'));
        let end = end + usize::from(dash);
        Ok(TextEdit { span: Span::new(end, end), text: "_".repeat(more) })
    })
}

/// The edits that take the hold of a note away, which is joined to the one before.
pub(super) fn released(text: &str, voice: &Voice, event: u32) -> Result<Vec<TextEdit>, Unwritable> {
    in_each_verse(voice, event, |syllable| {
        if !syllable.held || text.get(syllable.span.range()) != Some("_") {
            return Err(SHIFT);
        }
        Ok(TextEdit { span: syllable.span, text: String::new() })
    })
}
