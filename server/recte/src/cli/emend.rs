//! `recte emend`: every preferred fix, as a difference or in the files.

use super::check::{Score, known_rule, read_all};
use super::{Outcome, PathArgs, print, show_or_write, take_each, with_jobs};
use crate::files::{Input, TEXTS, complain};
use clap::Args;
use rayon::prelude::*;
use recte_assist::{Snapshot, emend};
use recte_notation::write::reads_as_well;
use recte_notation::{Block, Document};
use recte_review::Config;
use std::sync::Arc;

#[derive(Args)]
pub(super) struct EmendArgs {
    #[command(flatten)]
    paths: PathArgs,
    /// Write the files instead of showing the difference
    #[arg(long)]
    write: bool,
    /// Only fixes of this rule
    #[arg(long, value_name = "RULE", value_parser = known_rule)]
    rule: Option<String>,
}

struct Done {
    name: String,
    fixes: usize,
    output: Vec<u8>,
}

pub(super) fn run(args: &EmendArgs) -> Outcome {
    let (scores, failed) = match read_all(&args.paths, TEXTS) {
        Ok(read) => read,
        Err(outcome) => return outcome,
    };
    let one = |(input, config): Score| one(args, &input, config);
    let all: Vec<Result<Done, String>> =
        with_jobs(args.paths.jobs, || scores.into_par_iter().map(one).collect());
    let (mut fixes, mut files) = (0, 0);
    let mut output = Vec::new();
    let failed = failed
        + take_each(all, |done| {
            output.extend(done.output);
            fixes += done.fixes;
            files += usize::from(done.fixes > 0);
            if args.write && done.fixes > 0 {
                complain(&format!("{}: {}.", done.name, counted(done.fixes)));
            }
        });
    let outcome = if failed > 0 { Outcome::Failed } else { Outcome::Clean };
    complain(&match (fixes, args.write) {
        (0, _) => "Nothing to emend.".to_owned(),
        (_, true) => format!("{} in {files} of the scores, written.", counted(fixes)),
        (_, false) => format!("{} in {files} of the scores; --write takes them.", counted(fixes)),
    });
    print(&output, outcome)
}

fn counted(fixes: usize) -> String {
    if fixes == 1 { "1 fix".to_owned() } else { format!("{fixes} fixes") }
}

fn one(args: &EmendArgs, input: &Input, config: Arc<Config>) -> Result<Done, String> {
    if input.is_musicxml() {
        let name = input.name();
        return Err(format!(
            "{name} was left as it is: it is MusicXML; `recte import` makes a text of it."
        ));
    }
    let snapshot = Snapshot::new(input.read()?, config);
    let emended = emend(&snapshot, args.rule.as_deref());
    let name = input.name();
    let text = emended.text(&snapshot);
    if emended.fixes > 0 && !all_read_as_well(&snapshot.document, &text) {
        return Err(format!("{name} was left as it is: it would not read the same."));
    }
    let output = show_or_write(input, &snapshot.document, &text, args.write)?;
    Ok(Done { name, fixes: emended.fixes, output })
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
