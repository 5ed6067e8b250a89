//! # Chords that move in parallel
//!
//! Three or more chords of one quality and inversion that move in parallel in all their voices are heard as one line in a
//! colour: planing. It is no fault but a way of writing, and only told of where it is asked for: by `planing = "hint"` in the
//! settings, or `recte check --rule planing`.
//!
//! What is held meanwhile, above or below, does not count; a chord struck again is the same chord.
//!
//! What to do: nothing; know that it is there, and mean it.
//!
//! Source: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! [A,CE] [DFA] [EGB]2|[DFA]2 [A,CE]2|]
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! [A,CE][B,DF] [CEG] z|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::words::{bars, counted};
use recte_score::harmony::planing;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Harmony,
    severity: Severity::Hint,
    summary: "an observation, where it is asked for: chords of one quality that move in parallel",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if !context.asks_for("planing") {
        return;
    }
    for passage in planing(context.tune) {
        let (Some(first), Some(last)) = (passage.chords.first(), passage.chords.last()) else {
            continue;
        };
        let Some(&at) = first.notes.last() else { continue };
        let inverted = match first.chord.inversion {
            0 => "",
            1 => " in first inversion",
            2 => " in second inversion",
            _ => " in third inversion",
        };
        let message = format!(
            "{} {}s{inverted} move in parallel, {}.",
            counted(passage.chords.len()),
            first.chord.quality.name,
            bars(context.tune, passage.bars())
        );
        let note = &context.tune.voices[at.voice as usize].notes[at.note as usize];
        let mut finding = context.at_note(at.voice as usize, note, message);
        finding.to_bar = Some(last.bar);
        findings.push(finding);
    }
}

#[cfg(test)]
#[path = "../rule_tests/planing.rs"]
mod tests;
