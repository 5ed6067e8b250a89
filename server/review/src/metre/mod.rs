//! What the metre rules share: bars that do not fit their signature, the rhythm of a bar, how it fits a
//! grouping, stretches under one signature.

#[cfg(test)]
pub(crate) mod cases;
mod counted;
mod divided;
mod fit;
mod habit;
#[cfg(test)]
mod numbered;
mod places;
mod rhythm;
mod run;
mod stretch;
mod together;

pub(crate) use counted::Counted;
pub(crate) use divided::Misfit;
pub(crate) use fit::{Grouping, Reading, read};
pub(crate) use habit::without_habits;
pub(crate) use places::{at_signs, line_name};
pub(crate) use rhythm::Rhythm;
pub(crate) use run::Run;
pub(crate) use stretch::{Stretch, stretches};
pub(crate) use together::Misfits;
