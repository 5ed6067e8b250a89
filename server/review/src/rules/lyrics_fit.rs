//! # Words that do not fit their notes
//!
//! A line of words gives one syllable to each note; where it has more, the rest stands under nothing. Where one
//! verse is shorter than another under the same notes, that is a hint: often a held note (`_`) was forgotten.
//!
//! A singer cannot know where the last syllables go. A held syllable takes a `_` for each further note, an
//! empty note a `*`, and `|` goes on to the next bar.
//!
//! Source: abc standard v2.1, section 5 (lyrics), and 10.6 for old files.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! CDEF|
//! w:one two three four five six
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! CDEF|GABc|
//! w:one two_ four|five six * _
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
    summary: "more syllables than notes, or verses of different length",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    speak(context, findings, |kind| match kind {
        ProblemKind::WordsOver => Some(Severity::Warning),
        ProblemKind::WordsShort => Some(Severity::Hint),
        _ => None,
    });
}

#[cfg(test)]
#[path = "../rule_tests/lyrics_fit.rs"]
mod tests;
