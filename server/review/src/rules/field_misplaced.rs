//! # A field that is unknown or out of its place
//!
//! Each field has its places: the header, the lines of the body, inside a line. In another it is read where
//! that can be done, or passed over. An unknown letter is passed over. In strict files (`%abc-2.1`) the order
//! of the header counts too: `X:`, then `T:`, and `K:` last.
//!
//! A field that is passed over is a title, a composer or a line of words that no reader will see.
//! Move it to where the standard has it.
//!
//! Source: abc standard v2.1, section 3 (the table of fields), 3.1.1, 3.1.2 and 3.1.14.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! w:la la
//! K:C
//! CDEF|
//! j:something
//! GABc|
//! ```
//!
//! ```abc quiet
//! X:1
//! T:Two lines
//! L:1/4
//! K:C
//! CDEF|
//! w:la la la la
//! GABc|
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
    severity: Severity::Warning,
    summary: "a field that is unknown or out of its place",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let strict = context.tune.strict;
    speak(context, findings, |kind| match kind {
        ProblemKind::MisplacedField => {
            Some(if strict { Severity::Warning } else { Severity::Hint })
        }
        ProblemKind::UnknownField => Some(if strict { Severity::Info } else { Severity::Hint }),
        ProblemKind::HeaderOrder => Some(Severity::Hint),
        _ => None,
    });
}

#[cfg(test)]
#[path = "../rule_tests/field_misplaced.rs"]
mod tests;
