//! Which model answers which question of the table.
//!
//! `check` asks the question; `pitch` says whether notes are as written or as sounding; `technique`, `per_second`
//! (events a second), `seconds` (of the whole passage), `dynamic` and `setup` (what is there, or missing) are
//! all that a model is told. `context` and `reason` are for people.

use super::Case;
use crate::instruments::Family;
use crate::pitch::Pitch;
use crate::playability::breath::{self, Tone};
use crate::playability::harp::{self, Moment};
use crate::playability::pace::{self, Manner, Passage};
use crate::playability::{Figures, Loudness, Verdict, fingerboard, hands, leap, register, strings};

/// Nothing where no model answers yet.
pub(super) fn verdict(case: &Case) -> Option<Verdict> {
    let instrument = case.instrument;
    let notes = case.sounding();
    let figures = Figures::default();
    Some(match case.check.as_str() {
        "multiple-stop" | "fret-stop" => each(case, |notes| {
            Some(fingerboard::chord(instrument, notes, case.stroke(), case.level)?.verdict)
        })?,
        "vibrato" => strings::vibrato(instrument, notes[0]),
        "hand-span" | "harp-hand" => each(case, |notes| hand(case, notes))?,
        "pace" => pace(case, &figures)?,
        "leap" => worst(case.pairs().map(|pair| leap(case, pair, &figures))),
        "range" if case.has("pedalboard") => {
            worst(notes.iter().filter_map(|note| register::pedalboard(instrument, *note)))
        }
        "range" => {
            let plain = case.has("no-extension") || case.has("no-attachment");
            let plain = plain || case.setup("strings").is_some();
            let compass =
                |note: &Pitch| register::compass(instrument, *note, case.level, plain, &figures);
            worst(notes.iter().filter_map(compass).map(|compass| compass.verdict))
        }
        "register" => {
            let others = case.setup("tutti").map(super::loudness).unwrap_or_default();
            let colour = |note: &Pitch| register::colour(instrument, *note, case.loudness, others);
            worst(notes.iter().filter_map(colour).map(|colour| colour.verdict))
        }
        "break" => register::alternation(instrument, &notes, case.rate(), &figures),
        "trill" => register::trill(instrument, [notes[0], notes[1]]),
        "tremolo" => pace::tremolo(case.seconds, case.loudness, &figures),
        "breath" => breath::breath(instrument, case.level, &case.tones(), &figures)?.verdict,
        "bow" => breath::bow(instrument, &case.tones(), &figures)?.verdict,
        "endurance" => {
            awkward_if(breath::endurance(instrument, case.level, &case.tones()).is_some())
        }
        "harp-pedals" => {
            let chords = case.played();
            let at = |place| place as f64 / case.rate();
            let moments = chords.iter().enumerate();
            let moments = moments.map(|(place, notes)| Moment { seconds: at(place), notes });
            harp::passage(instrument, &moments.collect::<Vec<_>>())?.verdict
        }
        _ => return None,
    })
}

fn worst(verdicts: impl Iterator<Item = Verdict>) -> Verdict {
    verdicts.max().unwrap_or_default()
}

fn awkward_if(so: bool) -> Verdict {
    if so { Verdict::Awkward } else { Verdict::Easy }
}

/// The worst of all chords.
fn each(case: &Case, model: impl Fn(&[Pitch]) -> Option<Verdict>) -> Option<Verdict> {
    let verdicts = case.played().into_iter().map(|chord| model(&chord));
    Some(worst(verdicts.collect::<Option<Vec<_>>>()?.into_iter()))
}

fn hand(case: &Case, notes: &[Pitch]) -> Option<Verdict> {
    let (instrument, level) = (case.instrument, case.level);
    let grip = match case.technique.as_str() {
        "two-hands" => hands::two_hands(instrument, notes, level),
        _ if case.setup("other-hand") == Some("free") => {
            hands::staves(instrument, &[], notes, level)
        }
        _ => hands::one_hand(instrument, notes, level),
    };
    Some(grip?.verdict)
}

fn pace(case: &Case, figures: &Figures) -> Option<Verdict> {
    let manner = match case.technique.as_str() {
        _ if case.has("pedalboard") => Manner::Feet,
        "tongued" => Manner::Detached,
        "slurred" => Manner::Slurred,
        "pizz" => Manner::Plucked,
        "text" => Manner::Syllables,
        _ => Manner::Plain,
    };
    let played = case.played();
    let chords: Vec<&[Pitch]> = played.iter().map(Vec::as_slice).collect();
    let passage = Passage { chords: &chords, per_second: case.rate(), manner };
    Some(pace::pace(case.instrument, case.level, &passage, figures)?.verdict)
}

fn leap(case: &Case, pair: [Pitch; 2], figures: &Figures) -> Verdict {
    let seconds = [1.0 / case.rate(); 2];
    let quick = leap::leap(case.instrument, case.level, pair, seconds, figures);
    let voice = case.instrument.family == Family::Voice;
    quick.max(awkward_if(voice && leap::hard_to_pitch(pair).is_some()))
}

impl Case {
    fn tones(&self) -> Vec<Tone> {
        let played: Vec<Pitch> = self.played().into_iter().flatten().collect();
        let seconds = self.seconds / played.len() as f64;
        let loudness: Loudness = self.loudness;
        played.into_iter().map(|sounding| Tone { sounding, seconds, loudness }).collect()
    }
}
