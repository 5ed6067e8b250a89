//! MusicXML 4.0, the open standard of the W3C Music Notation Community Group.

mod write;

pub use write::{musicxml, mxl};
