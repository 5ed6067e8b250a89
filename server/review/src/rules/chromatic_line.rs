//! # A half step that points the wrong way
//!
//! A sharp wants to go up, a flat wants to go down. A line that rises by half steps raises the letter it comes
//! from (C, C sharp, D), a line that falls lowers it (D, D flat, C); a neighbour from below is the letter below
//! (G, F sharp, G), a leading note the letter below its goal. Written the other way the reader expects a note
//! that does not come.
//!
//! Notes of the key keep their names whichever way the line goes, and a lowered seventh may rise, a raised
//! fourth may fall; nothing is said of these.
//!
//! What to do: take the spelling offered; it keeps every sound.
//!
//! Source: Open Music Theory, "Chromaticism: solfège and spelling" (raised going up, lowered going down, neighbours
//! by step of a letter); leading notes: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! G_G=G2|CDEC|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! G^FG2|CDEC|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! C^CD2|D_DC2|A_BB2|G^FF2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::spelling::{Kind, tell};
use crate::words::and_list;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Spelling,
    severity: Severity::Warning,
    summary: "a chromatic or leading note whose name points the wrong way",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    tell(context, findings, |reading, misspelling, expected| {
        let at = misspelling.sounds[0];
        let (moves, other) = match misspelling.kind {
            Kind::GoesOn(to) => (["goes down to", "goes up to"], to),
            Kind::ComesFrom(from) => (["comes up from", "comes down from"], from),
            _ => return None,
        };
        let higher = reading.sound(other).midi() > reading.sound(at).midi();
        let moves = format!(
            "{} {}",
            moves[usize::from(higher)],
            reading.read(other, reading.better[other]).words()
        );
        Some(format!(
            "{} {moves}; players expect {}.",
            reading.read(at, reading.typed[at]).words(),
            and_list(expected.iter().copied())
        ))
    });
}
