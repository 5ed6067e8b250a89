//! Who plays each voice, from what the composer said of it, its name, and what stands around it.

use crate::tune::{Tune, Voice};
use recte_theory::instruments::{Found, Instrument, choose, find};
use std::ops::Range;

/// How many play a voice together.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Players {
    /// One player or singer.
    #[default]
    One,
    /// So many, each with a note of their own where there are several ("Horns 1.2", "divisi").
    Several(u8),
    /// All of a section or choir.
    Section,
}

/// Who plays a stretch of a voice.
#[derive(Clone, PartialEq, Debug)]
pub struct Playing<'i> {
    /// The events they play.
    pub events: Range<u32>,
    /// On what.
    pub instrument: &'i Instrument,
    /// How many of them.
    pub players: Players,
}

/// Who plays each voice, stretch by stretch; nothing where that is not known.
pub fn playing(tune: &Tune) -> Vec<Vec<Playing<'static>>> {
    let of = |voice: &Voice| {
        let instrument = instrument_of(tune, voice)?;
        let events = 0..voice.events.len() as u32;
        Some(Playing { events, instrument, players: Players::One })
    };
    tune.voices.iter().map(|voice| of(voice).into_iter().collect()).collect()
}

/// The instrument a voice begins with: what the composer said of it, or what its name means.
pub fn instrument_of(tune: &Tune, voice: &Voice) -> Option<&'static Instrument> {
    match said_of(tune, voice, "instrument") {
        Some(label) => named(label, voice),
        None => named(&voice.name, voice).or_else(|| named(&voice.subname, voice)),
    }
}

/// What the composer said last of a voice (`recte instrument`, `recte level`).
pub fn said_of<'a>(tune: &'a Tune, voice: &Voice, what: &str) -> Option<&'a str> {
    let mut all = tune.instructions.iter().rev();
    all.find(|i| i.what == what && i.voice == voice.id).map(|i| i.value.as_str())
}

/// The one instrument that a label means in this voice, if it means just one.
fn named(label: &str, voice: &Voice) -> Option<&'static Instrument> {
    if label.is_empty() {
        return None;
    }
    match find(label) {
        Found::One(instrument) => Some(instrument),
        Found::Several(candidates) => {
            let clef = (!voice.clef.name.is_empty()).then_some(voice.clef.name.as_str());
            let transpose = voice.transposes.then_some(voice.transpose);
            choose(&candidates, clef, transpose)
        }
        Found::None => None,
    }
}
