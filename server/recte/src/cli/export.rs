//! `recte export`: a tune as a file to print or to listen to.

use super::Outcome;
use super::narrow::{PassageArgs, no_tune, tunes_of};
use crate::files::{Input, complain, create};
use clap::Args;
use recte_exchange::{Exported, midi_file, musicxml, mxl};
use recte_score::{Tune, excerpt};
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
    #[command(flatten)]
    passage: PassageArgs,
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
    let number = args.tune.as_deref();
    let tunes = tunes_of(&document, number);
    let (_, block) = tunes.first().ok_or_else(|| named(no_tune(number)))?;
    let tune = &block.lowered().tune;
    let asked = args.passage.of(tune).map_err(named)?;
    let part = asked.map(|(voices, bars)| excerpt(tune, bars, &voices));
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
