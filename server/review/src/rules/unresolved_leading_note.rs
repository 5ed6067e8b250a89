//! # A leading note on top or in the bass that does not go up
//!
//! In an outer line everybody hears the leading note, and waits for the tonic. Only where the composer asks for strict
//! style: `%%recte style strict`.
//!
//! It is the third of V or the root of the chord on the seventh degree, and only told of when the chord goes home. Left
//! alone: inner lines, where it may drop a third to the fifth of the tonic, so that the last chord is whole; a leading note
//! that is held over, or embellished on its way; the end of a phrase on the dominant.
//!
//! What to do: lead it up by step.
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
//! [V:S] c2 B2|G4|]
//! [V:A] G2 G2|G4|]
//! [V:T] e2 d2|c4|]
//! [V:B] C,2 G,,2|C,4|]
//! ```
//! In an inner line it may drop to the fifth:
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
//! [V:S] e2 d2|c4|]
//! [V:A] c2 B2|G4|]
//! [V:T] g2 g2|e4|]
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
    summary: "a leading note of an outer line that does not go up, where strict style is asked for",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(parts) = context.parts() else { return };
    for one in parts.unresolved_leading_notes() {
        let name = |at| parts.tone(at).pitch.name.words();
        let message = sentence(&format!(
            "{} leaves the leading note, {}, for {}; in an outer line strict style leads it up to {}.",
            parts.name(one.at.0),
            name(one.at),
            name(one.to),
            one.tonic.words()
        ));
        findings.push(context.at_parts(parts.tone(one.at).at, &[], message));
    }
}

#[cfg(test)]
#[path = "../rule_tests/unresolved_leading_note.rs"]
mod tests;
