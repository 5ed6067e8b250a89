//! # Upper voices more than an octave apart
//!
//! Soprano and alto, and alto and tenor, sound as one choir within an octave of each other; the bass may lie lower. Only
//! where the composer asks for strict style: `%%recte style strict`.
//!
//! It is told of where it lasts longer than a beat; a single wide chord is left alone. Each such passage is told of once.
//!
//! What to do: bring the lower of the two up, or change their notes.
//!
//! Source: Open Music Theory, "Introduction to strict four-part writing" (from memory); that one chord is left alone is our own,
//! after Bach's chorales.
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
//! [V:S] e e e2|]
//! [V:A] c B G2|]
//! [V:T] A, B, C2|]
//! [V:B] A,, G,, C,2|]
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
//! [V:S] c c B c|]
//! [V:A] G A G G|]
//! [V:T] e f d e|]
//! [V:B] C, F, G, C,|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::words::sentence;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Harmony,
    severity: Severity::Hint,
    summary: "upper voices more than an octave apart, where strict style is asked for",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(parts) = context.parts() else { return };
    for one in parts.wide() {
        let (upper, lower) = (parts.name(one.upper.0), parts.name(one.lower.0));
        let message = sentence(&format!(
            "{upper} and {lower} lie more than an octave apart; strict style keeps upper voices closer."
        ));
        let with = (parts.tone(one.lower).at, format!("The {lower}."));
        findings.push(context.at_parts(parts.tone(one.upper).at, &[with], message));
    }
}

#[cfg(test)]
#[path = "../rule_tests/voice_spacing.rs"]
mod tests;
