//! # Text that cannot be read as music
//!
//! A sign that means nothing where it stands, a key, a metre or a tempo that says nothing known, a sign that
//! the standard keeps for later. Everything else in the bar is read as usual. A file to include
//! (`I:abc-include`) is looked for in the folder of the score and the folders in it, and told if it is not there.
//!
//! Players never see it: it is lost between the text and the page, or the bar comes out wrong.
//! What to write instead is said with each remark.
//!
//! Source: abc standard v2.1, section 4 (the body), section 3 (fields), 3.1.17 (included files) and 8.1 (signs kept for later).
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! CDE^|C4|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! CDE^F|[CE]4|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use recte_notation::{Problem, ProblemKind};
use recte_score::Span;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Warning,
    summary: "text that cannot be read as music",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    speak(context, findings, |kind| match kind {
        ProblemKind::Unreadable => Some(Severity::Warning),
        ProblemKind::NotFound => Some(Severity::Info),
        ProblemKind::Reserved | ProblemKind::FreeRest => Some(Severity::Hint),
        _ => None,
    });
}

/// A remark for every problem of the reading that a rule speaks of, at the severity it gives.
pub(super) fn speak(
    context: &Context<'_>,
    findings: &mut Vec<Finding>,
    severity: impl Fn(ProblemKind) -> Option<Severity>,
) {
    for problem in &context.lowered().problems {
        if let Some(severity) = severity(problem.kind) {
            let fixes = fix_of(context, problem).into_iter().collect();
            let place = placed(context, problem.span, problem.message.clone());
            findings.push(Finding { severity, fixes, ..place });
        }
    }
}

/// The sure fix of a problem.
fn fix_of(context: &Context<'_>, problem: &Problem) -> Option<Fix> {
    let (title, edits) = problem.fix.clone()?;
    Some(Fix { preferred: true, ..context.fix(title, edits) })
}

/// Voices beyond which the bar of a remark is not looked for.
const MOST_VOICES: usize = 64;

/// A remark at a place, with its voice and bar if it lies in one.
pub(super) fn placed(context: &Context<'_>, span: Span, message: String) -> Finding {
    let mut finding = context.at(span, message);
    for (index, voice) in context.voices().take(MOST_VOICES) {
        let after = voice.bars.partition_point(|bar| bar.span.start <= span.start);
        let Some(bar) = after.checked_sub(1) else { continue };
        let end = voice.bars[bar].line.map_or(voice.bars[bar].span.end, |line| line.end);
        if span.start <= end {
            finding.voice = Some(index as u32);
            (finding.bar, finding.to_bar) = (Some(bar as u32), Some(bar as u32));
            break;
        }
    }
    finding
}

#[cfg(test)]
#[path = "../rule_tests/standard.rs"]
mod standard;
