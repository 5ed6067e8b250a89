//! # A leading note in two lines at once
//!
//! The leading note of a dominant wants to go up to the tonic. In two lines, both go there in octaves, or one of them has to
//! disappoint; strict style keeps it in one line. Only where the composer asks for it: `%%recte style strict`.
//!
//! It is the third of V or the root of the chord on the seventh degree, in the local key or applied to a degree, and only
//! told of when the chord goes home. Left alone: a leading note that one of the lines only passes through between the beats.
//!
//! What to do: double the root or the fifth instead.
//!
//! Source: Open Music Theory, "Introduction to strict four-part writing" (from memory).
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! %%recte style strict
//! K:C
//! V:S name="Soprano"
//! V:A name="Alto"
//! V:T name="Tenor" clef=treble-8
//! V:B name="Bass" clef=bass
//! [V:S] c2 B2|c4|]
//! [V:A] G2 G2|G4|]
//! [V:T] e2 d2|e4|]
//! [V:B] C,2 B,,2|C,4|]
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! %%recte style strict
//! K:C
//! V:S name="Soprano"
//! V:A name="Alto"
//! V:T name="Tenor" clef=treble-8
//! V:B name="Bass" clef=bass
//! [V:S] c2 B2|c4|]
//! [V:A] G2 G2|G4|]
//! [V:T] e2 d2|e4|]
//! [V:B] C,2 G,,2|C,4|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::words::sentence;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Harmony,
    severity: Severity::Info,
    summary: "a leading note in two lines at once, where strict style is asked for",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(parts) = context.parts() else { return };
    for one in parts.doubled_leading_notes() {
        let (upper, lower) = (parts.name(one.upper.0), parts.name(one.lower.0));
        let message = sentence(&format!(
            "{upper} and {lower} both have the leading note, {}; strict style keeps it in one line.",
            one.name.words()
        ));
        let with = (parts.tone(one.lower).at, format!("The {lower}."));
        findings.push(context.at_parts(parts.tone(one.upper).at, &[with], message));
    }
}

#[cfg(test)]
#[path = "../rule_tests/doubled_leading_note.rs"]
mod tests;
