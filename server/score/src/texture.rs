//! Texture and form: what each bar is like, who carries what, where sections begin, how they differ, what comes back.
//!
//! Everything is worked out from a flat table of sounds and bars ([`Table`]) by pure functions, each with its formula and
//! its source at the head of its room. Nothing here says that a passage is bad: it measures, and people judge. What takes
//! time linear in the notes is by bar or by part; only what compares each bar with each other grows with the square of
//! the bars. Measures are floating-point numbers; pitches and moments are not.

pub mod boundaries;
pub mod cells;
pub mod consonance;
pub mod contrast;
pub mod describe;
pub mod figures;
mod form;
pub mod keyfit;
pub mod layers;
pub mod loudness;
pub mod material;
pub mod measures;
pub mod motifs;
pub mod sections;
pub mod similarity;
pub mod table;
pub mod vocabulary;

pub use boundaries::{Boundary, Evidence};
pub use cells::Cells;
pub use contrast::{Contrast, Term};
pub use describe::Descriptor;
pub use figures::{Figure, Run, figures};
pub use form::{Analysis, Curves, Form, analyse};
pub use keyfit::KeyFit;
pub use layers::{Layer, Role, layers};
pub use material::Material;
pub use motifs::{Motif, Recurrence, motifs};
pub use sections::{Compared, Return, Section, Source};
pub use similarity::Matrix;
pub use table::Table;
pub use vocabulary::{Vocabulary, Word, vocabulary};
