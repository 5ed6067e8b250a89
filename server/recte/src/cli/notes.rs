//! `recte notes`: every note as understood.

use super::listing::{each_tune, quoted};
use super::{Outcome, PathArgs, print};
use crate::files::Input;
use crate::render::json::{RangeJson, range};
use clap::{Args, ValueEnum};
use recte_notation::{Block, Document};
use recte_score::{Tune, Voice};
use recte_theory::Time;
use serde::Serialize;
use std::fmt::Write;

#[derive(Args)]
pub(super) struct NotesArgs {
    #[command(flatten)]
    paths: PathArgs,
    /// How to list them
    #[arg(long, value_enum, default_value = "json")]
    format: Format,
}

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    /// One JSON object
    Json,
    /// A table with commas
    Csv,
}

#[derive(Serialize)]
struct NotesJson {
    version: u32,
    tunes: Vec<TuneJson>,
}

#[derive(Serialize)]
struct TuneJson {
    path: String,
    reference: Option<String>,
    title: String,
    voices: Vec<VoiceJson>,
}

#[derive(Serialize)]
struct VoiceJson {
    id: String,
    name: String,
    notes: Vec<NoteJson>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct NoteJson {
    bar: i32,
    /// The place of the bar among all of its voice, from 0.
    bar_index: u32,
    /// The layer in the bar, 0 without overlays.
    layer: u8,
    /// From the beginning of the bar.
    offset: String,
    onset: String,
    duration: String,
    pitch: String,
    written: String,
    midi: i32,
    /// Whether the signature gives its letter another alteration.
    altered: bool,
    tied: bool,
    grace: bool,
    range: RangeJson,
}

pub(super) fn run(args: &NotesArgs) -> Outcome {
    let (tunes, outcome) = match each_tune(&args.paths, of_tune) {
        Ok(found) => found,
        Err(outcome) => return outcome,
    };
    let output = match args.format {
        Format::Json => crate::render::json::text(&NotesJson { version: 1, tunes }),
        Format::Csv => csv(&tunes),
    };
    print(&output, outcome)
}

fn of_tune(input: &Input, document: &Document, start: usize, block: &Block) -> TuneJson {
    let tune = &block.lowered().tune;
    let voice = |voice: &Voice| VoiceJson {
        id: voice.id.clone(),
        name: voice.name.clone(),
        notes: of_voice(document, start, tune, voice),
    };
    TuneJson {
        path: input.name(),
        reference: tune.reference.clone(),
        title: tune.title().to_owned(),
        voices: tune.voices.iter().map(voice).collect(),
    }
}

/// In the order of the text. Onsets are counted in the voice's own time, from its first bar.
fn of_voice(document: &Document, start: usize, tune: &Tune, voice: &Voice) -> Vec<NoteJson> {
    let mut notes: Vec<_> = voice
        .events
        .iter()
        .flat_map(|event| voice.notes_of(event).iter().map(move |note| (event, note)))
        .collect();
    notes.sort_by_key(|(_, note)| note.span);
    let json = |(event, note): (&recte_score::Event, &recte_score::Note)| {
        let bar = voice.bars.get(event.bar as usize).map_or(Time::ZERO, |bar| bar.start);
        let span = note.span.range();
        let name = note.written.name;
        NoteJson {
            bar: tune.bar_number(event.bar),
            bar_index: event.bar,
            layer: event.layer,
            offset: event.offset.to_string(),
            onset: (bar + event.offset).to_string(),
            duration: event.duration.to_string(),
            pitch: note.pitch.to_string(),
            written: note.written.to_string(),
            midi: note.pitch.midi(),
            altered: tune.key(event).signature.alter(name.letter) != name.alter,
            tied: note.tied_in,
            grace: event.grace,
            range: range(document, start + span.start..start + span.end),
        }
    };
    notes.into_iter().map(json).collect()
}

fn csv(tunes: &[TuneJson]) -> String {
    let mut table = String::from(
        "path,reference,title,voice,name,bar,onset,duration,pitch,written,midi,tied,grace,\
         startLine,startCharacter,endLine,endCharacter\n",
    );
    for tune in tunes {
        for voice in &tune.voices {
            let head = [
                &tune.path,
                tune.reference.as_deref().unwrap_or_default(),
                &tune.title,
                &voice.id,
                &voice.name,
            ];
            let head = head.map(quoted).join(",");
            for note in &voice.notes {
                let NoteJson {
                    bar, onset, duration, pitch, written, midi, tied, grace, range, ..
                } = note;
                let (start, end) = (&range.start, &range.end);
                let places =
                    format!("{},{},{},{}", start.line, start.character, end.line, end.character);
                let _ = writeln!(
                    table,
                    "{head},{bar},{onset},{duration},{pitch},{written},{midi},{tied},{grace},{places}"
                );
            }
        }
    }
    table
}
