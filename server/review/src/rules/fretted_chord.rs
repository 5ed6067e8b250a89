//! # A chord that the frets do not hold
//!
//! A guitar has one note a string and four fingers to stop them with; the stopped notes of a chord lie within four
//! frets, five at a stretch. Close chords low down fail because two notes fall on one string, wide ones because the hand
//! ends.
//!
//! Every way of laying the chord on the strings is tried, a barre counting as one finger, open strings as none. The
//! strings and spans are those of the instrument: guitar, bass guitar, mandolin, banjos, ukulele, lute.
//!
//! Wide stretches strain the hand: let the player or the teacher say what is good for it.
//!
//! What to do: leave out a note, or spread the chord over other strings.
//!
//! Source: Nelson, on writing for the classical guitar, and published guides to guitar writing (one note a string, four frets); other
//! spans from memory.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Guitar" clef=treble-8
//! [E,F,]G2c|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Guitar" clef=treble-8
//! [E,B,E^GBe]c2c|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::{fingered, tell};
use crate::rule::{Family, Rule};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "a chord that does not lie on the strings of a guitar, mandolin or banjo",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let stops = player.instrument.stops.as_ref();
        if stops.is_some_and(|stops| stops.frets.is_some() && !stops.adjacent_strings_only) {
            tell(context, "fretted-chord", fingered::remarks(context, player), findings);
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn said(music: &str) -> Vec<String> {
        let text = format!("X:1\nL:1/4\nK:C\nV:1 name=Guitar clef=treble-8\n{music}\n");
        messages_of("fretted-chord", &text)
    }

    #[test]
    fn the_sentence() {
        assert_eq!(
            said("[E,F,]|"),
            ["E3 and F3 both lie only on the classical guitar's E string."]
        );
    }

    #[test]
    fn a_barre_and_a_cluster_with_an_open_string() {
        assert!(said("[F,CFAcf]|").is_empty());
        assert!(said("[cde]|").is_empty());
    }
}
