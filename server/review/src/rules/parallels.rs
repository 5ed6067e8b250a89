//! # Parallel fifths and octaves
//!
//! Two lines that keep a perfect fifth, an octave or a unison while both move are heard as one; strict style,
//! where four lines are to be told apart, avoids them, also when they move in opposite directions (from a fifth to a
//! twelfth). Only where the composer asks for it: `%%recte style strict` in the head of the file or of the tune
//! (`free` takes it back for a tune). With `%%recte style strict direct` direct fifths and octaves are told of too: the
//! outer lines come to one in the same direction, the upper by leap.
//!
//! Left alone: a chord that is repeated; a diminished fifth before or after a perfect one; the way from the end of a phrase
//! (a fermata, a breath mark, a double bar) or from a rest to the next chord; fifths that a passing note, a neighbour note or
//! an anticipation between the beats makes for a moment, while the other line does not move with it; suspensions, which move
//! later than the other line; lines that go in octaves most of the time, as one part played twice. Fifths on two beats with
//! another note between are not told of: chorales of the eighteenth century are full of them.
//!
//! What to do: let one of the two lines go the other way, or stay.
//!
//! Source: Open Music Theory, "Introduction to strict four-part writing" and "Embellishing tones"; J. J. Fux, "Gradus ad
//! Parnassum" (1725), on direct motion to perfect intervals (both from memory).
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
//! [V:S] c d e2|]
//! [V:A] G A G2|]
//! [V:T] e f e2|]
//! [V:B] C, D, C,2|]
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
//! The same without the line that asks for it:
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! V:S name="Soprano"
//! V:A name="Alto"
//! V:T name="Tenor" clef=treble-8
//! V:B name="Bass" clef=bass
//! [V:S] c d e2|]
//! [V:A] G A G2|]
//! [V:T] e f e2|]
//! [V:B] C, D, C,2|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::part_writing::{Consecutive, Motion, Parts, Perfect};
use crate::rule::{Family, Rule};
use crate::words::sentence;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Harmony,
    severity: Severity::Info,
    summary: "parallel fifths and octaves, where strict style is asked for",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(parts) = context.parts() else { return };
    for one in parts.consecutives() {
        let at = parts.tone(one.upper.1).at;
        let with = (parts.tone(one.lower.1).at, format!("The {}.", parts.name(one.lower.1.0)));
        findings.push(context.at_parts(at, &[with], message(parts, &one)));
    }
}

/// "Soprano and bass move in parallel fifths, G-D to A-E; strict style avoids them."
fn message(parts: &Parts, one: &Consecutive) -> String {
    let name = |at| parts.tone(at).pitch.name.words();
    let pair = |lower, upper| format!("{}-{}", name(lower), name(upper));
    let (upper, lower) = (one.upper, one.lower);
    let who = format!("{} and {}", parts.name(upper.1.0), parts.name(lower.1.0));
    let size = |kind: Perfect| match kind {
        Perfect::Fifth => "fifth",
        Perfect::Octave => "octave",
        Perfect::Unison => "unison",
    };
    let (was, what) = (size(one.from), size(one.kind));
    let way = format!("{} to {}", pair(lower.0, upper.0), pair(lower.1, upper.1));
    sentence(&match one.motion {
        Motion::Parallel => {
            format!("{who} move in parallel {what}s, {way}; strict style avoids them.")
        }
        Motion::Contrary => {
            let to = if was == what { "another".to_owned() } else { with_article(what) };
            let from = if was == what { format!("one {was}") } else { with_article(was) };
            format!(
                "{who} move from {from} to {to} by contrary motion, {way}; strict style avoids that."
            )
        }
        Motion::Direct => format!(
            "{who} come to {} in the same direction, {way}; strict style wants the upper one to step.",
            with_article(what)
        ),
    })
}

fn with_article(what: &str) -> String {
    // "Unison" is spoken with a consonant.
    format!("{} {what}", if what == "octave" { "an" } else { "a" })
}

#[cfg(test)]
#[path = "../rule_tests/parallels.rs"]
mod tests;
