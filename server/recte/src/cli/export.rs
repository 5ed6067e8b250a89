//! `recte export`: a tune as a file to listen to.

use super::Outcome;
use crate::files::{Input, complain, create};
use clap::Args;
use recte_exchange::midi_file;
use recte_notation::{BlockKind, Document};
use std::path::PathBuf;

#[derive(Args)]
pub(super) struct ExportArgs {
    /// The score, or - for standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The file to write; its ending says what it becomes: .mid
    #[arg(short, long, value_name = "OUT")]
    output: PathBuf,
    /// The number (X:) of the tune; the first one otherwise
    #[arg(long, value_name = "NUMBER")]
    tune: Option<String>,
}

pub(super) fn run(args: &ExportArgs) -> Outcome {
    match export(args) {
        Ok(()) => Outcome::Clean,
        Err(why) => {
            complain(&why);
            Outcome::Failed
        }
    }
}

fn export(args: &ExportArgs) -> Result<(), String> {
    let ending = args.output.extension().unwrap_or_default().to_ascii_lowercase();
    if ending != "mid" {
        return Err(format!("{} should end in .mid.", args.output.display()));
    }
    let input = match args.file.as_os_str() == "-" {
        true => Input::Standard,
        false => Input::File(args.file.clone()),
    };
    let bytes = midi_of(&input.read()?, args.tune.as_deref())
        .map_err(|why| format!("{}: {why}", input.name()))?;
    create(&args.output, &bytes)
}

fn midi_of(document: &Document, number: Option<&str>) -> Result<Vec<u8>, String> {
    let mut tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    let wanted = |reference: &Option<String>| number.is_none() || reference.as_deref() == number;
    let (_, block) =
        tunes.find(|(_, block)| wanted(&block.lowered().tune.reference)).ok_or_else(|| {
            number.map_or("there is no tune in it.".to_owned(), |number| {
                format!("there is no tune with the number {number} in it.")
            })
        })?;
    midi_file(&block.lowered().tune).map_err(|error| format!("{error}."))
}
