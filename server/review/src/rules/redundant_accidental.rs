//! # An accidental that says nothing
//!
//! An accidental is news. One that repeats what the key signature or the bar has said already makes the reader look for what has
//! changed, and nothing has.
//!
//! What to do: take it out; the fix does, and no sound changes.
//!
//! A reminder is not news either, but it helps, and is left alone: where the same letter was altered otherwise in
//! this bar, in the two before it or at the same time in another voice; in another octave; after a tie over
//! the bar line; after a change of key; at the beginning of a repeat or an ending; in grace notes. Where no key is
//! claimed (`K:none`), as in atonal music, every note may have its own sign. Accidentals repeated within a bar are spoken of
//! only where the first that could be left out was: who begins by writing them does so on purpose.
//!
//! How far an accidental reaches is what the text says: by the standard to the bar line in every octave, or as
//! `I:propagate-accidentals` has it.
//!
//! Source: abc standard v2.1, 4.2 and 11.3 (how far accidentals reach); which reminders help: common practice, no
//! source.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:G
//! GAB^F|G4|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:G
//! GABF|G4|
//! ```
//!
//! ```abc flagged
//! X:1
//! L:1/8
//! K:C
//! ^FGFG A4|^FG^FG A4|
//! ```
//! ```abc fixed
//! X:1
//! L:1/8
//! K:C
//! ^FGFG A4|^FGFG A4|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/8
//! K:C
//! ^FGFG A4|=FEFG ^F2^f2|^f2-f2 z2=f2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Related, Severity};
use crate::rule::{Family, Rule};
use crate::signs::Given;
use recte_notation::ProblemKind;
use recte_notation::write::TextEdit;
use recte_score::{Note, Span};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Hint,
    summary: "an accidental that the signature or the bar already gives",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let page = context.page();
    for place in page.places((0, u32::MAX)) {
        let Some(given) = page.redundant(place) else { continue };
        let voice = &context.tune.voices[place.0];
        let note = &voice.notes[page.row(place).note as usize];
        let Some(sign) = sign_of(context, note) else { continue };
        let name = note.written.name.words();
        let plain = note.written.name.alter == 0;
        let message = match given {
            Given::Signature if plain => {
                format!("{name} is natural here without a sign; this one can go.")
            }
            Given::Signature => format!("{name} is in the key signature; this sign can go."),
            Given::Bar(_) if plain => {
                format!("{name} is natural in this bar already; this sign can go.")
            }
            Given::Bar(_) => format!("{name} stands in this bar already; this sign can go."),
        };
        let edits = vec![TextEdit { span: sign, text: String::new() }];
        let fix = context.fix("Take out the accidental".to_owned(), edits);
        let mut finding = context.at_note(place.0, note, message);
        if let Given::Bar(first) = given {
            let span = voice.notes[first as usize].span;
            finding.related.push(Related { span, message: "Said here.".to_owned() });
        }
        finding.fixes.push(fix);
        findings.push(finding);
    }
}

/// Where the accidental of a note stands, if it is typed here, and only once.
fn sign_of(context: &Context<'_>, note: &Note) -> Option<Span> {
    let typed = context.block.text.get(note.span.range())?;
    let letter = typed.trim_start_matches(['^', '_', '=']);
    let length = typed.len() - letter.len();
    let own = letter.chars().next()?.to_ascii_uppercase() == note.written.name.letter.to_char();
    // Of two signs before one note another rule speaks.
    let mut problems = context.lowered().problems.iter();
    let twice = problems.any(|problem| {
        problem.kind == ProblemKind::AccidentalTwice && problem.span.end == note.span.start
    });
    let start = note.span.start as usize;
    (own && length > 0 && !twice).then(|| Span::new(start, start + length))
}

#[cfg(test)]
#[path = "../rule_tests/redundant_accidental.rs"]
mod tests;
