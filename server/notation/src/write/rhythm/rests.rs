//! Rests that do not show the beat, and those that do.

use super::Unwritable;
use super::heads::typed_part;
use super::row::{Kind, Row, Sign};
use crate::write::TextEdit;
use recte_score::{Span, Voice};
use recte_theory::metre::{Beats, WHOLE, is_one_value};
use std::ops::Range;

/// The silent stretches of a row that a copyist would write otherwise, by their places in it.
pub fn silent_stretches(row: &Row, beats: &Beats) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut first = 0;
    while first < row.signs.len() {
        let sign = &row.signs[first];
        if !is_plain_rest(sign) {
            first += 1;
            continue;
        }
        let later = row.signs[first + 1..].iter();
        let count = 1 + later.take_while(|sign| is_plain_rest(sign) && !sign.marked).count();
        if is_wrong(row, &row.signs[first..first + count], beats) {
            found.push(first..first + count);
        }
        first += count;
    }
    found
}

fn is_plain_rest(sign: &Sign) -> bool {
    sign.kind == Kind::Rest && sign.tuplet.is_none() && !sign.broken
}

fn is_whole_bar(row: &Row, rests: &[Sign], beats: &Beats) -> bool {
    rests.len() == row.signs.len()
        && row.full
        && rests.last().is_some_and(|last| last.end == beats.length())
}

fn is_wrong(row: &Row, rests: &[Sign], beats: &Beats) -> bool {
    if rests.len() == row.signs.len() {
        // A silent bar: one whole rest looks like the sign for the bar; layers and short bars are left.
        let one = rests.len() == 1 && rests[0].end - rests[0].start == WHOLE;
        return is_whole_bar(row, rests, beats) && row.layers == 1 && !one;
    }
    let fits = |sign: &Sign| beats.is_one_rest(sign.start, sign.end);
    let merges = |first: usize| {
        let start = rests[first].start;
        rests[first + 1..].iter().any(|last| beats.is_rest_unit(start, last.end - start))
    };
    !rests.iter().all(fits) || (0..rests.len()).any(merges)
}

/// The edits that write a silent stretch as rests that show the beat; a silent bar as the rest of a whole bar.
///
/// # Errors
/// When signs stand between the rests, or what is silent is no sum of plain values.
pub fn rest_edits(
    text: &str,
    voice: &Voice,
    row: &Row,
    beats: &Beats,
    stretch: &Range<usize>,
) -> Result<Vec<TextEdit>, Unwritable> {
    let between = Unwritable("Signs stand between these rests.");
    let rests = row.signs.get(stretch.clone()).ok_or(between)?;
    let (Some(first), Some(last)) = (rests.first(), rests.last()) else { return Err(between) };
    let event = |sign: &Sign| &voice.events[sign.event as usize];
    let mut spaced = rests.len() == 1;
    for pair in rests.windows(2) {
        let gap = text.get(event(&pair[0]).span.end as usize..event(&pair[1]).span.start as usize);
        let gap = gap.filter(|gap| gap.chars().all(|c| matches!(c, ' ' | '\t'))).ok_or(between)?;
        spaced |= !gap.is_empty();
    }
    let own = event(first);
    let head = text.get(own.span.start as usize..own.length.start as usize).unwrap_or_default();
    if head != "z" {
        return Err(Unwritable("A rest here is typed in an unusual way."));
    }
    let span = Span { start: own.span.start, end: event(last).span.end };
    if is_whole_bar(row, rests, beats) {
        return Ok(vec![TextEdit { span, text: "Z".into() }]);
    }
    let values = beats.rests(first.start, last.end);
    if !values.iter().all(|value| is_one_value(*value)) {
        return Err(Unwritable("What is silent here is no sum of plain values."));
    }
    let typed = values.iter().map(|value| Ok(format!("z{}", typed_part(text, own, *value)?)));
    let typed: Result<Vec<String>, Unwritable> = typed.collect();
    Ok(vec![TextEdit { span, text: typed?.join(if spaced { " " } else { "" }) }])
}
