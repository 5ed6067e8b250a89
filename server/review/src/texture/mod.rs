//! What the rules of texture share: music that means to stay as it is, a figure that stays in one part, and who could
//! take it over.

mod intent;
mod passing;
mod staying;

pub(crate) use intent::is_of_one_mood;
pub(crate) use passing::{passing, relief};
pub(crate) use staying::{Staying, staying};
