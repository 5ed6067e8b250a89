//! A bar of several layers: each is cut by itself, then the halves are put together bar by bar.

use super::Refusal;
use super::cut::Cut;
use crate::write::{TextEdit, apply};
use recte_score::{Bar, Event, Span, Voice};

/// The layers of a bar, each with its events.
pub(super) fn layers<'a>(voice: &'a Voice, bar: &Bar) -> Vec<&'a [Event]> {
    let events = voice.events_of(bar);
    events.chunk_by(|a, b| a.layer == b.layer).collect()
}

/// Where each layer stands: from its first sign to the `&` or bar line after it.
pub(super) fn layer_spans(
    text: &str,
    bar: &Bar,
    layers: &[&[Event]],
) -> Result<Vec<Span>, Refusal> {
    let mut spans = Vec::new();
    for (place, events) in layers.iter().enumerate() {
        let (Some(first), Some(last)) = (events.first(), events.last()) else { continue };
        let last = last.span.end as usize;
        let rest = text.get(last..).unwrap_or_default();
        let end = if place + 1 < layers.len() {
            rest.find('&').map(|at| last + at)
        } else {
            bar.line.map(|line| line.start as usize).or(Some(bar.span.end as usize))
        };
        let start = first.full.start as usize;
        let span = Span::new(start, end.unwrap_or(last).max(last));
        let typed = text.get(span.range()).unwrap_or_default();
        if typed.contains(['\n', '\r', '%', '&']) || typed.contains(":") && typed.contains("[") {
            return Err(Refusal::new("The layers of this bar are typed over several lines."));
        }
        spans.push(span);
    }
    Ok(spans)
}

/// The whole bar written anew: all first halves, the bar line and signature, all second halves.
pub(super) fn put_together(
    text: &str,
    spans: &[Span],
    cuts: Vec<(Cut, Vec<TextEdit>)>,
    sign: &str,
) -> Result<TextEdit, Refusal> {
    let failed = || Refusal::new("The layers of this bar cannot be parted.");
    let mut halves = [Vec::new(), Vec::new()];
    for (span, (cut, leaning)) in spans.iter().zip(cuts) {
        let from = span.start as usize;
        let typed = text.get(span.range()).ok_or_else(failed)?;
        // A mark that no music holds shows where the two halves part.
        let mut edits = cut.edits;
        let line = Span::new(cut.line, cut.line);
        edits.push(TextEdit { span: line, text: format!("{}\n{}", cut.before, cut.after) });
        edits.extend(leaning);
        for edit in &mut edits {
            let (start, end) = (edit.span.start as usize, edit.span.end as usize);
            let inside = |at: usize| at.checked_sub(from);
            let (Some(start), Some(end)) = (inside(start), inside(end)) else {
                return Err(failed());
            };
            edit.span = Span::new(start, end);
        }
        let whole = apply(typed, &edits).map_err(|_| failed())?;
        let (left, right) = whole.split_once('\n').ok_or_else(failed)?;
        halves[0].push(left.trim().to_owned());
        halves[1].push(right.trim().to_owned());
    }
    let (Some(first), Some(last)) = (spans.first(), spans.last()) else { return Err(failed()) };
    let text = format!("{} | {sign} {} ", halves[0].join(" & "), halves[1].join(" & "));
    Ok(TextEdit { span: first.join(*last), text })
}
