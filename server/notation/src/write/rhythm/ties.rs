//! Ties that say nothing: from a beat on, one value would do.

use super::heads::{heads, typed_part};
use super::row::{Kind, Row, Sign};
use super::{Unwritable, words};
use crate::write::TextEdit;
use recte_score::{Span, Voice};
use recte_theory::metre::Beats;
use std::ops::Range;

/// The runs of tied notes that one value would say, by their places in the row.
pub fn needless(row: &Row, beats: &Beats) -> Vec<Range<usize>> {
    let plain = |sign: &Sign| sign.kind == Kind::Note && sign.tuplet.is_none() && !sign.broken;
    let goes_on = |pair: &[Sign]| {
        let [a, b] = pair else { return false };
        plain(a) && plain(b) && a.tied_out && b.tied_in && a.end == b.start && !b.marked
    };
    let mut found = Vec::new();
    let mut first = 0;
    while first + 1 < row.signs.len() {
        let count = row.signs[first..].windows(2).take_while(|pair| goes_on(pair)).count();
        let last = first + count;
        let sound = [&row.signs[first], &row.signs[last]];
        // Only the whole sound, as far as it lies in the bar: a part of it may be tied for the sake of the rest.
        let whole = (!sound[0].tied_in || first == 0)
            && (!sound[1].tied_out || last + 1 == row.signs.len());
        if count > 0 && whole && beats.is_one_note(sound[0].start, sound[1].end) {
            found.push(first..last + 1);
        }
        first = last + 1;
    }
    found
}

/// The edits that write such a run as one note.
///
/// # Errors
/// When signs stand between its notes, or words would shift.
pub fn joined_edits(
    text: &str,
    voice: &Voice,
    row: &Row,
    run: Range<usize>,
) -> Result<Vec<TextEdit>, Unwritable> {
    let failed = Unwritable("Signs stand between these notes.");
    let signs = row.signs.get(run).ok_or(failed)?;
    let (Some(first), Some(last)) = (signs.first(), signs.last()) else { return Err(failed) };
    let event = |sign: &Sign| &voice.events[sign.event as usize];
    let mut kept = String::new();
    let mut edits = Vec::new();
    for pair in signs.windows(2) {
        let (before, after) = (event(&pair[0]), event(&pair[1]));
        let gap = text.get(before.span.end as usize..after.span.start as usize).ok_or(failed)?;
        let inner = [before, after]
            .iter()
            .any(|event| text.get(event.span.range()).is_none_or(|typed| typed.contains('-')));
        let dotted = voice.notes_of(before).iter().any(|note| note.tie_dotted);
        if inner || dotted || !gap.chars().all(|c| matches!(c, ' ' | '\t' | '-' | ')' | '`')) {
            return Err(failed);
        }
        heads(text, after)?;
        kept.extend(gap.chars().filter(|c| *c == ')'));
        edits.extend(words::released(text, voice, pair[1].event)?);
    }
    let own = event(first);
    let length = typed_part(text, own, last.end - first.start)?;
    let span = Span { start: own.length.start, end: event(last).span.end };
    edits.push(TextEdit { span, text: format!("{length}{kept}") });
    Ok(edits)
}
