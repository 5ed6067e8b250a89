//! # A way of writing that is out of use
//!
//! What the standard has left behind. What it only advises against is said in strict files (`%abc-2.1`): tempi
//! that count unit lengths, `A:` and `E:`, a tune without `X:`, fields between tunes, a history that runs on
//! without `+:`. What it no longer has is said in old files too: chords between plus signs, brackets around layers.
//!
//! Other readers of the file may not read it at all. The new way stands with each remark.
//!
//! Source: abc standard v2.1, section 10 (outdated syntax), 6.1.1 (line breaks) and 7.4 (layers).
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! +CEG+2F2|
//! ```
//!
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! [CEG]2F2|
//! ```
//!
//! ```abc flagged
//! %abc-2.1
//! X:1
//! T:A tune
//! L:1/4
//! Q:120
//! K:C
//! CDEF|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! Q:120
//! K:C
//! [CEG]2F2|
//! ```

use super::unreadable::speak;
use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use recte_notation::ProblemKind;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Error,
    summary: "a way of writing that is out of use",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let obsolete = if context.tune.strict { Severity::Error } else { Severity::Warning };
    speak(context, findings, |kind| match kind {
        ProblemKind::Deprecated => Some(Severity::Warning),
        ProblemKind::Obsolete => Some(obsolete),
        _ => None,
    });
}

#[cfg(test)]
#[path = "../rule_tests/outdated.rs"]
mod tests;
