//! # Text that cannot be read as music
//!
//! A sign that means nothing where it stands, a chord or a text that is not closed, a key, a metre or a
//! length that says nothing known. Everything else in the bar is read as usual.
//!
//! Players never see it: it is lost between the text and the page, or the bar comes out wrong.
//! What to write instead is said with each remark.
//!
//! Source: abc standard v2.1, section 4 (the body) and section 3 (fields).
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! CDE^|[CE|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! CDE^F|[CE]4|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Warning,
    summary: "text that cannot be read as music",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for problem in &context.lowered().problems {
        findings.push(context.at(problem.span, problem.message.clone()));
    }
}
