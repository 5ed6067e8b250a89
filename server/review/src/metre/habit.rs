//! What a composer does again and again is the composer's way, and no slip.
//!
//! It is learned from what is typed before, so that typing on changes nothing that was said: the first times of a
//! kind are told, all later ones are not. Where a kind goes on, what was told is only a hint and nothing is mended: a
//! piece is not written in two ways. A slip in a piece that else does as players expect weighs most.

use crate::finding::{Finding, Severity};
use std::collections::HashMap;
use std::hash::Hash;

/// So often something is told before it is known as a habit.
const TOLD: usize = 2;
/// So many times as often a composer does as players expect, where a slip is a slip.
const SURE: usize = 20;

/// Leaves out what the composer has been seen to do, by kinds. `kept` says how often the piece does otherwise
/// where it could do the same.
pub(crate) fn without_habits<K: Eq + Hash>(
    mut remarks: Vec<(K, Finding)>,
    kept: impl Fn(&K) -> usize,
) -> Vec<Finding> {
    remarks.sort_by_key(|(_, finding)| finding.span);
    let mut counts: HashMap<&K, (usize, usize)> = HashMap::new();
    for (kind, _) in &remarks {
        counts.entry(kind).or_default().0 += 1;
    }
    let mut told = Vec::new();
    for (kind, finding) in &remarks {
        let Some((count, before)) = counts.get_mut(kind) else { continue };
        *before += 1;
        if *before > TOLD {
            continue;
        }
        let mut finding = finding.clone();
        if *count > TOLD {
            finding.fixes.clear();
            finding.severity = Severity::Hint;
        } else if finding.severity == Severity::Info && kept(kind) >= SURE * *count {
            finding.severity = Severity::Warning;
        }
        told.push(finding);
    }
    told
}
