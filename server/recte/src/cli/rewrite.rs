//! What `emend` and `respell` share: many texts rewritten, shown as a difference or put in the files.

use super::check::{Score, read_all};
use super::{Outcome, PathArgs, print, show_or_write, take_each, with_jobs};
use crate::files::{Input, TEXTS, complain};
use clap::Args;
use rayon::prelude::*;
use recte_assist::Snapshot;
use recte_notation::write::reads_as_well;
use recte_notation::{Block, Change, Document};
use recte_review::Config;
use std::sync::Arc;

#[derive(Args)]
pub(super) struct RewriteArgs {
    #[command(flatten)]
    pub(super) paths: PathArgs,
    /// Write the files instead of showing the difference
    #[arg(long)]
    pub(super) write: bool,
}

/// What to call what is done.
pub(super) struct Words {
    /// When there is nothing to do.
    pub(super) nothing: &'static str,
    /// One thing that is done …
    pub(super) one: &'static str,
    /// … and several.
    pub(super) many: &'static str,
}

/// What becomes of a text.
#[derive(Default)]
pub(super) struct Rewritten {
    /// How many things are done in it.
    pub(super) count: usize,
    /// The changes, in the order of the text and apart from each other.
    pub(super) changes: Vec<Change>,
    /// Sentences about what had to be left.
    pub(super) left: Vec<String>,
}

struct Done {
    name: String,
    count: usize,
    left: Vec<String>,
    output: Vec<u8>,
}

/// Rewrites every score. One that would not sound the same is left, and so is the file of one that fails.
pub(super) fn rewrite(
    args: &RewriteArgs,
    words: &Words,
    make: impl Fn(&Snapshot) -> Result<Rewritten, String> + Sync,
) -> Outcome {
    let (scores, failed) = match read_all(&args.paths, TEXTS) {
        Ok(read) => read,
        Err(outcome) => return outcome,
    };
    let one = |(input, config): Score| one(args, &input, config, &make);
    let all: Vec<Result<Done, String>> =
        with_jobs(args.paths.jobs, || scores.into_par_iter().map(one).collect());
    let counted = |count: usize| match count {
        1 => format!("1 {}", words.one),
        _ => format!("{count} {}", words.many),
    };
    let (mut count, mut files, mut left) = (0, 0, 0);
    let mut output = Vec::new();
    let failed = failed
        + take_each(all, |done| {
            output.extend(done.output);
            count += done.count;
            files += usize::from(done.count > 0);
            left += done.left.len();
            done.left.iter().for_each(|why| complain(why));
            if args.write && done.count > 0 {
                complain(&format!("{}: {}.", done.name, counted(done.count)));
            }
        });
    let outcome = if failed + left > 0 { Outcome::Failed } else { Outcome::Clean };
    complain(&match (count, args.write) {
        (0, _) => words.nothing.to_owned(),
        (_, true) => format!("{} in {files} of the scores, written.", counted(count)),
        (_, false) => format!("{} in {files} of the scores; --write takes them.", counted(count)),
    });
    print(&output, outcome)
}

fn one(
    args: &RewriteArgs,
    input: &Input,
    config: Arc<Config>,
    make: &impl Fn(&Snapshot) -> Result<Rewritten, String>,
) -> Result<Done, String> {
    let name = input.name();
    if input.is_musicxml() {
        return Err(format!(
            "{name} was left as it is: it is MusicXML; `recte import` makes a text of it."
        ));
    }
    let snapshot = Snapshot::new(input.read()?, config);
    let Rewritten { count, changes, left } =
        make(&snapshot).map_err(|why| format!("{name}: {why}"))?;
    let text = snapshot.document.text_with(&changes);
    if count > 0 && !all_read_as_well(&snapshot.document, &text) {
        return Err(format!("{name} was left as it is: it would not read the same."));
    }
    let output = show_or_write(input, &snapshot.document, &text, args.write)?;
    let left = left.into_iter().map(|why| format!("{name}: {why}")).collect();
    Ok(Done { name, count, left, output })
}

/// Whether the whole text, read afresh, holds the same tunes with the same sounds and no more problems.
fn all_read_as_well(before: &Document, text: &str) -> bool {
    let mut after = Document::new(text);
    after.include(before.includes().clone());
    let blocks = |document: &Document| -> Vec<Arc<Block>> {
        document.blocks().map(|(_, block)| block.clone()).collect()
    };
    let (before, after) = (blocks(before), blocks(&after));
    before.len() == after.len()
        && before.iter().zip(&after).all(|(before, after)| {
            before.text == after.text
                || (before.kind == after.kind && reads_as_well(before.lowered(), after.lowered()))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_sound_or_a_new_problem_is_refused() {
        let reads = |text| all_read_as_well(&Document::new("X:1\nK:C\n_B2|\n"), text);
        assert!(reads("X:1\nK:C\n^A2|\n"));
        assert!(!reads("X:1\nK:C\nA2|\n"));
        assert!(!reads("X:1\nK:C\n_B2}|\n"));
        assert!(!reads("X:1\nK:C\n_B2|\n\nX:2\nK:C\nC|\n"));
    }
}
