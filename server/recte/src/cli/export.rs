//! `recte export`: a tune as a file to print or to listen to.

use super::Outcome;
use super::narrow::{PassageArgs, no_tune, tunes_of};
use crate::files::{Input, complain, create};
use clap::Args;
use recte_assist::{Snapshot, Wanted, suggestions_for};
use recte_exchange::{Exported, midi_file, musicxml, mxl};
use recte_notation::Document;
use recte_score::{Tune, excerpt};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

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
    /// What to try first in these bars, by its title or the beginning of it, to hear it before it is taken; a title that
    /// is none tells those there are
    #[arg(long, value_name = "TITLE")]
    suggestion: Option<String>,
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
    let document = match &args.suggestion {
        Some(title) => tried(document, number, &args.passage, title).map_err(named)?,
        None => document,
    };
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

/// The document with what is suggested for the bars asked for.
///
/// # Errors
/// A sentence, where nothing is suggested under that title or it cannot be done.
fn tried(
    mut document: Document,
    number: Option<&str>,
    passage: &PassageArgs,
    title: &str,
) -> Result<Document, String> {
    let snapshot = Snapshot::new(document.clone(), Arc::default());
    let tunes = tunes_of(&document, number);
    let (start, block) = *tunes.first().ok_or_else(|| no_tune(number))?;
    let asked = passage.of(&block.lowered().tune)?;
    let last = (block.lowered().tune.bars.len() as u32).saturating_sub(1);
    let bars = asked.map_or((0, last), |(_, bars)| bars.into_inner());
    let begins = |known: &str| known.to_lowercase().starts_with(&title.trim().to_lowercase());
    let all = suggestions_for(&snapshot, (start, block), bars, Wanted::Titles);
    let mut fitting = all.iter().map(|one| &one.title).filter(|known| begins(known));
    let (Some(known), None) = (fitting.next(), fitting.next()) else {
        let titles: Vec<String> = all.iter().map(|one| format!("“{}”", one.title)).collect();
        return Err(match titles.as_slice() {
            [] => "nothing is suggested for these bars.".to_owned(),
            _ => {
                format!(
                    "no one suggestion for these bars begins with “{title}”; there are {}.",
                    titles.join(", ")
                )
            }
        });
    };
    let one = suggestions_for(&snapshot, (start, block), bars, Wanted::One(known)).pop();
    let mut changes = one.map_or(Ok(Vec::new()), |one| one.changes)?;
    // From the end, so that the places before stay what they are.
    changes.sort_by_key(|change| std::cmp::Reverse(change.range.start));
    changes.iter().for_each(|change| document.apply(change));
    Ok(document)
}

fn format_of(output: &Path) -> Result<Write, String> {
    let ending = output.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    let found = FORMATS.iter().find(|(name, _)| *name == ending);
    found
        .map(|(_, write)| *write)
        .ok_or_else(|| format!("{} should end in .musicxml, .mxl or .mid.", output.display()))
}
