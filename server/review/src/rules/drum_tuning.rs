//! # Kettledrums without time to tune
//!
//! Each drum has one note at a time. For another it is tuned anew: two seconds by pedal for a step, five to be sure of it. A
//! usual set has four drums, a school's two.
//!
//! The strokes are shared among the drums so that the shortest time to tune is as long as can be. A note that no drum of
//! the set holds, two notes on one drum, and less than a second to tune are told of; up to two seconds is a hint. Without a tempo only the
//! notes themselves are looked at. Rolls last as long as they are written.
//!
//! What to do: fewer notes in the passage, a rest before the change, or another drum, asked for in the list of instruments.
//!
//! Source: Papastefan's table of timpani sizes and ranges; the times for tuning are from memory.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! Q:1/4=120
//! K:C
//! V:1 name="Timpani" clef=bass
//! C,2[D,,E,,]2|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! Q:1/4=120
//! K:C
//! V:1 name="Timpani" clef=bass
//! C,G,,C,2|F,,C,B,,z|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::{about, seconds_to, sounding};
use crate::idiom::{Player, Reading, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_theory::Pitch;
use recte_theory::playability::Verdict;
use recte_theory::playability::drums::{self, DrumObstacle, Drumming, Tuning, drums, usual};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "timpani notes for which there is no drum, or no time to tune one",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        if !player.instrument.drums.is_empty() {
            tell(context, "drum-tuning", remarks(context, player), findings);
        }
    }
}

/// Strokes for which there is no drum are told of and left out, until what is left can be tuned or not.
const MOST: usize = 8;

fn remarks<'a>(context: &Context<'a>, player: &Player<'a>) -> Vec<Remark<'a>> {
    let mut strokes = player.strokes(context).to_vec();
    let mut remarks = Vec::new();
    for _ in 0..MOST {
        let judge = |reading: Reading| judged(context, player, &strokes, reading);
        let verdict =
            |found: &Option<Drumming>| found.as_ref().map_or(Verdict::Easy, |d| d.verdict);
        let Some(found) = player.kindest(context, judge, verdict) else { break };
        let Some(obstacle) = found.obstacle.filter(|_| found.verdict >= Verdict::Awkward) else {
            break;
        };
        let (place, kind, message) = worded(player, obstacle);
        let Some(stroke) = strokes.get(place) else { break };
        let beyond = stroke.typed(context.tune).first().is_some_and(|note| {
            let range = player.instrument.range(player.level);
            range.is_some_and(|range| !range.contains_sounding(note.pitch))
        });
        // Notes beyond all drums are beyond the instrument, and told of there.
        if let Some(note) = stroke.typed(context.tune).first().filter(|_| !beyond) {
            let again = "So".to_owned();
            let remark = Remark::new(stroke.voice, note, found.verdict, message);
            remarks.push(Remark { kind, again, ..remark });
        }
        if matches!(obstacle, DrumObstacle::Retuning { .. }) {
            break;
        }
        strokes.remove(place);
    }
    remarks.sort_by_key(|remark| (remark.voice, remark.note.event));
    remarks
}

/// At which stroke, which kind of trouble, and the sentence.
fn worded(player: &Player<'_>, obstacle: DrumObstacle) -> (usize, u8, String) {
    let set = usual(player.instrument, player.level).len();
    match obstacle {
        DrumObstacle::NoDrum { stroke, .. } => {
            (stroke, 0, format!("None of the usual {set} drums holds this note."))
        }
        DrumObstacle::Slack { stroke, .. } => {
            (stroke, 1, "The largest drum holds this note only slack.".to_owned())
        }
        DrumObstacle::OneDrum { stroke } => {
            (stroke, 2, "These notes would need one drum at the same time.".to_owned())
        }
        DrumObstacle::Retuning { stroke, seconds } => {
            let time = about(seconds);
            let message = format!(
                "For this note a drum has to be tuned in {time}; two are wanted, and five to be sure."
            );
            (stroke, 3, message)
        }
    }
}

fn judged(
    context: &Context<'_>,
    player: &Player<'_>,
    strokes: &[Stroke],
    reading: Reading,
) -> Option<Drumming> {
    let start = strokes.first()?.onset;
    let notes: Vec<Vec<Pitch>> =
        strokes.iter().map(|stroke| sounding(context, stroke, reading)).collect();
    let timed = strokes.iter().zip(&notes).enumerate().map(|(place, (stroke, notes))| {
        let seconds = seconds_to(context, start, stroke.onset, place);
        let rolls = stroke.trill || stroke.tremolo;
        let end = if rolls { stroke.end } else { stroke.onset };
        let until = seconds_to(context, start, end, place);
        drums::Stroke { seconds, until, notes }
    });
    let timed: Vec<drums::Stroke<'_>> = timed.collect();
    drums(player.instrument, usual(player.instrument, player.level), &timed, Tuning::Pedal)
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn said(music: &str) -> Vec<String> {
        let text = format!("X:1\nL:1/4\nQ:1/4=120\nK:C\nV:1 name=Timpani clef=bass\n{music}\n");
        messages_of("drum-tuning", &text)
    }

    #[test]
    fn the_sentences() {
        let one = "These notes would need one drum at the same time.";
        assert_eq!(said("[D,,E,,]2|"), [one]);
        let fast = "For this note a drum has to be tuned in about 1.5 seconds; two are wanted, and five to be sure.";
        assert_eq!(said("G,,A,,_B,,C,|D,4|").iter().filter(|said| *said == fast).count(), 1);
    }

    #[test]
    fn four_notes_on_four_drums() {
        assert!(said("F,,C,F,A,|F,,C,F,A,|").is_empty());
    }
}
