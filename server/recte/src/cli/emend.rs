//! `recte emend`: every preferred fix, as a difference or in the files.

use super::Outcome;
use super::check::known_rule;
use super::rewrite::{RewriteArgs, Rewritten, Words, rewrite};
use clap::Args;
use recte_assist::emend;

#[derive(Args)]
pub(super) struct EmendArgs {
    #[command(flatten)]
    texts: RewriteArgs,
    /// Only fixes of this rule
    #[arg(long, value_name = "RULE", value_parser = known_rule)]
    rule: Option<String>,
}

const WORDS: Words = Words { nothing: "Nothing to emend.", one: "fix", many: "fixes" };

pub(super) fn run(args: &EmendArgs) -> Outcome {
    rewrite(&args.texts, &WORDS, |snapshot| {
        let emended = emend(snapshot, args.rule.as_deref());
        Ok(Rewritten { count: emended.fixes, changes: emended.changes, left: Vec::new() })
    })
}
