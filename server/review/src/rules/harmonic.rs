//! # A harmonic that does not sound
//!
//! A string lightly touched at a half, a third, a quarter or a fifth of its length gives a partial of the open string.
//! Over a stopped note the fourth, the fifth or the major third is touched. Elsewhere nothing sounds but a whistle.
//!
//! Looked at are single notes marked as harmonics (`!open!`, "harm.", "flag.") in parts of bowed strings: the note must be an
//! open string, a partial of one, or the place where one is touched. Chords of two so marked are read as stopped note and
//! touch. Told of is what cannot sound, and as a hint what takes a wide hand.
//!
//! What to do: write the sounding note and leave the way to the player, or take a note of the series.
//!
//! Source: Martens, "Violin Mastery" (touches over a stopped note); nodes are physics; what a hand reaches is from memory.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Violin"
//! "^harm."_B|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Violin"
//! "^harm."a!open!d"^harm."[Ad]|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::sounding;
use crate::idiom::{Player, Reading, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_theory::Pitch;
use recte_theory::playability::Verdict;
use recte_theory::playability::harmonics::{Touch, artificial, natural, nodes};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "a note marked as a harmonic that no string gives",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let bowed = player.instrument.stops.as_ref().is_some_and(|stops| stops.string_mm.is_some());
        if !bowed {
            continue;
        }
        let marked = player.strokes(context).iter().filter(|stroke| stroke.harmonic);
        let remarks = marked.filter_map(|stroke| remark(context, player, stroke)).collect();
        tell(context, "harmonic", remarks, findings);
    }
}

fn remark<'a>(context: &Context<'a>, player: &Player<'_>, stroke: &Stroke) -> Option<Remark<'a>> {
    let judge = |reading: Reading| judged(player, &sounding(context, stroke, reading));
    let verdict = player.kindest(context, judge, |verdict| *verdict);
    let note = stroke.typed(context.tune).first()?;
    let name = player.name();
    let message = match (verdict, stroke.notes.len()) {
        (Verdict::Impossible, 1) => {
            format!("{} is no natural harmonic of the {name}.", note.written.name.words())
        }
        (Verdict::Impossible, _) => {
            format!(
                "This touch gives no harmonic on the {name}; a fourth, a fifth or a major third would."
            )
        }
        _ => format!("This harmonic takes a wide hand on the {name}."),
    };
    let again = "Such a harmonic".to_owned();
    (verdict >= Verdict::Awkward)
        .then(|| Remark { again, ..Remark::new(stroke.voice, note, verdict, message) })
}

fn judged(player: &Player<'_>, notes: &[Pitch]) -> Verdict {
    let instrument = player.instrument;
    match *notes {
        [one] => {
            let strings = instrument.open_strings.iter().enumerate();
            let touched = strings.into_iter().any(|(place, string)| {
                let above = one.midi() - string.sounding.midi();
                above == 0 || nodes(place).any(|node| node.offset == above)
            });
            let sounds = touched || !natural(instrument, one).is_empty();
            if sounds { Verdict::Easy } else { Verdict::Impossible }
        }
        [stopped, touch] => {
            let touches = [Touch::Fourth, Touch::Fifth, Touch::MajorThird];
            let way = touches.into_iter().find(|t| t.semitones() == touch.midi() - stopped.midi());
            way.map_or(Verdict::Impossible, |way| {
                artificial(instrument, stopped, way).map_or(Verdict::Easy, |found| found.verdict)
            })
        }
        _ => Verdict::Easy,
    }
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn violin(music: &str) -> Vec<String> {
        messages_of("harmonic", &format!("X:1\nL:1/4\nK:C\nV:1 name=Violin\n{music}\n"))
    }

    #[test]
    fn the_sentences() {
        assert_eq!(violin("\"^harm.\"_B|"), ["B flat is no natural harmonic of the violin."]);
        let touch =
            "This touch gives no harmonic on the violin; a fourth, a fifth or a major third would.";
        assert_eq!(violin("\"^harm.\"[AB]|"), [touch]);
    }

    #[test]
    fn open_strings_and_touches() {
        assert!(violin("!open!A!open!a\"^harm.\"[Ad]|").is_empty());
    }
}
