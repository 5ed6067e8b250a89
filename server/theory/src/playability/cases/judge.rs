//! Which model answers which question of the table.
//!
//! `check` asks the question; `pitch` says whether notes are as written or as sounding; `technique`, `per_second`
//! (events a second), `seconds` (of the whole passage), `dynamic` and `setup` (what is there, or missing) are
//! all that a model is told. `context` and `reason` are for people.

use super::{Case, Event};
use crate::instruments::Family;
use crate::pitch::Pitch;
use crate::playability::breath::{self, Tone};
use crate::playability::drums::{self, Stroke};
use crate::playability::harmonics::{self, Touch};
use crate::playability::harp::{self, Moment};
use crate::playability::note_set::{self, Sign};
use crate::playability::pace::{self, Manner, Passage};
use crate::playability::slide::{self, Onset};
use crate::playability::tessitura::{self, Sung};
use crate::playability::{Figures, Verdict};
use crate::playability::{fingerboard, hands, leap, mallets, register, strings};

/// What the models say; nothing where the row lacks the figures, which no case of the table does.
pub(super) fn verdict(case: &Case) -> Option<Verdict> {
    let instrument = case.instrument;
    let notes = case.sounding();
    let figures = Figures::default();
    Some(match case.check.as_str() {
        "multiple-stop" | "fret-stop" => each(case, |notes| {
            Some(fingerboard::chord(instrument, notes, case.stroke(), case.level)?.verdict)
        })?,
        "vibrato" => worst(notes.iter().map(|note| strings::vibrato(instrument, *note))),
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
        "breath" => {
            worst(case.breaths().iter().map(|tones| {
                breath::breath(instrument, case.level, tones, &figures).unwrap().verdict
            }))
        }
        "bow" => worst(
            case.breaths()
                .iter()
                .map(|tones| breath::bow(instrument, tones, &figures).unwrap().verdict),
        ),
        "endurance" => {
            let tires =
                |tones: &Vec<Tone>| breath::endurance(instrument, case.level, tones).is_some();
            awkward_if(case.stretches().iter().any(tires))
        }
        "harp-pedals" => {
            let timed = case.timed();
            let moments = timed.iter().map(|(seconds, notes)| Moment { seconds: *seconds, notes });
            harp::passage(instrument, &moments.collect::<Vec<_>>())?.verdict
        }
        "mallets" => each(case, |notes| {
            let said = case.setup("mallets").map(|count| count.parse().unwrap());
            Some(mallets::mallets(instrument, notes, said)?.verdict)
        })?,
        "slide" => slide(case, &figures)?,
        "drums" => drums(case)?,
        "harmonic" => worst(notes.iter().map(|note| harmonic(case, *note, &figures))),
        "note-set" => note_set(case),
        "tessitura" => {
            let sung = |tone: Tone| Sung {
                sounding: tone.sounding,
                seconds: tone.seconds,
                syllable: case.technique == "text",
            };
            let line: Vec<Sung> = case.tones().into_iter().map(sung).collect();
            awkward_if(!tessitura::stretches(instrument, &line, &figures).is_empty())
        }
        other => panic!("{}: no model answers {other}", case.id),
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
    if case.has("pedalboard") {
        return hands::two_feet(instrument, notes);
    }
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

fn slide(case: &Case, figures: &Figures) -> Option<Verdict> {
    let attachment = !case.has("no-attachment");
    if case.technique == "gliss" {
        let slid = |[from, to]: [Pitch; 2]| slide::glissando(case.instrument, from, to);
        let ends = case.events.len();
        let verdicts = case.pairs().take(ends - 1).map(|pair| Some(slid(pair)?.verdict));
        return Some(worst(verdicts.collect::<Option<Vec<_>>>()?.into_iter()));
    }
    let onset = |(seconds, notes): (f64, Vec<Pitch>)| Onset { sounding: notes[0], seconds };
    let onsets: Vec<Onset> = case.timed().into_iter().map(onset).collect();
    Some(slide::line(case.instrument, &onsets, attachment, figures)?.verdict)
}

fn drums(case: &Case) -> Option<Verdict> {
    let sizes = case.setup("drums").map(|sizes| {
        let sizes = sizes.split(',').map(|inches| inches.parse().unwrap());
        drums::of_sizes(case.instrument, &sizes.collect::<Vec<_>>())
    });
    let usual = || drums::usual(case.instrument, case.level).to_vec();
    let there = sizes.unwrap_or_else(usual);
    let timed = case.timed();
    let strokes =
        timed.iter().map(|(seconds, notes)| Stroke { seconds: *seconds, until: *seconds, notes });
    let strokes: Vec<Stroke> = strokes.collect();
    Some(drums::drums(case.instrument, &there, &strokes, drums::Tuning::Pedal)?.verdict)
}

fn harmonic(case: &Case, note: Pitch, figures: &Figures) -> Verdict {
    let touch = match case.technique.as_str() {
        "touch-fourth" => Touch::Fourth,
        "touch-fifth" => Touch::Fifth,
        "touch-third" | "touch-major-third" => Touch::MajorThird,
        _ => {
            let there = !harmonics::natural(case.instrument, note).is_empty();
            return if there { Verdict::Easy } else { Verdict::Impossible };
        }
    };
    let found = harmonics::artificial(case.instrument, note, touch).unwrap().verdict;
    found.max(case.per_second.map_or(Verdict::Easy, |rate| harmonics::pace(rate, figures)))
}

fn note_set(case: &Case) -> Verdict {
    let sign = |event: &Event| match event {
        Event::Rest => vec![Sign::Rest],
        Event::Grace(notes) => notes.iter().map(|note| Sign::Grace(case.sounds(*note))).collect(),
        Event::Notes(notes) => notes.iter().map(|note| Sign::Note(case.sounds(*note))).collect(),
    };
    let signs: Vec<Sign> = case.events.iter().flat_map(sign).collect();
    let faults = note_set::line(case.instrument, &signs).into_iter();
    let line = worst(faults.map(|(_, fault)| fault.verdict()));
    let apart = |notes: &Vec<Pitch>| !note_set::is_one_direction(case.instrument, notes);
    if case.played().iter().any(apart) { Verdict::Impossible } else { line }
}

impl Case {
    /// The notes with no rest between, each stretch by itself.
    fn stretches(&self) -> Vec<Vec<Tone>> {
        let steps = self.steps();
        let seconds = self.per_second.map_or(self.seconds / steps.len() as f64, f64::recip);
        let loudness = self.loudness;
        let tone = |notes: &Vec<Pitch>| Tone { sounding: notes[0], seconds, loudness };
        let stretches = steps.split(Vec::is_empty);
        stretches.map(|stretch| stretch.iter().map(tone).collect()).collect()
    }

    fn tones(&self) -> Vec<Tone> {
        self.stretches().concat()
    }

    /// What is under one slur, or one breath: the whole, or each note where they are separate.
    fn breaths(&self) -> Vec<Vec<Tone>> {
        match self.technique.as_str() {
            "slurred" => self.stretches(),
            _ => self.tones().into_iter().map(|tone| vec![tone]).collect(),
        }
    }
}
