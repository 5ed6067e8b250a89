//! Scores of every kind as documents.

use crate::files::Input;
use recte_exchange::{Imported, import_musicxml};
use recte_notation::Document;

/// A score that was read.
pub(crate) struct Score {
    /// Its text.
    pub(crate) document: Document,
    /// For a score that is not text itself: what it calls its bars.
    pub(crate) bars: Option<Vec<String>>,
    /// How many things it has that its text does not hold.
    pub(crate) left_out: usize,
}

/// Reads a text as it is and MusicXML as the text it imports as. The error is a sentence that names it.
pub(crate) fn read(input: &Input) -> Result<Score, String> {
    if !input.is_musicxml() {
        return Ok(Score { document: input.read()?, bars: None, left_out: 0 });
    }
    let imported = import_musicxml(&input.content()?, &title(input))
        .map_err(|why| format!("{}: {why}.", input.name()))?;
    let Imported { text, left_out, bars } = imported;
    Ok(Score { document: Document::new(&text), bars: Some(bars), left_out: left_out.len() })
}

/// What to call a score that has no title: the name of its file.
pub(crate) fn title(input: &Input) -> String {
    match input {
        Input::Standard => String::new(),
        Input::File(path) => {
            path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
        }
    }
}
