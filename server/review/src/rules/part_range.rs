//! # A note beyond what a chorale asks of a voice
//!
//! Each voice of a chorale has a range in which every singer of a choir is at ease. Only where the composer asks for strict
//! style: `%%recte style strict`.
//!
//! Soprano C4–G5, alto G3–D5, tenor C3–G4, bass E2–D4; a whole step beyond either end is left alone. The voices are known by
//! their names, or by their order where there are four. A part has one remark for each end; it names the other places.
//! `beyond-range` says what the best singers cannot do; this is what students' exercises ask. High or low notes for long are a
//! strain: the singers, their teacher, or where something hurts a clinician, decide.
//!
//! What to do: give the note to a neighbour, or set the phrase in another key.
//!
//! Source: Open Music Theory, "Introduction to strict four-part writing" (from memory; handbooks differ by a step).
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
//! [V:S] c c B c|]
//! [V:A] G A G G|]
//! [V:T] e f d e|]
//! [V:B] C, F,, G,, C,,|]
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

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Harmony,
    severity: Severity::Hint,
    summary: "a note beyond the range of a choir's voice, where strict style is asked for",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(parts) = context.parts() else { return };
    for one in parts.beyond() {
        let Some((first, others)) = one.notes.split_first() else { continue };
        let name = |at| parts.tone(at).pitch.name.words();
        let (low, high) = one.part.range();
        let side = if one.above { "above" } else { "below" };
        let message = format!(
            "{} is {side} what strict style asks of the {} ({}{} to {}{}).",
            name(*first),
            one.part.name(),
            low.name.symbol(),
            low.octave,
            high.name.symbol(),
            high.octave
        );
        let again = others.iter().map(|at| {
            let tone = parts.tone(*at);
            let bar = context.tune.bar_number(tone.bar);
            (tone.at, format!("{} in bar {bar} too.", name(*at)))
        });
        let again: Vec<_> = again.collect();
        findings.push(context.at_parts(parts.tone(*first).at, &again, message));
    }
}

#[cfg(test)]
#[path = "../rule_tests/part_range.rs"]
mod tests;
