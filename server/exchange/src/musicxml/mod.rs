//! MusicXML, the open format of the W3C Music Notation Community Group: 1.0 to 4.0 in, 4.0 out.

mod read;
mod write;

pub(crate) use read::{natural_ratio, sheet};
pub use write::{musicxml, mxl};
