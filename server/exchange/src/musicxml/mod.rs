//! MusicXML, the open format of the W3C Music Notation Community Group.

mod read;

pub(crate) use read::{natural_ratio, sheet};
