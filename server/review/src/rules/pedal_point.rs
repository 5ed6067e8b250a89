//! # A note held under changing harmonies
//!
//! A pedal point holds or repeats one note in one voice while the harmonies go on, foreign to at least one of them. It is no
//! fault, and only told of where it is asked for: by `pedal-point = "hint"` in the settings, or `recte check --rule
//! pedal-point`.
//!
//! It begins and ends as a note of its harmony, and lasts for three harmonies at least and more than two bars; within two whole
//! bars two of the harmonies are foreign to it. It lies in the bass, on top, or between.
//!
//! What to do: nothing; know that it is there, and mean it.
//!
//! Source: Open Music Theory, "Embellishing tones" (from memory); three harmonies and two bars are common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! V:1
//! V:2 clef=bass
//! [V:1] [EGc]4|[FAc]4|[GBdf]4|[EGc]4|]
//! [V:2] C,4-|C,4-|C,4-|C,4|]
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! V:1
//! V:2 clef=bass
//! [V:1] [EGc]4|[FAc]4|[GBdf]4|[EGc]4|]
//! [V:2] C,4|F,4|G,4|C,4|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::words::{bars, sentence, voice};
use recte_score::harmony::{Place, pedal_points};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Harmony,
    severity: Severity::Hint,
    summary: "an observation, where it is asked for: a note held while the harmonies go on",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if !context.asks_for("pedal-point") {
        return;
    }
    for one in pedal_points(context.tune, context.block.harmonies()) {
        let Some(&at) = one.notes.first() else { continue };
        let name = one.name.words();
        let where_ = bars(context.tune, one.bars);
        let message = match one.place {
            Place::Bass => format!("The bass holds {name} under {where_}."),
            Place::Top => format!("The highest voice holds {name} over {where_}."),
            Place::Inner => {
                let who = voice(&context.tune.voices[one.voice as usize]);
                sentence(&format!("{who} holds {name} through {where_}."))
            }
        };
        let note = &context.tune.voices[at.voice as usize].notes[at.note as usize];
        let mut finding = context.at_note(at.voice as usize, note, message);
        finding.to_bar = Some(one.bars.1);
        findings.push(finding);
    }
}

#[cfg(test)]
#[path = "../rule_tests/pedal_point.rs"]
mod tests;
