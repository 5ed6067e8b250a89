//! What hovering over a note or chord says.

use recte_notation::Document;
use recte_review::Config;
use std::ops::Range;

/// What to show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hover {
    /// What it is about, in bytes of the document.
    pub range: Range<usize>,
    /// The text.
    pub markdown: String,
}

/// What stands at a place: the written notes of the note or chord there.
pub fn hover(document: &Document, offset: usize, _config: &Config) -> Option<Hover> {
    let (start, block) = document.block_at(offset)?;
    let tune = &block.lowered().tune;
    for voice in &tune.voices {
        let event = voice.events.iter().find(|e| e.sounds() && e.span.touches(offset - start));
        if let Some(event) = event {
            let names = voice.notes_of(event).iter().map(|note| note.written.to_string());
            return Some(Hover {
                range: start + event.span.start as usize..start + event.span.end as usize,
                markdown: names.collect::<Vec<_>>().join(" "),
            });
        }
    }
    None
}
