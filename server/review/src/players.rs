//! Who plays a voice.

use recte_score::{Tune, Voice};
use recte_theory::instruments::{self, Found, Instrument};

/// The instrument of a voice: what the composer said of it, or what its name means.
pub(crate) fn instrument_of(tune: &Tune, voice: &Voice) -> Option<&'static Instrument> {
    match said_of(tune, voice, "instrument") {
        Some(label) => named(label, voice),
        None => named(&voice.name, voice).or_else(|| named(&voice.subname, voice)),
    }
}

/// Whether a harpist plays a voice.
pub(crate) fn is_harp(tune: &Tune, voice: &Voice) -> bool {
    instrument_of(tune, voice).is_some_and(|instrument| instrument.id == "harp")
}

/// What the composer said last of a voice (`recte instrument`, `recte level`).
pub(crate) fn said_of<'a>(tune: &'a Tune, voice: &Voice, what: &str) -> Option<&'a str> {
    let mut all = tune.instructions.iter().rev();
    all.find(|i| i.what == what && i.voice == voice.id).map(|i| i.value.as_str())
}

/// The one instrument that a label means in this voice, if it means just one.
fn named(label: &str, voice: &Voice) -> Option<&'static Instrument> {
    if label.is_empty() {
        return None;
    }
    match instruments::find(label) {
        Found::One(instrument) => Some(instrument),
        Found::Several(candidates) => {
            let clef = (!voice.clef.name.is_empty()).then_some(voice.clef.name.as_str());
            let transpose = voice.transposes.then_some(voice.transpose);
            instruments::choose(&candidates, clef, transpose)
        }
        Found::None => None,
    }
}
