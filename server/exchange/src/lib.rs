//! Other open formats to and from the score. Bytes in, bytes out: no files.

mod abc;
mod import;
mod midi;
mod musicxml;
mod sheet;

pub use import::{Imported, import_musicxml};
pub use midi::midi_file;
