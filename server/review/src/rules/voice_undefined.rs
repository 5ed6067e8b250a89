//! # Voices that do not match their declarations
//!
//! A voice that is used but was not declared with the others, one that is declared and has no notes, two whose
//! names differ only after the twentieth character, and a grouping (`%%score`, `%%staves`) that names nobody.
//!
//! Mostly it is a slip in a name: the notes of one part end up in another, or a part stays empty.
//! Write the name as it is declared.
//!
//! Source: abc standard v2.1, 7 and 7.1 (voices), 11.1 (grouping).
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! V:Soprano
//! V:Alto
//! K:C
//! V:Soprano
//! CDEF|
//! V:Altos
//! EFGA|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! %%score (Soprano Alto)
//! V:Soprano
//! V:Alto
//! K:C
//! V:Soprano
//! CDEF|
//! V:Alto
//! EFGA|
//! ```

use super::unreadable::speak;
use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use recte_notation::ProblemKind;
use recte_score::{Span, Voice};
use std::collections::BTreeSet;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Warning,
    summary: "a voice that is not declared, has no notes, or does not exist",
    check,
};

/// Names at least so alike (Jaro–Winkler) are taken for one name and a slip.
const ALIKE: f64 = 0.88;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    speak(context, findings, |kind| {
        (kind == ProblemKind::VoicesAlike).then_some(Severity::Warning)
    });
    let voices = &context.tune.voices;
    let header = context.tune.header.end;
    let in_header = |voice: &&Voice| voice.declared.end > 0 && voice.declared.end <= header;
    if voices.iter().any(|voice| in_header(&voice)) {
        let silent: Vec<&Voice> =
            voices.iter().filter(in_header).filter(|voice| voice.events.is_empty()).collect();
        for voice in voices.iter().filter(|voice| voice.declared.start >= header) {
            findings.push(undeclared(context, voice, &silent));
        }
        for voice in silent.iter().filter(|_| context.has_music()) {
            let message = format!("Voice {} is declared and has no notes.", voice.id);
            findings
                .push(Finding { severity: Severity::Hint, ..context.at(voice.declared, message) });
        }
    }
    nobody(context, findings);
}

fn undeclared(context: &Context<'_>, voice: &Voice, silent: &[&Voice]) -> Finding {
    let meant =
        silent.iter().take(64).find(|known| strsim::jaro_winkler(&known.id, &voice.id) >= ALIKE);
    let (severity, message) = match meant {
        Some(known) => (
            Severity::Warning,
            format!("Voice {} is not declared; {} is, and has no notes.", voice.id, known.id),
        ),
        None if context.tune.strict => (
            Severity::Warning,
            format!("Voice {} is not declared in the header, as the others are.", voice.id),
        ),
        None => (
            Severity::Hint,
            format!("Voice {} is not declared in the header, as the others are.", voice.id),
        ),
    };
    Finding { severity, ..context.at(voice.declared, message) }
}

/// Names in a grouping that no voice has.
fn nobody(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let severity = if context.tune.strict { Severity::Warning } else { Severity::Info };
    // While the header is being typed, its voices are still to come.
    if context.tune.groupings.is_empty() || !context.has_music() {
        return;
    }
    let known: BTreeSet<&str> = context.tune.voices.iter().map(|voice| voice.id.as_str()).collect();
    for grouping in &context.tune.groupings {
        let start = grouping.span.start as usize;
        let typed = &context.block.text[grouping.span.range()];
        let mut at = 0;
        for id in grouping.voices() {
            let Some(place) = typed[at..].find(id).map(|place| at + place) else { continue };
            at = place + id.len();
            let id: String = id.chars().take(20).collect();
            if !known.contains(id.as_str()) {
                let span = Span::new(start + place, start + at);
                let message = format!("There is no voice {id} in this tune to group.");
                findings.push(Finding { severity, ..context.at(span, message) });
            }
        }
    }
}

#[cfg(test)]
#[path = "../rule_tests/voice_undefined.rs"]
mod tests;
