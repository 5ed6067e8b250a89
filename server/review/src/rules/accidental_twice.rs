//! # Two accidentals on one note
//!
//! Two different accidentals typed before one note, of which only the second counts; or, in a chord, the same
//! note once with an accidental and once without: the bare one takes the same accidental, so both sound alike.
//!
//! The reader cannot tell which was meant. Write one; in a chord of two different notes give each its own sign.
//!
//! Source: abc standard v2.1, 4.2 (accidentals) and 4.17 (chords).
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! CDE^_F|
//! ```
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! [C^FF]4|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! C^^F__B=E|[=F^F][^Ff]DD|
//! ```

use super::unreadable::speak;
use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use recte_notation::ProblemKind;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Warning,
    summary: "two accidentals on one note",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    speak(context, findings, |kind| {
        (kind == ProblemKind::AccidentalTwice).then_some(Severity::Warning)
    });
    for (index, voice) in context.voices() {
        for event in voice.events.iter().filter(|event| event.notes.len() > 1) {
            let notes = voice.notes_of(event);
            for (place, note) in
                notes.iter().enumerate().filter(|(_, note)| note.accidental.is_none())
            {
                let before = &notes[..place];
                let signed = before.iter().find(|other| {
                    other.accidental.is_some_and(|alter| {
                        alter != context.tune.key(event).signature.alter(note.written.name.letter)
                    }) && other.written == note.written
                });
                if signed.is_some() {
                    let message = format!(
                        "In this chord the sign before the first {} counts for both; they are one note.",
                        note.written.name.words()
                    );
                    findings.push(Finding {
                        severity: Severity::Hint,
                        ..context.at_note(index, note, message)
                    });
                }
            }
        }
    }
}
