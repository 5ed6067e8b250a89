//! # A length that no note can have
//!
//! A length of nothing or beyond all bounds, a unit length that is no fraction, a rest of no bars. The note
//! counts as one unit, and the unit length stays what it was.
//!
//! The bar comes out too long or too short. A length is a number, a fraction, or a few strokes: `A2`, `A3/2`, `A//`.
//!
//! Source: abc standard v2.1, 4.3 (note lengths), 4.5 (rests) and 3.1.7 (unit length).
//!
//! ```abc flagged
//! X:1
//! L:1/0
//! K:C
//! C2D2|
//! ```
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! CDEF0|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! C/D//E3/4F3/|Z2|
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
    summary: "a length that no note can have",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    speak(context, findings, |kind| (kind == ProblemKind::Length).then_some(Severity::Warning));
}
