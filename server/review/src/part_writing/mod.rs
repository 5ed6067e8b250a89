//! Part-writing as students are taught it, where the composer asks for strict style (`%%recte style strict`).
//!
//! A chorale is seen as lines, the highest first. Where a phrase ends (a fermata, a breath mark, a bar line that ends a
//! section) and over rests the next chord begins afresh. The rules only word what is found here.

mod leading;
mod motion;
mod placing;
mod range;
mod sevenths;

pub(crate) use motion::{Consecutive, Motion, Perfect};

use crate::context::Context;
use crate::words;
use recte_score::harmony::{Harmony, PhraseSign, phrase_ends};
use recte_score::{Line, Tone, Tune, lines};
use recte_theory::instruments::Family;
use recte_theory::{Metre, Time};
use std::sync::Arc;

/// So many notes tell whether two lines double each other.
const ENOUGH: usize = 8;

/// The four parts of a chorale.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Part {
    Soprano,
    Alto,
    Tenor,
    Bass,
}

impl Part {
    pub(crate) const ALL: [Part; 4] = [Part::Soprano, Part::Alto, Part::Tenor, Part::Bass];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Part::Soprano => "soprano",
            Part::Alto => "alto",
            Part::Tenor => "tenor",
            Part::Bass => "bass",
        }
    }
}

/// A note of a line, by the places of both.
pub(crate) type At = (usize, usize);

/// A tune as lines of strict style.
pub(crate) struct Parts {
    /// When each bar begins, and what chords usually last in it.
    bars: Vec<(Time, Time)>,
    harmonies: Arc<[Harmony]>,
    /// The highest first: a choir in its order, other lines as they lie on the whole.
    lines: Vec<Line>,
    names: Vec<String>,
    /// Which of the four parts a line is.
    parts: Vec<Option<Part>>,
    /// Where phrases end, in time.
    ends: Vec<Time>,
    /// Whether direct fifths and octaves are asked for.
    pub(crate) direct: bool,
}

impl Parts {
    /// The lines, if the composer asks for strict style.
    pub(crate) fn of(context: &Context<'_>) -> Option<Parts> {
        // The tune's own word counts, else the file's.
        let own = context.tune.styles.last().map(|style| style.words.as_slice());
        let words = own.unwrap_or(&context.around.style);
        if words.first().map(String::as_str) != Some("strict") {
            return None;
        }
        let tune = context.tune;
        let lines = lines(tune);
        let mean = |line: &Line| {
            let sum: i64 = line.tones.iter().map(|tone| i64::from(tone.pitch.midi())).sum();
            -sum * 100 / line.tones.len().max(1) as i64
        };
        // A choir stands in its order, however its voices cross.
        let own: Vec<Option<Part>> = lines.iter().map(|line| named(tune, &lines, line)).collect();
        let choir = own.iter().all(Option::is_some);
        let mut order: Vec<usize> = (0..lines.len()).collect();
        order.sort_by_key(|&at| (own[at].filter(|_| choir), mean(&lines[at])));
        let lines: Vec<Line> = order.into_iter().map(|at| lines[at].clone()).collect();
        let ends = phrase_ends(tune, &[]).into_iter();
        let ends = ends.filter(|end| end.sign != PhraseSign::Slur).map(|end| end.end).collect();
        let parts = parts_of(context, &lines);
        let names = lines.iter().zip(&parts).map(|(line, part)| name(tune, &lines, line, *part));
        // A quarter, or less under a signature in eighths.
        let quarter = Time::new(1, 4);
        let beat = |bar: u32| tune.metre_of(bar).and_then(Metre::unit).unwrap_or(quarter);
        let bars = (0..).zip(&tune.bars).map(|(at, bar)| (bar.start, beat(at).min(quarter)));
        Some(Parts {
            bars: bars.collect(),
            harmonies: context.block.harmonies().into(),
            names: names.collect(),
            parts,
            lines,
            ends,
            direct: words.iter().any(|word| word == "direct"),
        })
    }

    pub(crate) fn tone(&self, (line, place): At) -> &Tone {
        &self.lines[line].tones[place]
    }

    /// "soprano", "Oboe 2".
    pub(crate) fn name(&self, line: usize) -> &str {
        &self.names[line]
    }

    /// The note that sounds in a line at a moment.
    fn at(&self, line: usize, moment: Time) -> Option<At> {
        self.lines[line].at(moment).map(|place| (line, place))
    }

