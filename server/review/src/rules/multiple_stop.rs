//! # A chord that the strings do not hold
//!
//! On a bowed instrument each note of a chord needs a string of its own, the strings must be neighbours, and the fingers must reach: in
//! millimetres, for semitones get smaller up the string. Two notes can be held; three and four are broken, short and
//! loud. A violinist can do nothing with G and B below the middle C: both lie on the lowest string only.
//!
//! Looked at is what one player sounds at once, in all layers. A chord that cannot be stopped is told of; one that
//! only soloists stop is a hint; what is merely awkward is told of where the settings name the rule, as are quick chords between which the hand
//! moves more than a position, three strings to be played softly, and a section's chords above the third position. Where a section plays, the advice is to
//! divide it. Arpeggio signs, harmonics and chords for two players on one staff are left alone. The players' level
//! counts (`%%recte level VOICE LEVEL`): school players stop thirds, sixths and open strings.
//!
//! Wide stops and long chains of them strain the hand: let the player or the teacher say what is good for it.
//!
//! What to do: leave out a note, move one by an octave, divide the players, or give a note to the next instrument.
//!
//! Source: Forsyth, "Orchestration", pp. 316–317 (stops of the violin); Rimsky-Korsakov, "Principles of Orchestration", ch. III (chords of three and four
//! notes); lengths of strings and spans of hands from memory.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:G
//! V:1 name="Violin"
//! [G,B,]G2[DB]|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:G
//! V:1 name="Violin"
//! [G,DBg]G2[DB]|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::{fingered, stops, tell};
use crate::rule::{Family, Rule};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "a chord that does not lie on the strings of a bowed instrument",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        if player.instrument.stops.as_ref().is_some_and(|stops| stops.adjacent_strings_only) {
            let mut remarks = fingered::remarks(context, player);
            if context.asks_for("multiple-stop") {
                remarks.extend(stops::remarks(context, player));
            }
            tell(context, "multiple-stop", remarks, findings);
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::{findings_of, messages_of};

    fn said(voice: &str, music: &str) -> Vec<String> {
        let text = format!("X:1\nL:1/4\nQ:1/4=60\nK:C\nV:1 name=\"{voice}\"\n{music}\n");
        messages_of("multiple-stop", &text)
    }

    #[test]
    fn the_sentences() {
        assert_eq!(
            said("Violin", "[G,B,]|"),
            ["G3 and B3 both lie only on the violin's G string."]
        );
        let wide = "E2 and E3 lie further apart on the cello than a hand reaches with ease.";
        assert_eq!(said("Cello", "[E,,E,]|"), [wide]);
        let held = "A bow holds two notes; G3, D4 and B4 can be broken, loud and short, but not held so softly.";
        assert_eq!(said("Violin", "!p![G,DB]4|"), [held]);
    }

    #[test]
    fn layers_of_one_player_are_a_chord() {
        assert_eq!(said("Violin", "G,2 & B,2|").len(), 1);
        assert!(said("Violin", "D2 & B2|").is_empty());
    }

    #[test]
    fn the_octave_a_double_bass_is_typed_in_is_left_open() {
        assert!(said("Double Bass", "[E,,G,,]|").is_empty());
        assert_eq!(said("Double Bass\" clef=\"bass-8", "[E,,G,,]|").len(), 1);
    }

    #[test]
    fn from_chord_to_chord() {
        let text = |voice: &str, music: &str| {
            format!("X:1\nL:1/16\nQ:1/4=120\nK:C\nV:1 name=\"{voice}\"\n{music}\n")
        };
        let far = "From A♭3 and F4 to F5 and D6 the hand moves 4 semitones along the string, far at this speed.";
        assert_eq!(messages_of("multiple-stop", &text("Violin", "[_A,F][fd']|")), [far]);
        assert!(messages_of("multiple-stop", &text("Violin", "[A,F][B,G][CA]|")).is_empty());
        let soft = "Three strings at once want a strong bow, and here they are to be soft.";
        assert_eq!(messages_of("multiple-stop", &text("Violin", "!p![G,DB]4|")), [soft]);
        let high =
            "G5 and E6 lie high on the strings; sections stop chords in the first three positions.";
        assert_eq!(messages_of("multiple-stop", &text("Violins", "[ge']16|")), [high]);
    }

    #[test]
    fn a_note_to_leave_out() {
        let text = "X:1\nL:1/4\nK:C\nV:1 name=Violin\n[CEG]|\n";
        let found = findings_of("multiple-stop", text);
        assert_eq!(found[0].fixes[0].title, "Leave out E4 (changes the music)");
    }
}
