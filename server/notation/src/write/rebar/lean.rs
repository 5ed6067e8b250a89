//! Accidentals that a new bar line would cancel.

use super::cut::Layer;
use crate::lower::{Accidentals, Reach};
use crate::write::TextEdit;
use crate::write::pitch::accidental_text;
use recte_score::{Event, Note, Span, Tune};

/// Writes out what later notes leaned on before the cut.
pub(super) fn write_out(layer: &Layer<'_>, tune: &Tune, reach: Reach) -> Vec<TextEdit> {
    let mut seen = Accidentals::default();
    let mut edits = Vec::new();
    for (event, index) in layer.notes_after() {
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
