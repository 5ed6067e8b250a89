//! Whether a harpist plays.

use crate::context::Context;

/// Whether a harpist plays a voice.
pub(crate) fn is_harp(context: &Context<'_>, voice: usize) -> bool {
    context.playing(voice).first().is_some_and(|playing| playing.instrument.id == "harp")
}
