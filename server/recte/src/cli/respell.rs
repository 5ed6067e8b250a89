//! `recte respell`: the best name for every note, as a difference or in the files.

use super::Outcome;
use super::narrow::{PassageArgs, no_tune, tunes_of};
use super::rewrite::{RewriteArgs, Rewritten, Words, rewrite};
use clap::Args;
use recte_assist::{NotProved, Passage, Snapshot, Style, respell};
use recte_score::Tune;

#[derive(Args)]
pub(super) struct RespellArgs {
    #[command(flatten)]
    texts: RewriteArgs,
    /// Only the tune with this number (X:)
    #[arg(long, value_name = "NUMBER")]
    tune: Option<String>,
    #[command(flatten)]
    passage: PassageArgs,
}

const WORDS: Words = Words { nothing: "Nothing to respell.", one: "note", many: "notes" };

pub(super) fn run(args: &RespellArgs) -> Outcome {
    rewrite(&args.texts, &WORDS, |snapshot| respelled(args, snapshot))
}

fn respelled(args: &RespellArgs, snapshot: &Snapshot) -> Result<Rewritten, String> {
    let number = args.tune.as_deref();
    let tunes = tunes_of(&snapshot.document, number);
    if tunes.is_empty() && number.is_some() {
        return Err(no_tune(number));
    }
    let passages: Vec<Result<Passage, String>> =
        tunes.iter().map(|(_, block)| passage(args, &block.lowered().tune)).collect();
    if let Some(Err(why)) = passages.first()
        && passages.iter().all(Result::is_err)
    {
        return Err(why.clone());
    }
    let mut rewritten = Rewritten::default();
    for ((start, block), passage) in tunes.into_iter().zip(passages) {
        // Another tune of the file has what was asked for.
        let Ok(passage) = passage else { continue };
        match respell(block, &passage, Style::Best) {
            Ok(respelled) => {
                rewritten.count += respelled.notes;
                rewritten.changes.extend(respelled.changes(start));
            }
            Err(NotProved) => rewritten.left.push(format!(
                "{} was left as it is: respelled, it would not sound the same.",
                named(&block.lowered().tune)
            )),
        }
    }
    Ok(rewritten)
}

fn passage(args: &RespellArgs, tune: &Tune) -> Result<Passage, String> {
    let asked = args.passage.of(tune)?;
    Ok(asked.map_or(Passage::Tune, |(voices, bars)| Passage::Bars { voices, bars }))
}

/// What to call a tune in a sentence that begins with it.
fn named(tune: &Tune) -> String {
    match (tune.title(), &tune.reference) {
        ("", Some(number)) => format!("tune {number}"),
        ("", None) => "a tune".to_owned(),
        (title, _) => format!("“{title}”"),
    }
}
