//! MusicXML, the open format of the W3C Music Notation Community Group: 1.0 to 4.0 in, 4.0 out.

mod read;
mod write;

pub(crate) use read::{natural_ratio, sheet};
pub use write::{musicxml, mxl};

/// What has no element of its own is kept under these names (`miscellaneous-field`), each for a field of ABC.
const FIELDS: [(char, &str); 11] = [
    ('A', "area"),
    ('B', "book"),
    ('D', "discography"),
    ('F', "file"),
    ('G', "group"),
    ('H', "history"),
    ('N', "notes"),
    ('O', "origin"),
    ('R', "rhythm"),
    ('S', "source"),
    ('W', "words"),
];
const NUMBER: &str = "reference";
const TITLE: &str = "title";
const PART_ORDER: &str = "order of parts";
