//! # Broken rhythm without two notes, or between unequal ones
//!
//! `>` lengthens the note before it and shortens the note after it, `<` the other way. It needs both within the
//! bar, and both of one length: between unequal notes the standard gives it no meaning, and here each note is
//! scaled by its own length (a hint).
//!
//! At the end of a bar the sign does nothing, and the bar is not the one that was meant.
//! Write the lengths out, as in `C3/2D/`.
//!
//! Source: abc standard v2.1, 4.4 (broken rhythm).
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! CDEF>|GABc|
//! ```
//!
//! ```abc flagged
//! X:1
//! L:1/8
//! K:C
//! C2>D E|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/8
//! K:C
//! C>D E<{g}F|[CE]2>[DF]2 C >> D|A>B>c>d|
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
    summary: "broken rhythm without a note on both sides, or between unequal notes",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    speak(context, findings, |kind| match kind {
        ProblemKind::BrokenAlone => Some(Severity::Warning),
        ProblemKind::BrokenUneven => Some(Severity::Hint),
        _ => None,
    });
}
