//! What `notes` and `chords` share: an entry for every tune that is read, and tables with commas.

use super::check::read_all;
use super::{Outcome, PathArgs, take_each, with_jobs};
use crate::files::{Input, SCORES, complain, without_music};
use crate::score;
use rayon::prelude::*;
use recte_notation::{Block, BlockKind, Document};

/// An entry for every tune of some scores, in their order; a score that cannot be read is told of. The entry is
/// given the document, and the byte at which its tune begins there.
pub(super) fn each_tune<T: Send>(
    paths: &PathArgs,
    entry: impl Fn(&Input, &Document, usize, &Block) -> T + Sync,
) -> Result<(Vec<T>, Outcome), Outcome> {
    let (scores, failed) = read_all(paths, SCORES)?;
    let of_input = |input: &Input| -> Result<Vec<T>, String> {
        let document = score::read(input)?.document;
        if let Some(why) = without_music(&document) {
            complain(&format!("{}: {why}", input.name()));
        }
        let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
        Ok(tunes.map(|(start, block)| entry(input, &document, start, block)).collect())
    };
    let read: Vec<_> = with_jobs(paths.jobs, || {
        scores.into_par_iter().map(|(input, _)| of_input(&input)).collect()
    });
    let mut tunes = Vec::new();
    let failed = failed + take_each(read, |found| tunes.extend(found));
    Ok((tunes, if failed > 0 { Outcome::Failed } else { Outcome::Clean }))
}

/// A field of a table with commas (RFC 4180).
pub(super) fn quoted(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}
