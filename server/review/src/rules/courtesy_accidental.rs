//! # A reminder that players expect
//!
//! A bar line ends an accidental, but not the reader's memory of it. After F sharp in one bar a plain F in the next is often
//! played sharp, and the rehearsal stops to ask. An accidental that nothing asks for, a courtesy, prevents
//! that.
//!
//! Nobody reminds of everything, so this is said only where it is missed most: at a plain note after a tie that has
//! carried an alteration over the bar line (the tie ends it for the notes after it); at a plain note beside its altered octave,
//! where accidentals hold in their own octave; and at the first plain note soon after a bar in which the same note
//! was altered, if the piece has reminded of such a note before.
//!
//! What to do: write the sign; the fix does. In this notation a courtesy is the plain sign typed again.
//!
//! Source: common practice, no source; how far accidentals reach: abc standard v2.1, 4.2 and 11.3, and that a tie
//! carries one to the tied note alone: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! ABc^F-|FGFE|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! ABc^F-|FG=FE|
//! ```
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:D
//! A^GA2|=GFE2|A^GA2|GFE2|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:D
//! A^GA2|=GFE2|A^GA2|=GFE2|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:D
//! A^GA2|GFE2|A^G-G2|=GFE2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Related, Severity};
use crate::rule::{Family, Rule};
use crate::signs::Wanted;
use recte_notation::write::{Retyped, typed};
use recte_theory::PitchName;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Hint,
    summary: "a plain note after its altered neighbour, where players expect a reminder",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let page = context.page();
    for place in page.places((0, u32::MAX)) {
        let Some(wanted) = page.wanted(place) else { continue };
        let row = page.row(place);
        let voice = &context.tune.voices[place.0];
        let (Wanted::BarBefore(other) | Wanted::Tie(other) | Wanted::Octave(other)) = wanted;
        let other = &voice.notes[other as usize];
        let was = other.written.name.words();
        let letter = row.written.name.letter.to_char();
        let sign = sign(row.written.name);
        let message = match wanted {
            Wanted::BarBefore(_) => {
                format!("After {was} in the bar before, players expect {sign} at this {letter}.")
            }
            Wanted::Tie(_) => format!(
                "The tie carries {was} over the bar line and no further; players expect {sign} at this {letter}."
            ),
            Wanted::Octave(_) => {
                format!("After {was} in another octave, players expect {sign} at this {letter}.")
            }
        };
        let anew =
            Retyped { voice: place.0 as u32, note: row.note, written: row.written, signed: true };
        let fix = context.fix(format!("Write {sign}"), typed(context.tune, &[anew]));
        let note = &voice.notes[row.note as usize];
        let mut finding = context.at_note(place.0, note, message);
        finding.related.push(Related { span: other.span, message: format!("{was}.") });
        finding.fixes.push(fix);
        findings.push(finding);
    }
}

/// "a natural", "a sharp": the sign of a name.
fn sign(name: PitchName) -> &'static str {
    match name.alter {
        i8::MIN..=-2 => "a double flat",
        -1 => "a flat",
        0 => "a natural",
        1 => "a sharp",
        2.. => "a double sharp",
    }
}

#[cfg(test)]
#[path = "../rule_tests/courtesy_accidental.rs"]
mod tests;
