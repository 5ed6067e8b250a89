//! Other open formats to and from the score. Bytes in, bytes out: no files.

mod abc;
mod import;
mod midi;
mod musicxml;
mod sheet;

pub use import::{Imported, import_musicxml};
pub use midi::midi_file;
pub use musicxml::{musicxml, mxl};

use recte_score::Tune;
use std::io;

/// A score in another format.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Exported {
    /// The file's content.
    pub bytes: Vec<u8>,
    /// What the format has no place for, a sentence each.
    pub left_out: Vec<String>,
}

fn with_music(tune: &Tune) -> io::Result<()> {
    match tune.voices.iter().all(|voice| voice.bars.is_empty()) {
        true => Err(io::Error::new(io::ErrorKind::InvalidInput, "there is no music in this tune")),
        false => Ok(()),
    }
}
