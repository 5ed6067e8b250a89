//! Takes every preferred fix, again and again until nothing is left to take.

use crate::host::{Located, Snapshot, check};
use recte_notation::write::reads_as_well;
use recte_notation::{Block, Change};
use recte_review::{Config, Finding, Fix, FixKind, check_block};
use std::collections::HashSet;
use std::ops::Range;
use std::sync::Arc;

/// So many rounds at most; a round takes one fix a bar.
const ROUNDS: usize = 64;

/// What the fixes make of a document.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Emended {
    /// How many fixes were taken.
    pub fixes: usize,
    /// The changes, in the order of the text and apart from each other; bytes of the document as it was.
    pub changes: Vec<Change>,
}

/// Takes every preferred fix, or those of one rule. Suggestions are never taken.
///
/// A fix that would make a tune sound otherwise or read worse is left.
pub fn emend(snapshot: &Snapshot, rule: Option<&str>) -> Emended {
    let wanted = |finding: &Finding| rule.is_none_or(|rule| rule == finding.rule);
    let mut emended = Emended::default();
    let mut last = usize::MAX;
    for located in check(snapshot) {
        let takes = wanted(located.finding()) && preferred(located.finding()).is_some();
        if !takes || located.start == last {
            continue;
        }
        last = located.start;
        let (block, fixes) = emend_block(&located, &snapshot.config, &wanted);
        if block.text != located.block.text {
            emended.fixes += fixes;
            emended.changes.extend(changed_lines(&located.block.text, &block.text, last));
        }
    }
    emended
}

/// The fix to take when nobody chooses.
pub(crate) fn preferred(finding: &Finding) -> Option<&Fix> {
    finding.fixes.iter().find(|fix| fix.preferred && fix.kind == FixKind::Fix)
}

fn emend_block(
    located: &Located,
    config: &Config,
    wanted: &dyn Fn(&Finding) -> bool,
) -> (Arc<Block>, usize) {
    let mut block = located.block.clone();
    let mut fixes = 0;
    let mut seen = HashSet::from([block.text.clone()]);
    for _ in 0..ROUNDS {
        let checked = check_block(&block, config, &located.around);
        let findings: Vec<&Finding> = checked.findings.iter().filter(|one| wanted(one)).collect();
        let Some((next, taken)) = one_round(&block, &findings) else { break };
        if !seen.insert(next.text.clone()) {
            break;
        }
        block = next;
        fixes += taken;
    }
    (block, fixes)
}

/// One fix a bar, all at once; if together they do harm, the first that does none.
fn one_round(block: &Arc<Block>, findings: &[&Finding]) -> Option<(Arc<Block>, usize)> {
    let mut chosen: Vec<&Fix> = Vec::new();
    let mut reached: Vec<(Range<u32>, Range<usize>)> = Vec::new();
    for finding in findings {
        let Some(fix) = preferred(finding) else { continue };
        let Some(span) = fix.edits.iter().map(|edit| edit.span).reduce(|a, b| a.join(b)) else {
            continue;
        };
        let first = finding.bar.unwrap_or(0);
        // The bar after as well: a tie may carry an accidental there.
        let bars = first..finding.to_bar.or(finding.bar).map_or(u32::MAX, |last| last + 2);
        let apart = reached.iter().all(|(other, range)| {
            (bars.end <= other.start || other.end <= bars.start)
                && (span.range().end < range.start || range.end < span.range().start)
        });
        if apart {
            chosen.push(fix);
            reached.push((bars, span.range()));
        }
    }
    if let Some(next) = harmless(block, &chosen) {
        return Some((next, chosen.len()));
    }
    let each = findings.iter().filter_map(|finding| preferred(finding));
    each.filter_map(|fix| harmless(block, &[fix])).next().map(|next| (next, 1))
}

/// The block after these fixes, if it still sounds the same, reads no worse, and is another text.
fn harmless(block: &Block, fixes: &[&Fix]) -> Option<Arc<Block>> {
    let edits: Vec<_> = fixes.iter().flat_map(|fix| fix.edits.iter().cloned()).collect();
    let next = block.edited(&edits).ok()?;
    let keeps = reads_as_well(block.lowered(), next.lowered()) && next.text != block.text;
    keeps.then_some(next)
}

/// The lines that differ, as changes at the narrowest places.
fn changed_lines(before: &str, after: &str, start: usize) -> Vec<Change> {
    let (old, new) = (lines(before), lines(after));
    if old.len() != new.len() {
        return narrowed(before, after, start).into_iter().collect();
    }
    let mut at = start;
    let mut changes = Vec::new();
    for (old, new) in old.into_iter().zip(new) {
        changes.extend(narrowed(old, new, at));
        at += old.len();
    }
    changes
}

fn lines(text: &str) -> Vec<&str> {
    text.split_inclusive('\n').collect()
}

/// One change between what two texts have in common at both ends.
fn narrowed(before: &str, after: &str, start: usize) -> Option<Change> {
    if before == after {
        return None;
    }
    let mut head = before.bytes().zip(after.bytes()).take_while(|(a, b)| a == b).count();
    while !before.is_char_boundary(head) || !after.is_char_boundary(head) {
        head -= 1;
    }
    let (old, new) = (&before[head..], &after[head..]);
    let mut tail = old.bytes().rev().zip(new.bytes().rev()).take_while(|(a, b)| a == b).count();
    while !old.is_char_boundary(old.len() - tail) || !new.is_char_boundary(new.len() - tail) {
        tail -= 1;
    }
    Some(Change {
        range: start + head..start + before.len() - tail,
        text: new[..new.len() - tail].to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_narrow_and_keep_characters_whole() {
        let change = |range, text: &str| Change { range, text: text.into() };
        assert_eq!(changed_lines("aé\nb\n", "aè\nb\n", 10), [change(11..13, "è")]);
        assert_eq!(
            changed_lines("ab\ncd\nef\n", "aX\ncd\nYf\n", 0),
            [change(1..2, "X"), change(6..7, "Y"),]
        );
        assert_eq!(changed_lines("ab\n", "ab\nc\n", 0), [change(3..3, "c\n")]);
        assert_eq!(changed_lines("aa", "a", 0), [change(1..2, "")]);
    }
}
