//! The score: tunes, voices, bars, events and notes, and the analyses over them.
//!
//! The model knows that each thing came from somewhere (an opaque byte [`Span`] relative to its tune) but
//! not what was typed there. Pitch and time are exact; seconds (`clock`) and the measures of `texture` are not.

pub mod chord_symbols;
pub mod clock;
pub mod drafts;
mod excerpt;
mod figures;
mod finish;
pub mod harmony;
mod lines;
mod meaning;
mod order;
mod page;
pub mod players;
pub mod signs;
mod sounding;
mod span;
pub mod spelling;
pub mod texture;
mod tune;

pub use excerpt::excerpt;
pub use figures::{Figure, FigureKind, NoteRef, broken_chords, onset_of, slices};
pub use finish::finish;
pub use lines::{Line, Tone, lines};
pub use meaning::{DECORATIONS, Dynamic, Meaning};
pub use order::{Ending, Repeat, endings, playing_order, repeats, written_out};
pub use page::{
    Group, GroupKind, Grouping, LooseTie, MarginNote, SectionMark, Slur, Syllable, Tempo, TextField,
};
pub use sounding::{Sounding, pitched_soundings, sounding_at, soundings};
pub use span::Span;
pub use tune::{
    Accept, Bar, Clef, ClefChange, Event, EventKind, Instruction, LineStyle, Mark, MarkKind,
    MarkPlace, Note, Scope, Style, Tune, TuneBar, Tuplet, Voice,
};
