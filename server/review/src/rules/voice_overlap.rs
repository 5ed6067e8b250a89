//! # Voices that cross or overlap
//!
//! Where a lower voice climbs over a higher one, a listener loses both: each is taken for the other. So it is when a voice
//! goes beyond the note its neighbour has just left. Only where the composer asks for strict style: `%%recte style strict`.
//!
//! Left alone: inner and lower voices that cross for no more than a beat, and any that cross between the beats; an overlap of
//! no more than a major third; one within a harmony; the end of a phrase; lines that go in octaves or unisons most of the time.
//!
//! What to do: exchange the notes of the two voices, or lead one of them the other way.
//!
//! Source: Open Music Theory, "Introduction to strict four-part writing" (from memory); how much is left alone is our own, after
//! Bach's chorales.
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
//! [V:S] G G G2|]
//! [V:A] c c c2|]
//! [V:T] e e e2|]
//! [V:B] C, C, C,2|]
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
    summary: "voices that cross or overlap, where strict style is asked for",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(parts) = context.parts() else { return };
    for one in parts.crossings() {
        let other = if one.moves == one.upper { one.lower } else { one.upper };
        let below = one.moves == one.upper;
        let (who, whom) = (parts.name(one.moves.0), parts.name(other.0));
        let side = if below { "below" } else { "above" };
        let message = if one.overlap {
            format!(
                "{who} goes {side} {}, which the {whom} has just left; strict style does not let voices overlap.",
                parts.tone(other).pitch.name.words()
            )
        } else {
            format!("{who} crosses {side} the {whom}; strict style keeps voices in their order.")
        };
        let with = (parts.tone(other).at, format!("The {whom}."));
        findings.push(context.at_parts(parts.tone(one.moves).at, &[with], sentence(&message)));
    }
}

#[cfg(test)]
#[path = "../rule_tests/voice_overlap.rs"]
mod tests;
