//! Tuplets that lie over a line, split where it falls.

use super::Unwritable;
use super::beams::Style;
use super::edits::{Written, rewritten};
use super::heads::typed_times;
use super::row::{Row, Sign};
use crate::write::TextEdit;
use recte_score::{Span, Voice};
use recte_theory::metre::{Beats, Ticks, WHOLE, is_one_value};
use std::ops::Range;

/// A tuplet that lies over a line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Across {
    /// Its signs, by their places in the row.
    pub signs: Range<usize>,
    /// The line.
    pub line: Ticks,
}

/// The tuplets of a row that lie over a line stronger than the place where they begin. Those that do not come out
/// by themselves are left: they share what they hold with their neighbours.
pub fn across(row: &Row, beats: &Beats) -> Vec<Across> {
    let mut found = Vec::new();
    let mut first = 0;
    while first < row.signs.len() {
        let Some(tuplet) = row.signs[first].tuplet else {
            first += 1;
            continue;
        };
        let same = |sign: &&Sign| sign.tuplet == Some(tuplet);
        let count = row.signs[first..].iter().take_while(same).count();
        let (start, end) = (row.signs[first].start, row.signs[first + count - 1].end);
        let whole = WHOLE % (end - start).max(1) == 0
            || (end - start) % 3 == 0 && is_one_value(end - start);
        if let Some(line) = beats.crossed(start, end)
            && whole
        {
            found.push(Across { signs: first..first + count, line });
        }
        first += count;
    }
    found
}

/// The edits that write such a tuplet as two, tied where its line falls.
///
/// # Errors
/// When no note of it comes apart there.
pub fn split_edits(
    text: &str,
    voice: &Voice,
    row: &Row,
    beats: &Beats,
    one: &Across,
) -> Result<Vec<TextEdit>, Unwritable> {
    let failed = Unwritable("This tuplet does not come apart at the line.");
    let signs = row.signs.get(one.signs.clone()).ok_or(failed)?;
    let tuplet =
        signs.first().and_then(|sign| voice.tuplets.get(sign.tuplet? as usize)).ok_or(failed)?;
    let (above, below) = (i64::from(tuplet.actual), i64::from(tuplet.normal.max(1)));
    let cut =
        signs.iter().position(|sign| sign.start < one.line && one.line < sign.end).ok_or(failed)?;
    let sign = &signs[cut];
    let values = vec![one.line - sign.start, sign.end - one.line];
    if !values.iter().all(|value| value * above % below == 0 && is_one_value(value * above / below))
    {
        return Err(failed);
    }
    let of = |count: usize| format!("({above}:{below}:{count}");
    let written = |(place, sign): (usize, &Sign)| {
        let inside = one.signs.contains(&place);
        let here = place == one.signs.start + cut;
        Written {
            values: if here { values.clone() } else { vec![sign.end - sign.start] },
            before_second: if here { of(signs.len() - cut) } else { String::new() },
            new: inside,
        }
    };
    let all: Vec<Written> = row.signs.iter().enumerate().map(written).collect();
    let mut edits = rewritten(text, voice, row, beats, &all, Style::default())?;
    edits.push(TextEdit { span: tuplet.span, text: of(cut + 1) });
    Ok(edits)
}

/// The edits that write a tuplet in the time of so many, its lengths multiplied.
///
/// # Errors
/// When a length in it cannot be read.
pub fn ratio_edits(
    text: &str,
    voice: &Voice,
    row: &Row,
    signs: &Range<usize>,
    (above, below): (i64, i64),
    normal: u32,
) -> Result<Vec<TextEdit>, Unwritable> {
    let failed = Unwritable("This tuplet is typed in an unusual way.");
    let signs = row.signs.get(signs.clone()).ok_or(failed)?;
    let tuplet =
        signs.first().and_then(|sign| voice.tuplets.get(sign.tuplet? as usize)).ok_or(failed)?;
    let sign = format!("({}:{normal}:{}", tuplet.actual, signs.len());
    let mut edits = vec![TextEdit { span: tuplet.span, text: sign }];
    for sign in signs {
        let event = &voice.events[sign.event as usize];
        if sign.broken {
            return Err(failed);
        }
        edits.push(TextEdit { span: event.length, text: typed_times(text, event, above, below)? });
    }
    Ok(edits)
}

/// The edits that write a pair of dotted notes as a duplet, or a duplet as dotted notes.
///
/// # Errors
/// When a length in it cannot be read.
pub fn duplet_edits(
    text: &str,
    voice: &Voice,
    row: &Row,
    first: usize,
    to_duplet: bool,
) -> Result<Vec<TextEdit>, Unwritable> {
    let failed = Unwritable("These notes are typed in an unusual way.");
    let signs = row.signs.get(first..first + 2).ok_or(failed)?;
    let begins = voice.events[signs[0].event as usize].full.start;
    let sign = match signs[0].tuplet.and_then(|tuplet| voice.tuplets.get(tuplet as usize)) {
        Some(tuplet) if !to_duplet => TextEdit { span: tuplet.span, text: String::new() },
        None if to_duplet => {
            TextEdit { span: Span { start: begins, end: begins }, text: "(2".into() }
        }
        _ => return Err(failed),
    };
    let (above, below) = if to_duplet { (2, 3) } else { (3, 2) };
    let mut edits = vec![sign];
    for sign in signs {
        let event = &voice.events[sign.event as usize];
        edits.push(TextEdit { span: event.length, text: typed_times(text, event, above, below)? });
    }
    Ok(edits)
}
