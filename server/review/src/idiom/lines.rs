//! A player's strokes cut into what is played without a stop, at an even pace, under one slur.

use super::{Reading, Stroke};
use crate::context::Context;
use recte_score::Dynamic;
use recte_score::clock::Seconds;
use recte_theory::playability::Loudness;
use recte_theory::playability::breath::Tone;
use recte_theory::{Pitch, Time};

/// Cuts a player's strokes where the next does not go on with the one before.
pub(crate) fn runs<'s>(
    strokes: &'s [Stroke],
    goes_on: impl Fn(&Stroke, &Stroke) -> bool + 's,
) -> impl Iterator<Item = &'s [Stroke]> {
    strokes.chunk_by(move |a, b| follows(a, b) && goes_on(a, b))
}

/// Whether a stroke follows another in its line without a rest.
pub(crate) fn follows(first: &Stroke, second: &Stroke) -> bool {
    (first.voice, first.layer) == (second.voice, second.layer) && first.end == second.onset
}

/// How long a stretch of strokes takes; nothing where no tempo is known.
pub(crate) fn seconds(context: &Context<'_>, run: &[Stroke]) -> Option<Seconds> {
    let (first, last) = (run.first()?, run.last()?);
    context.idiom().clock(context.tune).between(first.onset, last.end)
}

/// Seconds from the start of a part to the place of one of its moments, at the slowest that the tempo may mean. Where no
/// tempo is known, moments are far apart.
pub(crate) fn seconds_to(context: &Context<'_>, start: Time, moment: Time, place: usize) -> f64 {
    const APART: f64 = 60.0;
    let seconds = context.idiom().clock(context.tune).between(start, moment);
    seconds.map_or(place as f64 * APART, |seconds| seconds.most)
}

/// How loud a stroke is, as the models of playing count it.
pub(crate) fn loudness(stroke: &Stroke) -> Loudness {
    match stroke.dynamic {
        Some(Dynamic::Pppp | Dynamic::Ppp | Dynamic::Pp) => Loudness::Pp,
        Some(Dynamic::P) => Loudness::P,
        Some(Dynamic::Mp) => Loudness::Mp,
        Some(Dynamic::Mf) | None => Loudness::Mf,
        Some(Dynamic::F) => Loudness::F,
        Some(Dynamic::Ff | Dynamic::Fff | Dynamic::Ffff) => Loudness::Ff,
    }
}

/// The notes of a stroke as they sound, the lowest first.
pub(crate) fn sounding(context: &Context<'_>, stroke: &Stroke, reading: Reading) -> Vec<Pitch> {
    let notes = stroke.typed(context.tune).iter();
    let mut pitches: Vec<Pitch> = notes.map(|note| reading.sounding(note)).collect();
    pitches.sort_by_key(|pitch| pitch.midi());
    pitches
}

/// Strokes as tones for the models of breath and bow, as quick as the tempo may be taken.
pub(crate) fn tones(context: &Context<'_>, run: &[Stroke], reading: Reading) -> Vec<Tone> {
    let tone = |stroke: &Stroke| {
        let seconds = context.idiom().clock(context.tune).between(stroke.onset, stroke.end)?.least;
        let sounding = sounding(context, stroke, reading).pop()?;
        Some(Tone { sounding, seconds, loudness: loudness(stroke) })
    };
    run.iter().filter_map(tone).collect()
}

/// Seconds in a sentence: "about 12 seconds".
pub(crate) fn about(seconds: f64) -> String {
    if seconds < 10.0 {
        let text = format!("about {seconds:.1} seconds").replace(".0 ", " ");
        if text == "about 1 seconds" { "about a second".to_owned() } else { text }
    } else {
        format!("about {:.0} seconds", seconds)
    }
}
