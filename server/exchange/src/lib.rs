//! Other open formats to and from the score. Bytes in, bytes out: no files.

mod midi;

pub use midi::midi_file;
