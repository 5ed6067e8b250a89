//! What one player can do at once, and how fast: models of fingerboards, hands, pedals, slides, breath.
//!
//! Every model is given an instrument's row and what is asked of its player, and answers with a [`Verdict`].
//! The models and the table of cases that tries them (`data/playability-cases.csv`) name their sources; figures
//! are planning figures, and players differ.
//!
//! Pitches are exact; seconds, millimetres and rates are floating-point numbers. A model that needs figures the
//! row does not have says nothing (`None`, or [`Verdict::Easy`] where there is a verdict alone).

pub mod breath;
pub mod drums;
pub mod figures;
pub mod fingerboard;
pub mod frets;
pub mod hands;
pub mod harmonics;
pub mod harp;
pub mod leap;
pub mod mallets;
pub mod note_set;
pub mod pace;
pub mod register;
pub mod slide;
pub mod strings;
pub mod tessitura;

#[cfg(test)]
mod cases;
#[cfg(test)]
mod testing;

pub use figures::Figures;

use serde::{Deserialize, Serialize};

/// How well something lies, the easiest first.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default, Deserialize, Serialize,
)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Nobody thinks about it.
    #[default]
    Easy,
    /// It lies well enough.
    Playable,
    /// It fits once a note is given to the free hand.
    Redistribute,
    /// It fits under another spelling.
    Respell,
    /// It can be done, and nobody likes it.
    Awkward,
    /// Few do it well.
    Hard,
    /// It cannot be done.
    Impossible,
}

/// What may be said of a verdict.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Class {
    /// Nothing, or a hint that offers a change.
    Innocent,
    /// A caution.
    Caution,
    /// That it cannot be done.
    Impossible,
}

impl Verdict {
    /// The class it falls into.
    pub fn class(self) -> Class {
        match self {
            Verdict::Easy | Verdict::Playable | Verdict::Redistribute | Verdict::Respell => {
                Class::Innocent
            }
            Verdict::Awkward | Verdict::Hard => Class::Caution,
            Verdict::Impossible => Class::Impossible,
        }
    }
}

/// How loud something is, the softest first. What is softer than `Pp` or louder than `Ff` counts as these.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default, Deserialize, Serialize,
)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum Loudness {
    Pp,
    P,
    Mp,
    /// Also where nothing is said.
    #[default]
    Mf,
    F,
    Ff,
}

impl Loudness {
    /// Piano or softer.
    pub fn is_soft(self) -> bool {
        self <= Loudness::P
    }

    /// Forte or louder.
    pub fn is_loud(self) -> bool {
        self >= Loudness::F
    }
}
