//! # Too far for the slide
//!
//! A trombone has seven positions, a semitone apart. From the first to the sixth or seventh is the length of an arm,
//! and a glissando slides only where both ends are notes of one series: six semitones at most, and not every six.
//!
//! Looked at are lines at the typed tempo, along the path through the positions whose furthest move is shortest; professional and advanced players
//! are thought to have an F attachment. A move that no arm makes is told of; far ones at speed are awkward, and told of where
//! the settings name the rule. A glissando (`"^gliss."` at its first note) whose ends share no series is told of.
//!
//! Strain of the shoulder comes from far positions for long: let the player or the teacher decide.
//!
//! What to do: another octave, a slower figure, or a glissando from the other side.
//!
//! Source: the harmonic series; OEIS A309909 for the lowest positions; how far an arm goes in a second is from memory.
//!
//! ```abc flagged
//! X:1
//! L:1/2
//! K:C
//! V:1 name="Trombone" clef=bass
//! "^gliss."C^F,|
//! ```
//! ```abc quiet
//! X:1
//! L:1/2
//! K:C
//! V:1 name="Trombone" clef=bass
//! "^gliss."_B,E,|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::{follows, runs, sounding};
use crate::idiom::{Player, Reading, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_theory::instruments::Level;
use recte_theory::playability::Verdict;
use recte_theory::playability::slide::{Onset, Slide, SlideObstacle, glissando, line};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "moves and glissandi that a trombone's slide does not make",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        if player.instrument.slide_positions.is_empty() {
            continue;
        }
        let strokes = player.strokes(context);
        let mut remarks: Vec<Remark<'_>> = runs(strokes, |_, _| true)
            .filter(|run| run.len() > 1)
            .filter_map(|run| far(context, player, run))
            .collect();
        remarks.extend(
            strokes
                .windows(2)
                .filter(|pair| follows(&pair[0], &pair[1]))
                .filter(|pair| pair[0].slides)
                .filter_map(|pair| slid(context, player, pair)),
        );
        remarks.sort_by_key(|remark| (remark.voice, remark.note.event));
        tell(context, "slide", remarks, findings);
    }
}

/// The furthest move of a line.
fn far<'a>(context: &Context<'a>, player: &Player<'_>, run: &[Stroke]) -> Option<Remark<'a>> {
    let clock = context.idiom().clock(context.tune);
    let attachment = player.level != Level::School;
    let judge = |reading: Reading| {
        let onset = |stroke: &Stroke| {
            let seconds = clock.between(run[0].onset, stroke.onset)?.most;
            Some(Onset { sounding: sounding(context, stroke, reading).pop()?, seconds })
        };
        let onsets: Option<Vec<Onset>> = run.iter().map(onset).collect();
        line(player.instrument, &onsets?, attachment, &context.idiom().figures)
    };
    let verdict = |found: &Option<Slide>| found.as_ref().map_or(Verdict::Easy, |s| s.verdict);
    let found = player.kindest(context, judge, verdict)?;
    let SlideObstacle::Jump { note, positions } = found.obstacle? else { return None };
    let stroke = run.get(note)?;
    let at = found.positions.get(note)?;
    let first = stroke.typed(context.tune).first()?;
    let message = format!(
        "To {} in position {at} the slide moves {positions} positions at this speed.",
        first.written.name.words()
    );
    let again = "As far".to_owned();
    Some(Remark { again, ..Remark::new(stroke.voice, first, found.verdict, message) })
}

fn slid<'a>(context: &Context<'a>, player: &Player<'_>, pair: &[Stroke]) -> Option<Remark<'a>> {
    let judge = |reading: Reading| {
        let [a, b] = [&pair[0], &pair[1]].map(|stroke| sounding(context, stroke, reading).pop());
        glissando(player.instrument, a?, b?)
    };
    let verdict = |found: &Option<Slide>| found.as_ref().map_or(Verdict::Easy, |s| s.verdict);
    let found = player.kindest(context, judge, verdict)?;
    let (from, to) = (pair[0].typed(context.tune).first()?, pair[1].typed(context.tune).first()?);
    let message = format!(
        "From {} to {} the trombone has no glissando: the two notes share no series of one position.",
        from.written.name.words(),
        to.written.name.words()
    );
    (found.verdict >= Verdict::Awkward).then(|| Remark {
        kind: 1,
        again: "Such a glissando".to_owned(),
        ..Remark::new(pair[0].voice, from, found.verdict, message)
    })
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    fn said(music: &str) -> Vec<String> {
        let head = "X:1\nM:2/4\nL:1/16\nQ:1/4=140\nK:C\n%%recte level 1 school\n";
        messages_of("slide", &format!("{head}V:1 name=Trombone clef=bass\n{music}\n"))
    }

    #[test]
    fn the_sentences() {
        let far = said("_B,,=B,,_B,,=B,, _B,,=B,,_B,,=B,,|");
        assert!(far[0].starts_with("To B in position 7 the slide moves 6 positions"), "{far:?}");
        let none = "From C to F sharp the trombone has no glissando: the two notes share no series of one position.";
        assert_eq!(said("\"^gliss.\"C4^F,4|"), [none]);
    }

    #[test]
    fn slowly_the_arm_has_time() {
        assert!(said("_B,,8|=B,,8|").is_empty());
    }
}
