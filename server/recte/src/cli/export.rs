//! `recte export`: a tune as a file to print or to listen to.

use super::Outcome;
use crate::files::{Input, complain, create};
use clap::Args;
use recte_exchange::{Exported, midi_file, musicxml, mxl};
use recte_notation::{BlockKind, Document};
use recte_score::{Tune, Voice, excerpt};
use std::io;
use std::path::{Path, PathBuf};

#[derive(Args)]
pub(super) struct ExportArgs {
    /// The score, or - for standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The file to write; its ending says what it becomes: .musicxml, .mxl (the same, compressed) or .mid
    #[arg(short, long, value_name = "OUT")]
    output: PathBuf,
    /// The number (X:) of the tune; the first one otherwise
    #[arg(long, value_name = "NUMBER")]
    tune: Option<String>,
    /// Only these bars, by their numbers: 8-16, or 8
    #[arg(long, value_name = "BARS")]
    bars: Option<String>,
    /// Only these voices, by id or name, with commas between them
    #[arg(long, value_name = "VOICES", value_delimiter = ',')]
    voices: Vec<String>,
}

/// What writes a format.
type Write = fn(&Tune) -> io::Result<Exported>;

const FORMATS: [(&str, Write); 3] = [("musicxml", musicxml), ("mxl", mxl), ("mid", midi_file)];

pub(super) fn run(args: &ExportArgs) -> Outcome {
    match export(args) {
        Ok(left_out) => {
            left_out.iter().for_each(|sentence| complain(sentence));
            Outcome::Clean
        }
        Err(why) => {
            complain(&why);
            Outcome::Failed
        }
    }
}

/// Writes the file; gives what its format has no place for.
fn export(args: &ExportArgs) -> Result<Vec<String>, String> {
    let write = format_of(&args.output)?;
    let input = match args.file.as_os_str() == "-" {
        true => Input::Standard,
        false => Input::File(args.file.clone()),
    };
    let named = |why: String| format!("{}: {why}", input.name());
    let document = input.read()?;
    let tune = tune_of(&document, args.tune.as_deref()).map_err(named)?;
    let voices = voices_of(tune, &args.voices).map_err(named)?;
    let bars = bars_of(tune, args.bars.as_deref()).map_err(named)?;
    let narrowed = args.bars.is_some() || !args.voices.is_empty();
    let part = narrowed.then(|| excerpt(tune, bars, &voices));
    let exported =
        write(part.as_ref().unwrap_or(tune)).map_err(|error| named(format!("{error}.")))?;
    create(&args.output, &exported.bytes)?;
    Ok(exported.left_out)
}

fn format_of(output: &Path) -> Result<Write, String> {
    let ending = output.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    let found = FORMATS.iter().find(|(name, _)| *name == ending);
    found
        .map(|(_, write)| *write)
        .ok_or_else(|| format!("{} should end in .musicxml, .mxl or .mid.", output.display()))
}

fn tune_of<'a>(document: &'a Document, number: Option<&str>) -> Result<&'a Tune, String> {
    let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    let mut tunes = tunes.map(|(_, block)| &block.lowered().tune);
    let wanted = |tune: &&Tune| number.is_none() || tune.reference.as_deref() == number;
    tunes.find(wanted).ok_or_else(|| {
        number.map_or("there is no tune in it.".to_owned(), |number| {
            format!("there is no tune with the number {number} in it.")
        })
    })
}

/// The voices asked for, by index in the order of the score; all of them if none is.
fn voices_of(tune: &Tune, wanted: &[String]) -> Result<Vec<usize>, String> {
    let mut found = Vec::new();
    for name in wanted.iter().map(|name| name.trim()) {
        let by = |of: fn(&Voice) -> &str| tune.voices.iter().position(|voice| of(voice) == name);
        let place = by(|voice| &voice.id).or_else(|| by(|voice| &voice.name));
        found.push(place.ok_or_else(|| unknown_voice(tune, name))?);
    }
    if wanted.is_empty() {
        found.extend(0..tune.voices.len());
    }
    found.sort_unstable();
    found.dedup();
    Ok(found)
}

fn unknown_voice(tune: &Tune, name: &str) -> String {
    let names = tune.voices.iter().flat_map(|voice| [&voice.id, &voice.name]);
    let near =
        |known: &&String| strsim::damerau_levenshtein(&name.to_lowercase(), &known.to_lowercase());
    match names.filter(|known| !known.is_empty()).min_by_key(near) {
        Some(nearest) => format!("there is no voice “{name}”; the nearest is “{nearest}”."),
        None => format!("there is no voice “{name}”."),
    }
}

/// The bars asked for, counted from 0; all of them if none is. A number that the parts of a divided bar share
/// means all of them.
fn bars_of(tune: &Tune, wanted: Option<&str>) -> Result<std::ops::RangeInclusive<u32>, String> {
    let last = (tune.bars.len() as u32).saturating_sub(1);
    let Some(wanted) = wanted else { return Ok(0..=last) };
    let (from, to) = wanted.split_once('-').unwrap_or((wanted, wanted));
    let number = |text: &str| text.trim().parse::<i32>().ok();
    let (Some(from), Some(to)) = (number(from), number(to)) else {
        return Err(format!("“{wanted}” names no bars; they are given like 8-16, or 8."));
    };
    if from > to {
        return Err(format!("bars are given from the first to the last, so {to}-{from}."));
    }
    let place = |number: i32| tune.bars.iter().position(|bar| bar.number == number);
    let end = tune.bars.iter().rposition(|bar| bar.number == to);
    match (place(from), end) {
        (Some(first), Some(last)) => Ok(first as u32..=last as u32),
        _ => Err(match (tune.bars.first(), tune.bars.last()) {
            (Some(first), Some(last)) => format!(
                "there are no bars {wanted}; this tune has bars {} to {}.",
                first.number, last.number
            ),
            _ => format!("there are no bars {wanted}; this tune has no music."),
        }),
    }
}
