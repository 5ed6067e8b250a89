//! Whether a harpist plays.

use recte_score::players::instrument_of;
use recte_score::{Tune, Voice};

/// Whether a harpist plays a voice.
pub(crate) fn is_harp(tune: &Tune, voice: &Voice) -> bool {
    instrument_of(tune, voice).is_some_and(|instrument| instrument.id == "harp")
}
