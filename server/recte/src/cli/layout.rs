//! `recte layout`: white space in order, as a difference or in the files.

use super::check::{Score, read_all};
use super::{Outcome, PathArgs, print, show_or_write, take_each, with_jobs};
use crate::files::{Input, TEXTS, complain};
use clap::Args;
use rayon::prelude::*;
use recte_assist::layout_all;

#[derive(Args)]
pub(super) struct LayoutArgs {
    #[command(flatten)]
    paths: PathArgs,
    /// Write the files instead of showing the difference
    #[arg(long)]
    write: bool,
    /// End with exit code 1 if there is a difference
    #[arg(long, conflicts_with = "write")]
    check: bool,
}

struct Done {
    name: String,
    changed: bool,
    left: usize,
    output: Vec<u8>,
}

pub(super) fn run(args: &LayoutArgs) -> Outcome {
    let (scores, failed) = match read_all(&args.paths, TEXTS) {
        Ok(read) => read,
        Err(outcome) => return outcome,
    };
    let one = |(input, _): Score| one(&input, args.write);
    let all: Vec<Result<Done, String>> =
        with_jobs(args.paths.jobs, || scores.into_par_iter().map(one).collect());
    let mut changed = 0;
    let mut output = Vec::new();
    let failed = failed
        + take_each(all, |done| {
            output.extend(done.output);
            changed += usize::from(done.changed);
            if done.left > 0 {
                complain(&format!("{}: {}.", done.name, left(done.left)));
            }
        });
    let mut outcome = if failed > 0 { Outcome::Failed } else { Outcome::Clean };
    complain(&match (changed, args.write) {
        (0, _) => "Nothing to lay out.".to_owned(),
        (_, true) => format!("{} laid out.", scores_counted(changed)),
        (_, false) => format!("{} to lay out; --write does it.", scores_counted(changed)),
    });
    if args.check && changed > 0 {
        outcome = outcome.max(Outcome::Found);
    }
    print(&output, outcome)
}

fn scores_counted(scores: usize) -> String {
    if scores == 1 { "1 score".to_owned() } else { format!("{scores} scores") }
}

fn left(lines: usize) -> String {
    let lines = if lines == 1 { "1 line was".to_owned() } else { format!("{lines} lines were") };
    format!("{lines} left as typed; set otherwise, the score would not read the same")
}

fn one(input: &Input, write: bool) -> Result<Done, String> {
    let document = input.read()?;
    let laid = layout_all(&document);
    let changed = !laid.changes.is_empty();
    let output = show_or_write(input, &document, &document.text_with(&laid.changes), write)?;
    Ok(Done { name: input.name(), changed, left: laid.left, output })
}