    /// The note before one, with no rest and no end of a phrase between.
    fn before(&self, (line, place): At) -> Option<At> {
        let own = &self.lines[line].tones[place];
        self.lines[line].before(place)?;
        (!self.parted(own.onset)).then(|| (line, place - 1))
    }

    /// The note after one, with no rest and no end of a phrase between.
    fn after(&self, (line, place): At) -> Option<At> {
        let next = self.lines[line].next(place)?;
        (!self.parted(next.onset)).then_some((line, place + 1))
    }

    /// Whether a phrase ends at a moment.
    fn parted(&self, moment: Time) -> bool {
        self.ends.binary_search(&moment).is_ok()
    }

    /// Every moment at which a note begins.
    fn moments(&self) -> Vec<Time> {
        let mut all: Vec<Time> =
            self.lines.iter().flat_map(|line| &line.tones).map(|tone| tone.onset).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// The harmony heard at a moment, by its place.
    fn harmony(&self, moment: Time) -> Option<usize> {
        let after = self.harmonies.partition_point(|harmony| harmony.onset <= moment);
        after.checked_sub(1).filter(|&at| self.harmonies[at].chord.is_some())
    }

    /// Whether a note begins between the beats and is shorter than one.
    fn is_light(&self, at: At) -> bool {
        let tone = self.tone(at);
        let Some(&(start, beat)) = self.bars.get(tone.bar as usize) else { return false };
        !(tone.onset - start).modulo(beat).is_zero() && tone.end - tone.onset < beat
    }

    /// Whether a note only embellishes its line: between the beats, shorter than one, and a passing or a neighbour
    /// note, or the next note come too early.
    fn embellishes(&self, at: At) -> bool {
        if !self.is_light(at) {
            return false;
        }
        let own = self.tone(at).pitch;
        let step = |other: At| (self.tone(other).pitch.steps() - own.steps()).abs() == 1;
        let (came, goes) = (self.before(at), self.after(at));
        came.is_some_and(step) && goes.is_some_and(step)
            || goes.is_some_and(|next| self.tone(next).pitch == own)
    }

    /// Whether two lines go in unison or octaves three times in four: then they are one part, played twice.
    fn doubled(&self, upper: usize, lower: usize) -> bool {
        let (mut all, mut same) = (0, 0);
        for tone in &self.lines[upper].tones {
            let Some(other) = self.lines[lower].at(tone.onset) else { continue };
            all += 1;
            same += usize::from(self.lines[lower].tones[other].pitch.name == tone.pitch.name);
        }
        all >= ENOUGH && same * 4 >= all * 3
    }
}

/// Which of the four parts a line is by the name of its voice, which it has for itself.
fn named(tune: &Tune, lines: &[Line], line: &Line) -> Option<Part> {
    let alone = lines.iter().filter(|other| other.voice == line.voice).count() == 1;
    let label = tune.voices[line.voice as usize].label().to_lowercase();
    Part::ALL.into_iter().find(|part| alone && label.starts_with(part.name()))
}

/// Which of the four parts each line is: by its name, or by its place among four.
fn parts_of(context: &Context<'_>, lines: &[Line]) -> Vec<Option<Part>> {
    let tune = context.tune;
    let sung = |line: &Line| {
        let playing = context.playing(line.voice as usize).first();
        playing.is_none_or(|playing| playing.instrument.family == Family::Voice)
    };
    let four = lines.len() == 4 && lines.iter().all(sung);
    let by_place = |place: usize| Part::ALL.get(place).copied().filter(|_| four);
    lines
        .iter()
        .enumerate()
        .map(|(place, line)| named(tune, lines, line).or(by_place(place)))
        .collect()
}

fn name(tune: &Tune, lines: &[Line], line: &Line, part: Option<Part>) -> String {
    if let Some(part) = part {
        return part.name().to_owned();
    }
    let voice = words::voice(&tune.voices[line.voice as usize]);
    let own = lines.iter().filter(|other| other.voice == line.voice);
    let mut places: Vec<(u8, u8)> = own.map(|other| (other.layer, other.rank)).collect();
    places.sort_unstable();
    match places.iter().position(|place| *place == (line.layer, line.rank)) {
        Some(place) if places.len() > 1 => format!("line {} of {voice}", place + 1),
        _ => voice,
    }
}
