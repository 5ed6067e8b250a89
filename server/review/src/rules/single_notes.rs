//! # A chord for an instrument of one note
//!
//! A flute, an oboe, a trumpet sounds one note at a time. A chord in such a part is for as many players as it has notes, and
//! the part has to say so: “1.2.” or “a 2” in its name or over the notes.
//!
//! Looked at are woodwind and brass parts for one player, and chords of more notes than a part has players. Bagpipes,
//! whose drones sound on, and chords of two notes one of which is sung are left alone.
//!
//! What to do: name the players (“Flutes 1.2”), or write one note.
//!
//! Source: published orchestration guides on two players on one staff (1., 2., a 2, div.); common practice.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Flute"
//! [ce]2 d2|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Flutes 1.2"
//! [ce]2 d2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::{Held, Player, Remark, tell};
use crate::rule::{Family, Rule};
use crate::words::counted;
use recte_score::MarkKind;
use recte_theory::instruments::Family as Section;
use recte_theory::playability::Verdict;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "a chord in a part whose instrument sounds one note at a time",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let family = player.instrument.family;
        let one = matches!(family, Section::Woodwind | Section::Brass);
        if one && !player.instrument.continuous_sound {
            tell(context, "single-notes", remarks(context, player), findings);
        }
    }
}

fn remarks<'a>(context: &Context<'a>, player: &Player<'_>) -> Vec<Remark<'a>> {
    let mut remarks = Vec::new();
    for moment in player.moments(context) {
        let Some(first) = moment.notes.iter().find(|held| held.struck) else { continue };
        let mut sounds: Vec<i32> = moment.notes.iter().map(|held| midi(context, held)).collect();
        sounds.dedup();
        if player.players.share_of(sounds.len()) < 2 || is_special(context, first) {
            continue;
        }
        let note = &context.tune.voices[first.voice].notes[first.note as usize];
        let message = format!(
            "{} notes at once, and the {} sounds one; a part for several players says so (1.2., a 2).",
            counted(sounds.len()),
            player.name()
        );
        remarks.push(Remark {
            again: "A chord".to_owned(),
            ..Remark::new(first.voice, note, Verdict::Impossible, message)
        });
    }
    remarks
}

fn midi(context: &Context<'_>, held: &Held) -> i32 {
    context.tune.voices[held.voice].notes[held.note as usize].pitch.midi()
}

/// Whether words stand over the chord: multiphonics, a note to sing along.
fn is_special(context: &Context<'_>, held: &Held) -> bool {
    let voice = &context.tune.voices[held.voice];
    let event = voice.notes[held.note as usize].event;
    let words = voice.marks.iter().filter(|mark| mark.event == event);
    words.into_iter().any(|mark| mark.kind == MarkKind::Annotation)
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn said(name: &str, music: &str) -> Vec<String> {
        let text = format!("X:1\nL:1/4\nK:C\nV:1 name=\"{name}\"\n{music}\n");
        messages_of("single-notes", &text)
    }

    #[test]
    fn the_sentence() {
        let two = "Two notes at once, and the oboe sounds one; a part for several players says so (1.2., a 2).";
        assert_eq!(said("Oboe", "[ce]4|"), [two]);
    }

    #[test]
    fn two_players_have_two_notes_and_not_three() {
        assert!(said("Oboes 1.2", "[ce]4|").is_empty());
        assert_eq!(said("Oboes 1.2", "[ceg]4|").len(), 1);
    }
}
