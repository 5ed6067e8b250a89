//! `recte chords`: every harmony as understood.

use super::listing::{each_tune, quoted};
use super::{Outcome, PathArgs, print};
use crate::files::Input;
use clap::{Args, ValueEnum};
use recte_notation::{Block, Document};
use recte_score::Tune;
use recte_score::harmony::{Cadence, Foreign, Harmony, Heading, cadences};
use recte_theory::PitchName;
use serde::Serialize;
use std::fmt::Write;

#[derive(Args)]
pub(super) struct ChordsArgs {
    #[command(flatten)]
    paths: PathArgs,
    /// How to list them
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    /// A line for each harmony
    Text,
    /// One JSON object
    Json,
    /// A table with commas
    Csv,
}

#[derive(Serialize)]
struct ChordsJson {
    version: u32,
    tunes: Vec<TuneJson>,
}

#[derive(Serialize)]
struct TuneJson {
    path: String,
    reference: Option<String>,
    title: String,
    harmonies: Vec<HarmonyJson>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct HarmonyJson {
    bar: i32,
    /// The place of the bar among all, from 0.
    bar_index: u32,
    /// Counted from 1 in notes of the signature's lower number (in quarters without one).
    beat: String,
    onset: String,
    duration: String,
    symbol: Option<String>,
    root: Option<String>,
    quality: Option<String>,
    bass: Option<String>,
    inversion: Option<u8>,
    notes: Vec<String>,
    key: Option<String>,
    degree: Option<String>,
    /// Whether it is what a chord symbol over a lone melody says, and not heard.
    typed: bool,
    /// The kind of the cadence that ends here.
    cadence: Option<&'static str>,
    nonchord: Vec<NonchordJson>,
    readings: Vec<ReadingJson>,
}

#[derive(Serialize)]
struct NonchordJson {
    pitch: String,
    voice: String,
    kind: &'static str,
}

#[derive(Serialize)]
struct ReadingJson {
    symbol: String,
    root: String,
    quality: String,
}

pub(super) fn run(args: &ChordsArgs) -> Outcome {
    let (tunes, outcome) = match each_tune(&args.paths, of_tune) {
        Ok(found) => found,
        Err(outcome) => return outcome,
    };
    let output = match args.format {
        Format::Text => text(&tunes),
        Format::Json => crate::render::json::text(&ChordsJson { version: 1, tunes }),
        Format::Csv => csv(&tunes),
    };
    print(&output, outcome)
}

fn of_tune(input: &Input, _: &Document, _: usize, block: &Block) -> TuneJson {
    let tune = &block.lowered().tune;
    TuneJson {
        path: input.name(),
        reference: tune.reference.clone(),
        title: tune.title().to_owned(),
        harmonies: listed(block),
    }
}

fn listed(block: &Block) -> Vec<HarmonyJson> {
    let (tune, harmonies) = (&block.lowered().tune, block.harmonies());
    let cadences = cadences(tune, harmonies);
    let at = |place: usize| cadences.iter().find(|cadence| cadence.harmony == place);
    let all = harmonies.iter().enumerate();
    all.map(|(place, harmony)| of_harmony(tune, harmony, at(place))).collect()
}

fn of_harmony(tune: &Tune, harmony: &Harmony, cadence: Option<&Cadence>) -> HarmonyJson {
    let heading = harmony.chord.as_ref();
    let chord = heading.map(|heading| &heading.chord);
    HarmonyJson {
        bar: tune.bar_number(harmony.bar),
        bar_index: harmony.bar,
        beat: tune.beat_at(harmony.bar, harmony.onset).to_string(),
        onset: harmony.onset.to_string(),
        duration: (harmony.end - harmony.onset).to_string(),
        symbol: chord.map(|chord| chord.symbol()),
        root: chord.map(|chord| chord.root.to_string()),
        quality: chord.map(|chord| chord.quality.name.clone()),
        bass: chord.map(|chord| chord.bass.to_string()),
        inversion: chord.map(|chord| chord.inversion),
        notes: heading.map(|heading| names(&heading.names)).unwrap_or_default(),
        key: heading.map(|heading| heading.key.to_string()),
        degree: heading.map(|heading| heading.degree.clone()),
        typed: heading.is_some_and(|heading| heading.typed),
        cadence: cadence.map(|cadence| cadence.kind.name()),
        nonchord: heading.map(|heading| nonchord(tune, heading)).unwrap_or_default(),
        readings: heading.map(readings).unwrap_or_default(),
    }
}

fn names(names: &[PitchName]) -> Vec<String> {
    names.iter().map(ToString::to_string).collect()
}

fn nonchord(tune: &Tune, heading: &Heading) -> Vec<NonchordJson> {
    let json = |foreign: &Foreign| {
        let voice = &tune.voices[foreign.at.voice as usize];
        NonchordJson {
            pitch: voice.notes[foreign.at.note as usize].pitch.to_string(),
            voice: voice.id.clone(),
            kind: foreign.kind.name(),
        }
    };
    heading.foreign.iter().map(json).collect()
}

fn readings(heading: &Heading) -> Vec<ReadingJson> {
    let json = |chord: &recte_theory::chord::Chord| ReadingJson {
        symbol: chord.symbol(),
        root: chord.root.to_string(),
        quality: chord.quality.name.clone(),
    };
    heading.readings.iter().map(json).collect()
}

fn text(tunes: &[TuneJson]) -> String {
    let mut text = String::new();
    for tune in tunes {
        let _ = writeln!(text, "{}: {}", tune.path, tune.title);
        // Before the first symbol of a lead sheet something may sound.
        let typed = tune.harmonies.iter().any(|harmony| harmony.typed);
        let none = if typed { "no chord" } else { "silence" };
        for harmony in &tune.harmonies {
            let HarmonyJson { bar, beat, symbol, degree, key, .. } = harmony;
            let symbol = symbol.as_deref().unwrap_or(none);
            let degree = degree.as_deref().unwrap_or_default();
            let key = key.as_deref().map(|key| format!("in {key}")).unwrap_or_default();
            let mut line = format!("bar {bar:>3}, beat {beat:<5} {symbol:<10} {degree:<8} {key}");
            if let Some(cadence) = harmony.cadence {
                let _ = write!(line, ": {cadence} cadence");
            }
            let _ = writeln!(text, "  {}", line.trim_end());
        }
    }
    text
}

fn csv(tunes: &[TuneJson]) -> String {
    let mut table = String::from(
        "path,reference,title,bar,beat,onset,duration,symbol,root,quality,bass,inversion,notes,key,degree,cadence\n",
    );
    for tune in tunes {
        for harmony in &tune.harmonies {
            let plain = |text: &Option<String>| text.clone().unwrap_or_default();
            let inversion = harmony.inversion.map(|n| n.to_string()).unwrap_or_default();
            let fields = [
                tune.path.clone(),
                plain(&tune.reference),
                tune.title.clone(),
                harmony.bar.to_string(),
                harmony.beat.clone(),
                harmony.onset.clone(),
                harmony.duration.clone(),
                plain(&harmony.symbol),
                plain(&harmony.root),
                plain(&harmony.quality),
                plain(&harmony.bass),
                inversion,
                harmony.notes.join(" "),
                plain(&harmony.key),
                plain(&harmony.degree),
                harmony.cadence.unwrap_or_default().to_owned(),
            ];
            let _ = writeln!(table, "{}", fields.map(|field| quoted(&field)).join(","));
        }
    }
    table
}
