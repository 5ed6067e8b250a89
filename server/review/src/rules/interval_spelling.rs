//! # A note whose name hides the interval
//!
//! A note of the key under another name, a fifth written as a diminished sixth, a white key with a flat: each
//! makes the reader stop and work out a sound that he would have read at once.
//!
//! What to do: take the spelling offered. It is the name that the key has for the sound, or, where the key has
//! none, the one that makes the simplest intervals with the notes beside it.
//!
//! Source: Open Music Theory, "Intervals"; how much each interval is minded: from memory.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! G_FD2|CDEC|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! GED2|CDEC|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:Gb
//! GcdB|^F2G2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::spelling::{Kind, Reading, tell};
use crate::words::and_list;
use recte_theory::interval::Interval;
use recte_theory::{Pitch, PitchName};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Warning,
    summary: "a note whose name hides the interval or the key",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    tell(context, findings, |reading, misspelling, expected| {
        let at = misspelling.sounds[0];
        let (typed, better) = (reading.typed[at], reading.better[at]);
        let expected = and_list(expected.iter().copied());
        let other = match misspelling.kind {
            Kind::Interval(other) => other,
            Kind::Key => {
                let [typed, better] = [typed, better].map(|name| reading.read(at, name).words());
                return Some(format!(
                    "{typed} is {better} in this key; players expect {expected}."
                ));
            }
            _ => return None,
        };
        let near = reading.better[other];
        let to_near = |name| interval(reading, context, (at, name), (other, near));
        Some(format!(
            "{} and {} look like {}; players expect {expected}, {}.",
            reading.read(at, near).words(),
            reading.read(at, typed).words(),
            to_near(typed),
            to_near(better),
        ))
    });
}

/// "a diminished fourth": between two sounds under these names.
fn interval(
    reading: &Reading,
    context: &Context<'_>,
    (at, name): (usize, PitchName),
    (other, near): (usize, PitchName),
) -> String {
    let pitch = |at: usize, name: PitchName| {
        let typed = reading.pitch(context.tune, at);
        Pitch::with_name(typed.midi(), name).unwrap_or(typed)
    };
    let interval = Interval::between(pitch(at, name), pitch(other, near)).to_string();
    let article = if interval.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {interval}")
}
