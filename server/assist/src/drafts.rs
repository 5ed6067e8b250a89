//! Two drafts of a document: which tune is which, what became of its bars and voices, and which remarks are settled,
//! which stand and which are new.

mod remarks;
mod sizes;
mod tunes;
mod words;

use crate::host::{Located, Snapshot, check};
use rayon::prelude::*;
use recte_notation::{Block, BlockKind, Document};
use recte_score::Tune;
use recte_score::drafts::{Plan, align};
use std::collections::HashMap;
use std::sync::Arc;

pub use sizes::{in_values, transposed, within_the_key};
pub use words::{Passage, counts, passages};

/// What became of one draft in another.
#[derive(Clone, Debug, Default)]
pub struct Comparison {
    /// The tunes: those of the new draft in its order, then those that are gone.
    pub tunes: Vec<ComparedTune>,
    /// Remarks on what stands outside of the tunes: the head of the file.
    pub around: Remarks,
}

/// A tune of both drafts, or of one of them.
#[derive(Clone, Debug)]
pub struct ComparedTune {
    /// As it was; none for a tune that is new.
    pub old: Option<Placed>,
    /// As it is; none for a tune that is gone.
    pub new: Option<Placed>,
    /// What became of its bars and voices, where both drafts have it.
    pub plan: Option<Plan>,
    /// What was remarked of it, and what is.
    pub remarks: Remarks,
}

/// A tune in its document.
#[derive(Clone, Debug)]
pub struct Placed {
    /// Where it begins, in bytes.
    pub start: usize,
    /// The tune.
    pub block: Arc<Block>,
}

/// Remarks on two drafts, each once.
#[derive(Clone, Debug, Default)]
pub struct Remarks {
    /// Those on the old draft that the new one gives no cause for any more; the music may be mended, or gone.
    pub settled: Vec<Located>,
    /// Those that stand, as they were and as they are.
    pub standing: Vec<(Located, Located)>,
    /// Those on the new draft that nothing in the old one answers to.
    pub new: Vec<Located>,
}

impl Placed {
    /// The tune.
    pub fn tune(&self) -> &Tune {
        &self.block.lowered().tune
    }
}

impl Remarks {
    /// Keeps the remarks of some rules.
    pub fn retain(&mut self, wanted: impl Fn(&str) -> bool) {
        self.settled.retain(|one| wanted(one.finding().rule));
        self.standing.retain(|(_, one)| wanted(one.finding().rule));
        self.new.retain(|one| wanted(one.finding().rule));
    }
}

impl Comparison {
    /// All remarks, tune by tune, what stands outside of them last.
    pub fn remarks(&self) -> impl Iterator<Item = &Remarks> {
        self.tunes.iter().map(|tune| &tune.remarks).chain([&self.around])
    }

    /// The same, to be changed.
    pub fn remarks_mut(&mut self) -> impl Iterator<Item = &mut Remarks> {
        self.tunes.iter_mut().map(|tune| &mut tune.remarks).chain([&mut self.around])
    }
}

/// Compares two drafts of a document, tune by tune.
///
/// Tunes are paired by their numbers and titles; where these do not say, by how much of their music is the same. A remark
/// stands if the new draft has one of the same rule, for the same voice, at the place that the old one has become;
/// what it says may differ.
pub fn compare(old: &Snapshot, new: &Snapshot) -> Comparison {
    let (before, after) = (tunes_of(&old.document), tunes_of(&new.document));
    let pairs = tunes::paired(&before, &after);
    let (mut was, was_around) = by_tune(check(old));
    let (mut is, is_around) = by_tune(check(new));
    let found: Vec<_> = pairs
        .into_iter()
        .map(|(old, new)| {
            let (old, new) = (old.map(|at| before[at].clone()), new.map(|at| after[at].clone()));
            let of = |all: &mut HashMap<usize, Vec<Located>>, placed: &Option<Placed>| {
                placed.as_ref().and_then(|placed| all.remove(&placed.start)).unwrap_or_default()
            };
            let remarks = (of(&mut was, &old), of(&mut is, &new));
            (old, new, remarks)
        })
        .collect();
    let tunes = found.into_par_iter().map(|(old, new, (was, is))| {
        let plan = old.as_ref().zip(new.as_ref()).map(|(a, b)| align(a.tune(), b.tune()));
        let remarks = match &plan {
            Some(plan) => remarks::in_tune(plan, was, is),
            None => Remarks { settled: was, standing: Vec::new(), new: is },
        };
        ComparedTune { old, new, plan, remarks }
    });
    let tunes = tunes.collect();
    let around = remarks::around(was_around, is_around);
    Comparison { tunes, around }
}

fn tunes_of(document: &Document) -> Vec<Placed> {
    let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    tunes.map(|(start, block)| Placed { start, block: block.clone() }).collect()
}

/// Remarks by the byte their tune begins at, and those on anything else.
fn by_tune(all: Vec<Located>) -> (HashMap<usize, Vec<Located>>, Vec<Located>) {
    let (mut tunes, mut around) = (HashMap::<usize, Vec<Located>>::new(), Vec::new());
    for one in all {
        if one.block.kind == BlockKind::Tune {
            tunes.entry(one.start).or_default().push(one);
        } else {
            around.push(one);
        }
    }
    (tunes, around)
}

#[cfg(test)]
mod tests;
