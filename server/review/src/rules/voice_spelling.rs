//! # One sound under two names at once
//!
//! Two parts that have the same sound at the same time, at the unison or in octaves, are tuned to each other,
//! and rehearsed by the names on the page. Under two names the players think they have different notes.
//!
//! Parts of transposing instruments are compared as they sound, and parts written in keys of the same sound and
//! other names (a harp in C flat, strings in B) are each right for their reader.
//!
//! What to do: take the name that fits the harmony and the line; the fix offers it.
//!
//! Source: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:none
//! V:1
//! ^c^de2|
//! V:2
//! _D_E=E2|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:none
//! V:1
//! ^c^de2|
//! V:2
//! ^C^D=E2|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:E
//! V:1
//! ^c^de2|
//! V:2
//! CDE2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::spelling::{Kind, tell};
use crate::words::{and_list, voice};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Warning,
    summary: "one sound under two names at the same time",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    tell(context, findings, |reading, misspelling, expected| {
        let Kind::Doubled(other) = misspelling.kind else { return None };
        let at = misspelling.sounds[0];
        let (own, its) = (reading.sound(at).at.voice, reading.sound(other).at.voice);
        let place = if own == its {
            String::from("in the same part")
        } else {
            format!("in {}", voice(&context.tune.voices[its as usize]))
        };
        Some(format!(
            "{} sounds together with {} {place}, and is the same; players expect {} in both.",
            reading.read(at, reading.typed[at]).words(),
            reading.read(other, reading.typed[other]).words(),
            and_list(expected.iter().copied()),
        ))
    });
}
