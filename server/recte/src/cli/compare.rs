//! `recte compare`: what became of a draft.

use super::check::{FailOn, OnlyArgs, read};
use super::pairs::{Pair, in_folders};
use super::{Outcome, print, take_each, with_jobs};
use crate::files::{Input, complain};
use crate::render::drafts::{self, Compared, Drafts};
use crate::render::{Report, json};
use crate::settings::Settings;
use clap::{Args, ValueEnum};
use rayon::prelude::*;
use recte_assist::{Snapshot, check};
use recte_review::Config;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[derive(Args)]
pub(super) struct CompareArgs {
    /// The draft as it was: a score, or a folder of scores
    #[arg(value_name = "OLD", required_unless_present = "schema")]
    old: Option<PathBuf>,
    /// The draft as it is: a score, or a folder, whose scores are compared with those of the same names
    #[arg(value_name = "NEW", required_unless_present = "schema")]
    new: Option<PathBuf>,
    /// How to say it
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
    /// End with 1 if a new remark matters at least this much
    #[arg(long, value_enum, default_value = "warning", value_name = "SEVERITY")]
    fail_on: FailOn,
    #[command(flatten)]
    only: OnlyArgs,
    /// Use this configuration file instead of the recte.toml nearest to the new draft
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    /// How many scores to read at a time [default: as many as the machine can]
    #[arg(long, value_name = "NUMBER")]
    jobs: Option<usize>,
    /// Print the JSON Schema of what `--format json` prints instead
    #[arg(long)]
    schema: bool,
}

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    /// For reading
    Text,
    /// One JSON object
    Json,
}

pub(super) fn run(args: &CompareArgs) -> Outcome {
    if args.schema {
        return print(&json::text(&drafts::schema()), Outcome::Clean);
    }
    let (Some(old), Some(new)) = (&args.old, &args.new) else { return Outcome::Failed };
    let (pairs, failed) = match paired(old, new) {
        Ok(found) => found,
        Err(why) => {
            complain(&why);
            return Outcome::Failed;
        }
    };
    let settings = Settings::new(args.config.clone());
    let mut waiting = Vec::new();
    for pair in pairs {
        // One measure for both: the settings of the new draft.
        let path = pair.1.as_ref().or(pair.0.as_ref()).map_or(Path::new("-"), Input::path);
        match settings.config(path) {
            Ok(config) => waiting.push((pair, config)),
            Err(mistakes) => {
                mistakes.iter().for_each(|mistake| complain(mistake));
                return Outcome::Failed;
            }
        }
    }
    settings.warn();
    let made: Vec<Result<Made, String>> = with_jobs(args.jobs, || {
        waiting.into_par_iter().map(|(pair, config)| make(args, pair, config)).collect()
    });
    let mut all = Drafts { unread: 0, ..Drafts::default() };
    let unread = take_each(made, |made| match made {
        Made::Compared(compared) => all.compared.push(*compared),
        Made::Gone(name) => all.gone.push(name),
        Made::Added(report) => all.added.push(*report),
    });
    all.unread = failed + unread;
    let output = match args.format {
        Format::Text => drafts::text(&all),
        Format::Json => json::text(&drafts::json(&all)),
    };
    let worst = all.new_remarks().map(|one| one.finding().severity).max();
    let fails = args.fail_on.severity().is_some_and(|least| worst >= Some(least));
    let outcome = if fails { Outcome::Found } else { Outcome::Clean };
    print(&output, if all.unread > 0 { Outcome::Failed } else { outcome })
}

/// What came of a pair of scores.
enum Made {
    Compared(Box<Compared>),
    Gone(String),
    Added(Box<Report>),
}

fn make(args: &CompareArgs, pair: Pair, config: Arc<Config>) -> Result<Made, String> {
    let config = args.only.asking(config);
    let keeps = |rule: &str| args.only.keeps(rule);
    let report = |input: &Input| -> Result<(Report, Snapshot), String> {
        let score = read(input)?;
        let snapshot = Snapshot::new(score.document.clone(), config.clone());
        let (name, document) = (input.name(), score.document);
        Ok((Report { name, document, bars: score.bars, remarks: Vec::new() }, snapshot))
    };
    match pair {
        (Some(old), Some(new)) => {
            let ((old, before), (new, after)) = (report(&old)?, report(&new)?);
            let mut comparison = recte_assist::drafts::compare(&before, &after);
            comparison.remarks_mut().for_each(|remarks| remarks.retain(keeps));
            Ok(Made::Compared(Box::new(Compared { old, new, comparison })))
        }
        (None, Some(new)) => {
            let (mut report, snapshot) = report(&new)?;
            report.remarks = check(&snapshot);
            report.remarks.retain(|one| keeps(one.finding().rule));
            Ok(Made::Added(Box::new(report)))
        }
        (old, None) => Ok(Made::Gone(old.map(|old| old.name()).unwrap_or_default())),
    }
}

/// Which score is compared with which; and how many folders could not be read.
fn paired(old: &Path, new: &Path) -> Result<(Vec<Pair>, usize), String> {
    let one = |path: &Path| match path.as_os_str() == "-" {
        true => Input::Standard,
        false => Input::File(path.to_path_buf()),
    };
    match (old.is_dir(), new.is_dir()) {
        (false, false) if old.as_os_str() == "-" && new.as_os_str() == "-" => {
            Err("Only one of the two drafts can come in by standard input.".to_owned())
        }
        (false, false) => Ok((vec![(Some(one(old)), Some(one(new)))], 0)),
        (true, true) => Ok(in_folders(old, new)),
        _ => {
            let (folder, score) = if old.is_dir() { (old, new) } else { (new, old) };
            Err(format!(
                "{} is a folder and {} is not; compare two scores, or two folders.",
                folder.display(),
                score.display()
            ))
        }
    }
}
