//! # A seventh that does not go down
//!
//! The seventh of a chord is a dissonance that leads down by step. Only where the composer asks for strict style:
//! `%%recte style strict`.
//!
//! Left alone: a seventh that is held, repeated or moved by an octave, and goes down from the next chord; one that another
//! line takes over, or that the bass resolves in its place; one that leaps to another note of the chord before it goes down; one
//! that rises in thirds or tenths with the bass, as the chord passes from I to I6; a seventh shorter than a beat between the
//! beats; the end of a phrase.
//!
//! What to do: let it go down by step.
//!
//! Source: Open Music Theory, "Strict four-part writing with seventh chords" (from memory).
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
//! [V:S] d2 f2|g4|]
//! [V:A] B2 B2|c4|]
//! [V:T] g2 g2|e4|]
//! [V:B] G,,2 G,,2|C,4|]
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
//! [V:S] d2 f2|e4|]
//! [V:A] B2 B2|c4|]
//! [V:T] g2 g2|g4|]
//! [V:B] G,,2 G,,2|C,4|]
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
    summary: "a seventh that does not go down, where strict style is asked for",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(parts) = context.parts() else { return };
    for one in parts.unresolved_sevenths() {
        let name = |at| parts.tone(at).pitch.name.words();
        let message = sentence(&format!(
            "{} has the seventh of {}, {}, and goes to {}; strict style leads it down by step.",
            parts.name(one.at.0),
            one.chord,
            name(one.at),
            name(one.to)
        ));
        findings.push(context.at_parts(parts.tone(one.at).at, &[], message));
    }
}

#[cfg(test)]
#[path = "../rule_tests/unresolved_seventh.rs"]
mod tests;
