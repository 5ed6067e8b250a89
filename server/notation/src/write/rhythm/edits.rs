//! Edits of a row: an event written as several, neighbours beamed together or parted.

use super::beams::{Bit, Style, bits, inside, wanted};
use super::heads::{heads, typed_part};
use super::row::{Kind, Row};
use super::{Unwritable, words};
use crate::write::TextEdit;
use recte_score::{Span, Voice};
use recte_theory::metre::{Beats, Ticks, WHOLE};

/// What lies between a sign and the one before it.
fn gap<'a>(text: &'a str, voice: &Voice, row: &Row, at: usize) -> Option<(Span, &'a str)> {
    let (before, after) = (row.signs.get(at.checked_sub(1)?)?, row.signs.get(at)?);
    let (before, after) =
        (&voice.events[before.event as usize], &voice.events[after.event as usize]);
    let span = Span { start: before.span.end, end: after.full.start.max(before.span.end) };
    Some((span, text.get(span.range())?))
}

/// Whether the text lets a sign stand at the one before it: nothing but spaces, ties and slurs' ends lie between.
pub fn can_join(text: &str, voice: &Voice, row: &Row, at: usize) -> bool {
    gap(text, voice, row, at).is_some_and(|(_, gap)| can_join_gap(gap))
}

/// The edit that beams a sign to the one before it, or parts them.
pub fn joint_edit(text: &str, voice: &Voice, row: &Row, at: usize, join: bool) -> Option<TextEdit> {
    let (span, gap) = gap(text, voice, row, at)?;
    if join {
        let text = gap.chars().filter(|c| !matches!(c, ' ' | '\t')).collect();
        return can_join_gap(gap).then_some(TextEdit { span, text });
    }
    Some(TextEdit { span: Span { start: span.end, end: span.end }, text: " ".into() })
}

fn can_join_gap(gap: &str) -> bool {
    gap.chars().all(|c| matches!(c, ' ' | '\t' | '`' | '-' | ')' | '.'))
}

/// The edits that give a row these beams.
pub(super) fn joints(
    text: &str,
    voice: &Voice,
    row: &Row,
    wanted: &[bool],
) -> Result<Vec<TextEdit>, Unwritable> {
    let mut edits = Vec::new();
    for (at, bit) in bits(row).iter().enumerate().skip(1) {
        if wanted.get(at).is_some_and(|wanted| *wanted != bit.joined) {
            let edit = joint_edit(text, voice, row, at, wanted[at]);
            edits.push(edit.ok_or(Unwritable("A line of the text ends inside a beam."))?);
        }
    }
    Ok(edits)
}

/// How one sign is to be written.
#[derive(Clone, Debug)]
pub(super) struct Written {
    /// The values, as they sound.
    pub(super) values: Vec<Ticks>,
    /// What is typed before the second value (the sign of a tuplet).
    pub(super) before_second: String,
    /// Whether its beams are to be found anew.
    pub(super) new: bool,
}

/// The edits that write the signs of a row so, ties between the values of each, beams by the beat around them.
pub(super) fn rewritten(
    text: &str,
    voice: &Voice,
    row: &Row,
    beats: &Beats,
    signs: &[Written],
    style: Style,
) -> Result<Vec<TextEdit>, Unwritable> {
    let old = bits(row);
    let (mut all, mut owner) = (Vec::new(), Vec::new());
    for (place, (sign, written)) in row.signs.iter().zip(signs).enumerate() {
        let mut at = sign.start;
        for (part, value) in written.values.iter().enumerate() {
            let length = sign.end - sign.start;
            // A tuplet's values are as long on paper as their share of the sign.
            let flagged = match (sign.kind, *value == length) {
                (Kind::Note, true) => sign.flagged,
                (Kind::Note, false) => sign.flagged || is_flagged(row, voice, place, *value),
                _ => false,
            };
            let short = sign.kind == Kind::Note && flagged && (sign.short || *value < WHOLE / 8);
            let joined = part == 0 && old[place].joined;
            let new = written.new;
            let edge = part == 0 && old[place].edge;
            all.push(Bit { start: at, end: at + value, flagged, short, joined, new, edge });
            owner.push((place, part));
            at += value;
        }
    }
    for at in 1..all.len() {
        all[at].joined &= all[at].flagged && all[at - 1].flagged;
    }
    let sung = !voice.lyrics.is_empty();
    let free = |at: usize| owner[at].1 > 0 || !sung && can_join(text, voice, row, owner[at].0);
    let beams = wanted(&all, beats, style, &free);
    let near = |at: Ticks| {
        let touches = |(bit, _): &(&Bit, _)| {
            bit.new && (bit.start == at || bit.end == at || same_span(beats, bit, at))
        };
        all.iter().zip(&owner).any(|pair| touches(&pair))
    };
    let mut edits = Vec::new();
    let mut index = 0;
    for (place, written) in signs.iter().enumerate() {
        let first = index;
        index += written.values.len();
        if place > 0 && !sung && beams[first] != old[place].joined && near(all[first].start) {
            let lost = old[place].joined && !(all[first].flagged && all[first - 1].flagged);
            if let Some(edit) = joint_edit(text, voice, row, place, beams[first])
                && !lost
            {
                edits.push(edit);
            }
        }
        if written.values.len() > 1 {
            edits.extend(split(text, voice, row, place, written, &beams[first..index])?);
        }
    }
    Ok(edits)
}

fn same_span(beats: &Beats, bit: &Bit, at: Ticks) -> bool {
    let mut spans = beats.beams().iter();
    spans.any(|span| {
        span.0 < bit.end && bit.start < span.1 && inside(std::slice::from_ref(span), at)
    })
}

fn is_flagged(row: &Row, voice: &Voice, place: usize, value: Ticks) -> bool {
    let tuplet = row.signs[place].tuplet.and_then(|tuplet| voice.tuplets.get(tuplet as usize));
    let (above, below) =
        tuplet.map_or((1, 1), |t| (i64::from(t.actual), i64::from(t.normal.max(1))));
    value * above / below < WHOLE / 4
}

/// The edits that write one event as several values.
fn split(
    text: &str,
    voice: &Voice,
    row: &Row,
    place: usize,
    written: &Written,
    beams: &[bool],
) -> Result<Vec<TextEdit>, Unwritable> {
    let sign = &row.signs[place];
    let event = &voice.events[sign.event as usize];
    if sign.broken {
        return Err(Unwritable("A broken rhythm lies there."));
    }
    let heads = heads(text, event)?;
    let tie = if sign.kind == Kind::Note { "-" } else { "" };
    let last = written.values.len() - 1;
    let mut typed = String::new();
    for (part, value) in written.values.iter().enumerate() {
        if part > 0 {
            typed.push_str(tie);
            typed.push_str(if beams[part] { "" } else { " " });
            if part == 1 {
                typed.push_str(&written.before_second);
            }
            typed.push_str(if part == last { &heads.last } else { &heads.middle });
        }
        typed.push_str(&typed_part(text, event, *value)?);
    }
    let mut edits = vec![TextEdit { span: event.length, text: typed }];
    if heads.changed {
        let head = Span { start: event.span.start, end: event.length.start };
        edits.push(TextEdit { span: head, text: heads.first });
    }
    if sign.kind == Kind::Note {
        edits.extend(words::held(text, voice, sign.event, last)?);
    }
    Ok(edits)
}
