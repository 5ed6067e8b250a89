//! # A scale that leaves out a letter
//!
//! Readers take a scale by its letters, one after the other. Written D, E, G flat, G it looks like a leap and a
//! half step; written D, E, F sharp, G it is four notes in a row. In minor the sixth and seventh keep their
//! letters when they are raised: A, B, C sharp, D in D minor, never A, B, D flat, D.
//!
//! What to do: take the spelling offered; it keeps every sound.
//!
//! Nothing is said of scales that must leave out or repeat a letter: whole tones, half and whole steps in turn,
//! the blues; nor of the augmented second between the sixth and seventh of harmonic minor.
//!
//! Source: Open Music Theory, "Major scales" and "Minor scales" (each letter once).
//!
//! ```abc flagged
//! X:1
//! L:1/8
//! K:D
//! DE_G=G ABcd|
//! ```
//! ```abc fixed
//! X:1
//! L:1/8
//! K:D
//! DEFG ABcd|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/8
//! K:Dm
//! DEFG AB^cd|dcBA G^FED|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::spelling::{Kind, tell};
use crate::words::{and_list, list};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Warning,
    summary: "a scale that leaves out a letter",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    tell(context, findings, |reading, misspelling, expected| {
        let Kind::Scale(run) = &misspelling.kind else { return None };
        let letters: Vec<String> =
            expected.iter().map(|name| name.letter.to_char().to_string()).collect();
        Some(format!(
            "{} is a scale without the letter {}; players expect {}.",
            list(run.iter().map(|&at| reading.read(at, reading.typed[at]))),
            letters.join(" and "),
            and_list(expected.iter().copied()),
        ))
    });
}
