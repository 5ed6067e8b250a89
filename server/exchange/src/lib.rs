//! Other open formats to and from the score. Bytes in, bytes out: no files.

mod midi;
mod musicxml;

pub use midi::midi_file;
pub use musicxml::{musicxml, mxl};

/// A score in another format.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Exported {
    /// The file's content.
    pub bytes: Vec<u8>,
    /// What the format has no place for, a sentence each.
    pub left_out: Vec<String>,
}
