//! Pure music: time, pitch, interval, key, chord, metre, instruments.
//!
//! This crate knows no text, no spans, no files, and has no floating-point number in pitch or time.

pub mod chord;
pub mod instruments;
pub mod interval;
pub mod key;
pub mod metre;
pub mod pitch;
pub mod playability;
pub mod sonority;
pub mod tertian;
pub mod time;

pub use interval::Interval;
pub use key::Key;
pub use metre::Metre;
pub use pitch::{Letter, Pitch, PitchName};
pub use time::Time;
