//! Proof that fixes keep every sound and leave less to remark: their edits are applied, the result is read, and the
//! two are compared. A fix whose finding is only replaced by another of its family repairs nothing.
//!
//! Fixes that touch different places are proved together, and apart only where together they fail, so that a
//! tune full of one fault costs a few readings and not one for each.

use crate::check::stand;
use crate::context::Context;
use crate::finding::{Finding, FixKind};
use crate::rule::{Family, find_rule};
use recte_notation::Block;
use recte_notation::write::{TextEdit, reads_as_well, same_signs};
use recte_score::Span;
use std::collections::{BTreeMap, BTreeSet};

/// How many bytes may be read again for one tune: thousands of times a page, a few times a megabyte. What is
/// not proved by then is not offered.
const READINGS: usize = 8 << 20;

/// A fix to prove: its finding and its place there.
type Job = (usize, usize);

/// Drops every fix that changes a sound, leaves the text harder to read than it was, or as much to remark.
pub(crate) fn keep_proved(context: &Context<'_>, findings: &mut [Finding]) {
    let mut waiting: Vec<Job> = Vec::new();
    for (index, finding) in findings.iter().enumerate() {
        let fixes = finding.fixes.iter().enumerate();
        let real = fixes.filter(|(_, fix)| fix.kind == FixKind::Fix);
        waiting.extend(real.map(|(place, _)| (index, place)));
    }
    let mut proof = Proof { context, findings, left: READINGS, failed: BTreeSet::new() };
    while !waiting.is_empty() {
        let (batch, rest) = proof.apart(waiting);
        proof.try_together(&batch);
        waiting = rest;
    }
    let failed = proof.failed;
    for (index, finding) in findings.iter_mut().enumerate() {
        let mut place = 0;
        finding.fixes.retain(|_| {
            place += 1;
            !failed.contains(&(index, place - 1))
        });
    }
}

struct Proof<'a> {
    context: &'a Context<'a>,
    findings: &'a [Finding],
    left: usize,
    failed: BTreeSet<Job>,
}

impl Proof<'_> {
    fn edits(&self, job: Job) -> &[TextEdit] {
        &self.findings[job.0].fixes[job.1].edits
    }

    /// Fixes none of which touches what another does, and the others.
    fn apart(&self, jobs: Vec<Job>) -> (Vec<Job>, Vec<Job>) {
        let mut taken: BTreeSet<Span> = BTreeSet::new();
        jobs.into_iter().partition(|&job| {
            let edits = self.edits(job);
            let free = edits.iter().all(|edit| {
                let before =
                    taken.range(..=Span { start: edit.span.end, end: u32::MAX }).next_back();
                before.is_none_or(|other| other.end < edit.span.start)
            });
            if free {
                taken.extend(edits.iter().map(|edit| edit.span));
            }
            free
        })
    }

    fn try_together(&mut self, jobs: &[Job]) {
        if jobs.is_empty() || self.holds(jobs) {
            return;
        }
        if let [job] = jobs {
            self.failed.insert(*job);
            return;
        }
        let (first, second) = jobs.split_at(jobs.len() / 2);
        self.try_together(first);
        self.try_together(second);
    }

    /// Whether these fixes, taken together, keep every sound and settle their findings.
    fn holds(&mut self, jobs: &[Job]) -> bool {
        let Some(left) = self.left.checked_sub(self.context.block.text.len()) else { return false };
        self.left = left;
        let edits: Vec<TextEdit> = jobs.iter().flat_map(|&job| self.edits(job)).cloned().collect();
        let Ok(after) = self.context.block.edited(&edits) else { return false };
        let rhythm = |&(finding, _): &Job| {
            let rule = find_rule(self.findings[finding].rule);
            rule.is_some_and(|rule| rule.family == Family::Metre)
        };
        // A rewritten rhythm carries along what hangs on its notes; other fixes may be about just that.
        let carried = || same_signs(self.context.tune, &after.lowered().tune);
        reads_as_well(self.context.lowered(), after.lowered())
            && (!jobs.iter().any(rhythm) || carried())
            && self.settle(jobs, &after)
    }

    /// Whether as many remarks of each family are gone as these fixes are for. What is remarked of the text itself
    /// may hang on the rest of its file, and is proved by the reading alone.
    fn settle(&self, jobs: &[Job], after: &Block) -> bool {
        let family = |finding: &Finding| {
            find_rule(finding.rule).map(|rule| rule.family).filter(|it| *it != Family::Source)
        };
        let count = |all: &mut dyn Iterator<Item = &Finding>| {
            let mut counts: BTreeMap<Family, usize> = BTreeMap::new();
            for one in all.filter_map(family) {
                *counts.entry(one).or_default() += 1;
            }
            counts
        };
        let meant: BTreeSet<usize> = jobs.iter().map(|(finding, _)| *finding).collect();
        let meant = count(&mut meant.iter().map(|index| &self.findings[*index]));
        let context = Context::new(after, self.context.config, self.context.around);
        let left = stand(&context, |rule| meant.contains_key(&rule.family)).findings;
        let (left, before) = (count(&mut left.iter()), count(&mut self.findings.iter()));
        let of = |counts: &BTreeMap<Family, usize>, one| counts.get(one).copied().unwrap_or(0);
        meant.keys().all(|one| of(&left, one) + of(&meant, one) <= of(&before, one))
    }
}
