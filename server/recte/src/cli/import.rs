//! `recte import`: MusicXML scores as text to edit.

use super::{Outcome, check, print, with_jobs};
use crate::files::{Input, MUSICXML, complain, create_new, gather};
use crate::score::title;
use clap::Args;
use rayon::prelude::*;
use recte_exchange::{Imported, import_musicxml};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

#[derive(Args)]
pub(super) struct ImportArgs {
    /// MusicXML scores: files, folders (every .musicxml, .mxl and .xml in them), or - for standard input
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// The folder to write to, a text for each score; without it one score goes to standard output
    #[arg(short, long, value_name = "DIR")]
    output: Option<PathBuf>,
    /// Take a score only if its text can hold all of it
    #[arg(long)]
    strict: bool,
    /// Check the texts as well; the remarks go to standard error
    #[arg(long)]
    check: bool,
}

pub(super) fn run(args: &ImportArgs) -> Outcome {
    let (inputs, unreadable) = gather(&args.paths, MUSICXML);
    unreadable.iter().for_each(|why| complain(why));
    if args.output.is_none() && inputs.len() > 1 {
        complain("Several scores need a folder to go to; name it with -o.");
        return Outcome::Failed;
    }
    let targets = match targets(args, &inputs) {
        Ok(targets) => targets,
        Err(why) => {
            complain(&why);
            return Outcome::Failed;
        }
    };
    let work: Vec<(Input, Option<PathBuf>)> = inputs.into_iter().zip(targets).collect();
    let one = |(input, target): &(Input, Option<PathBuf>)| one(args, input, target.as_deref());
    let done: Vec<Result<Imported, String>> =
        with_jobs(None, || work.par_iter().map(one).collect());
    let mut outcome = if unreadable.is_empty() { Outcome::Clean } else { Outcome::Failed };
    for ((input, target), done) in work.iter().zip(done) {
        let own = match done {
            Ok(imported) => say(args, input, target.as_deref(), &imported),
            Err(why) => {
                complain(&why);
                Outcome::Failed
            }
        };
        outcome = outcome.max(own);
    }
    outcome
}

/// Where each text goes; two must not go to one place.
fn targets(args: &ImportArgs, inputs: &[Input]) -> Result<Vec<Option<PathBuf>>, String> {
    let Some(folder) = &args.output else { return Ok(vec![None; inputs.len()]) };
    let mut taken: BTreeMap<PathBuf, String> = BTreeMap::new();
    let mut targets = Vec::new();
    for input in inputs {
        let target = folder.join(place(args, input)).with_extension("abc");
        if let Some(other) = taken.insert(target.clone(), input.name()) {
            return Err(format!(
                "{other} and {} would both be written to {}.",
                input.name(),
                target.display()
            ));
        }
        targets.push(Some(target));
    }
    Ok(targets)
}

/// The name below the folder: that of the file, with the folders it lies in below one that was named.
fn place(args: &ImportArgs, input: &Input) -> PathBuf {
    let Input::File(path) = input else { return PathBuf::from("score.x") };
    let below = args.paths.iter().filter(|folder| folder.is_dir());
    let below = below.filter_map(|folder| path.strip_prefix(folder).ok());
    let name = || Path::new(path.file_name().unwrap_or_default());
    below.min_by_key(|rest| rest.components().count()).unwrap_or_else(name).to_path_buf()
}

fn one(args: &ImportArgs, input: &Input, target: Option<&Path>) -> Result<Imported, String> {
    let name = input.name();
    let imported = import_musicxml(&input.content()?, &title(input))
        .map_err(|why| format!("{name}: {why}."))?;
    if args.strict && !imported.left_out.is_empty() {
        let list = listed(&imported);
        return Err(format!("{name} was not taken, for its text cannot hold all of it:\n{list}"));
    }
    if let Some(target) = target {
        create_new(target, imported.text.as_bytes())?;
    }
    Ok(imported)
}

fn listed(imported: &Imported) -> String {
    imported.left_out.iter().map(|what| format!("  {what}.")).collect::<Vec<_>>().join("\n")
}

/// The text, what it does not hold, and remarks on it.
fn say(args: &ImportArgs, input: &Input, target: Option<&Path>, imported: &Imported) -> Outcome {
    let name = input.name();
    if !imported.left_out.is_empty() {
        complain(&format!("{name}: not all of it can be held in text.\n{}", listed(imported)));
    }
    let mut outcome = Outcome::Clean;
    if args.check {
        let name = target.map_or(name, |target| target.display().to_string());
        let (remarks, found) =
            check::of_text(&name, &imported.text, target.unwrap_or(input.path()));
        complain(remarks.trim_end());
        outcome = found;
    }
    if target.is_none() { print(&imported.text, outcome) } else { outcome }
}
