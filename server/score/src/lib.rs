//! The score: tunes, voices, bars, events and notes, and the analyses over them.
//!
//! The model knows that each thing came from somewhere (an opaque byte [`Span`] relative to its tune) but
//! not what was typed there. No floating-point number stands in it.

mod figures;
mod finish;
mod sounding;
mod span;
mod tune;

pub use figures::{Figure, FigureKind, NoteRef, broken_chords, onset_of, slices};
pub use finish::finish;
pub use sounding::{Sounding, sounding_at, soundings};
pub use span::Span;
pub use tune::{
    Accept, Bar, Clef, Event, EventKind, Instruction, Mark, MarkKind, Note, Scope, Tune, TuneBar,
    Tuplet, Voice,
};
