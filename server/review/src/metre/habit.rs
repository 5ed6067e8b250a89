//! What a composer does again and again is the composer's way, and no slip.
//!
//! It is learned from what is typed before, so that typing on changes nothing that was said: the first times of a
//! kind are told, all later ones are not. Where a kind goes on, none of it is mended: a piece is not written in
//! two ways.

use crate::finding::Finding;
use std::collections::HashMap;
use std::hash::Hash;

/// So often something is told before it is known as a habit.
const TOLD: usize = 2;

/// Leaves out what the composer has been seen to do, by kinds.
pub(crate) fn without_habits<K: Eq + Hash>(mut remarks: Vec<(K, Finding)>) -> Vec<Finding> {
    remarks.sort_by_key(|(_, finding)| finding.span);
    let mut counts: HashMap<&K, usize> = HashMap::new();
    for (kind, _) in &remarks {
        *counts.entry(kind).or_default() += 1;
    }
    let mut seen: HashMap<&K, usize> = HashMap::new();
    let mut kept = Vec::new();
    for (kind, finding) in &remarks {
        let before = seen.entry(kind).or_default();
        *before += 1;
        if *before <= TOLD {
            let habit = counts.get(kind).is_some_and(|count| *count > TOLD);
            let mut finding = finding.clone();
            if habit {
                finding.fixes.clear();
            }
            kept.push(finding);
        }
    }
    kept
}
