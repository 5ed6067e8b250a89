//! Accidentals that a new bar line would cancel.

use super::cut::Layer;
use crate::lower::{Accidentals, Reach};
use crate::write::TextEdit;
use crate::write::pitch::accidental_text;
use recte_score::{Event, Note, Span, Tune};

/// Writes out what later notes leaned on before the cut: those of the bar, and where only a line end closes it
/// those up to the next typed bar line.
pub(super) fn write_out(layer: &Layer<'_>, tune: &Tune, reach: Reach) -> Vec<TextEdit> {
    let mut seen = Accidentals::default();
    let mut edits = Vec::new();
    let beyond = up_to_line(layer).iter();
    let beyond = beyond.flat_map(|event| event.notes.clone().map(move |note| (event, note)));
    for (event, index) in layer.notes_after().chain(beyond) {
        let note = &layer.voice.notes[index as usize];
        let (letter, octave) = (note.written.name.letter, note.written.octave);
        let alter = note.written.name.alter;
        let implied = if carried(layer, event, note) {
            alter
        } else {
            seen.alter(letter, octave, reach, &tune.key(event).signature)
        };
        let missing = note.accidental.is_none() && implied != alter;
        if missing {
            let start = note.span.start as usize;
            edits.push(TextEdit {
                span: Span::new(start, start),
                text: accidental_text(alter).into(),
            });
        }
        if (missing || note.accidental.is_some()) && reach != Reach::Not {
            seen.record(letter, octave, alter);
        }
    }
    edits
}

/// The events after the bar that its accidentals reach: a new layer begins afresh.
fn up_to_line<'a>(layer: &Layer<'a>) -> &'a [Event] {
    let Some(last) = layer.events.last() else { return &[] };
    let bars = &layer.voice.bars[last.bar as usize..];
    let reached = bars.iter().position(|bar| bar.line.is_some()).unwrap_or(bars.len() - 1);
    let start = bars[0].events.end as usize;
    let events = layer.voice.events.get(start..bars[reached].events.end as usize).unwrap_or(&[]);
    let is_last = layer.voice.events_of(&bars[0]).last().is_some_and(|e| e.layer == last.layer);
    let same = events.iter().take_while(|event| is_last && event.layer == last.layer).count();
    &events[..same]
}

/// Whether a tie brings a bare note its alteration.
fn carried(layer: &Layer<'_>, event: &Event, note: &Note) -> bool {
    let before = layer.voice.events[..note.event as usize].iter();
    let before = before.rev().find(|other| other.sounds() && other.layer == event.layer);
    note.tied_in
        && before.is_some_and(|before| {
            let mut notes = layer.voice.notes_of(before).iter();
            notes.any(|from| from.tied_out && from.written.steps() == note.written.steps())
        })
}
