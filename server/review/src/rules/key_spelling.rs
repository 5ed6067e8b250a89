//! # A key that is read more easily by its other name
//!
//! C sharp major has seven sharps, D flat major five flats, and both sound alike. Every note of the first is one more
//! sign to keep in mind, E sharp and B sharp among them; players read the second.
//!
//! Of the keys that sound alike take B, not C flat; D flat, not C sharp; in minor G sharp, not A flat; B flat, not A
//! sharp. Of F sharp and G flat, D sharp minor and E flat minor, either is as good. What counts is what the player reads:
//! a part for a clarinet in B flat has two sharps more than what sounds, in A three fewer, a horn in F one more and
//! an instrument in E flat three more, so that music in B reaches the clarinet in B flat in C sharp, and is
//! written in D flat for it, or given to the clarinet in A. Harps are the other way: C flat major leaves every
//! string open, and is better than B.
//!
//! A passage of four bars or more that is written out, sign by sign, and heard in such a key is spoken of too, where the
//! signature is nearer to the other name.
//!
//! What to do: write the key under its other name; the fix changes the signature, the notes and the chord symbols
//! under it, and no sound. Where a signature of five or six flats goes on to seven, the neighbour may be the better reason:
//! then this is only a hint.
//!
//! Source: harp: harpists' pages for composers (hornandharp), as in row S227 of `data/spelling-cases.csv`; which
//! name of each key, and the shifts of transposing parts: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C#
//! CEGB|^^FG2z|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:Db
//! DFAc|=GA2z|
//! ```
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:none
//! [_C_E_G]4|[_F_A_c]4|[_G_B_d_f]4|[_C_E_G_c]4|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:none
//! [B,^D^F]4|[E^GB]4|[^F^A^ce]4|[B,^D^FB]4|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:Gb
//! GBdg|_fd2z|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! V:1 name="Harp"
//! K:Cb
//! CEGc|GEC2|
//! ```

use crate::context::Context;
use crate::far_keys::{Passage, Stretch, fifths, other_name, passages, stretches, words};
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use recte_score::NoteRef;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Warning,
    summary: "a key that is read more easily by its other name",
    check,
};

/// From so many signs on, a signature of one more on the same side may follow from it.
const NEAR: i32 = 5;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let stretches = stretches(context);
    findings.extend(stretches.iter().filter_map(|stretch| of_signature(context, stretch)));
    findings.extend(passages(context).iter().filter_map(|passage| of_passage(context, passage)));
}

fn of_signature(context: &Context<'_>, stretch: &Stretch) -> Option<Finding> {
    let by = stretch.moves(context)?;
    let key = &context.tune.keys[stretch.key as usize];
    let other = other_name(key, by);
    let (signs, fewer) = (fifths(key)?, fifths(&other)?);
    let harp = stretch.is_for_harp(context) && signs == 5;
    let message = if harp {
        format!("On the harp {} leaves every string open; {} does not.", words(&other), words(key))
    } else {
        format!(
            "{} has {}; players read {} more easily, with {}.",
            words(key),
            counted(signs),
            words(&other),
            counted(fewer),
        )
    };
    let before = stretch.before.and_then(|key| fifths(&context.tune.keys[key as usize]));
    let follows = before.is_some_and(|before| before * signs.signum() >= NEAR);
    let severity = if harp || follows { Severity::Hint } else { Severity::Warning };
    Some(Finding {
        severity,
        fixes: stretch.fix(context, by).into_iter().collect(),
        voice: stretch.bars.map(|_| stretch.music[0].0 as u32),
        bar: stretch.bars.map(|(first, _)| first),
        to_bar: stretch.bars.map(|(_, last)| last),
        ..context.at(*stretch.fields.first()?, message)
    })
}

fn of_passage(context: &Context<'_>, passage: &Passage) -> Option<Finding> {
    let NoteRef { voice, note } = *passage.notes.first()?;
    let note = &context.tune.voices[voice as usize].notes[note as usize];
    let (here, better) = (words(&passage.key), words(&passage.other()));
    let message = format!("From here on this is {here}; players read {better} more easily.");
    let fix = passage.fix(context, format!("Respell as {better}"));
    let bar = |at: &NoteRef| context.tune.voices[at.voice as usize].event_of(at.note).bar;
    let to_bar = passage.notes.iter().map(bar).max();
    let fixes = fix.into_iter().collect();
    let finding = context.at_note(voice as usize, note, message);
    Some(Finding { severity: Severity::Hint, fixes, to_bar, ..finding })
}

/// "seven sharps", "five flats".
fn counted(fifths: i32) -> String {
    const NUMBERS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    let number = NUMBERS.get(fifths.unsigned_abs() as usize).copied().unwrap_or("many");
    format!("{number} {}", if fifths < 0 { "flats" } else { "sharps" })
}

#[cfg(test)]
#[path = "../rule_tests/key_spelling.rs"]
mod tests;
