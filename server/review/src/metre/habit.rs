//! What a composer does again and again is the composer's way, and no slip.
//!
//! It is learned from what is typed before, so that typing on changes nothing that was said: the first bars of a
//! kind are told, in every voice, all later ones are not. Where a kind goes on, what was told is only a hint and nothing is mended: a
//! piece is not written in two ways. A slip in a piece that else does as players expect weighs most.

use crate::finding::{Finding, Severity};
use std::collections::{BTreeSet, HashMap};
use std::hash::Hash;

/// In so many bars something is told before it is known as a habit.
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
    // Voices that do the same at once do it once.
    let mut bars: HashMap<&K, BTreeSet<Option<u32>>> = HashMap::new();
    for (kind, finding) in &remarks {
        bars.entry(kind).or_default().insert(finding.bar);
    }
    let mut told: HashMap<&K, BTreeSet<Option<u32>>> = HashMap::new();
    let mut found = Vec::new();
    for (kind, finding) in &remarks {
        let told = told.entry(kind).or_default();
        if told.len() == TOLD && !told.contains(&finding.bar) {
            continue;
        }
        let first = told.insert(finding.bar);
        let count = bars.get(kind).map_or(0, BTreeSet::len);
        let mut finding = finding.clone();
        if count > TOLD {
            finding.fixes.clear();
            finding.severity = Severity::Hint;
        } else if finding.severity == Severity::Info && kept(kind) >= SURE * count {
            finding.severity = Severity::Warning;
        }
        // What other voices do at once is told beside the first.
        if !first {
            finding.severity = Severity::Hint;
        }
        found.push(finding);
    }
    found
}
