//! # Too high for too long
//!
//! A voice has a range, and within it a part where it is at home. Above it a phrase is a climax; a page is a strain. Text on every note
//! where the voice changes register costs the vowels.
//!
//! Looked at are lines without a rest, at the quickest that the typed tempo may mean: eight seconds and more in which
//! every note lies above the home of the voice, and as long with a syllable on every note of the passage zone. Told of only where the
//! settings name the rule (`[rules] tessitura = "hint"`, or `recte check --rule tessitura`), and in the report.
//!
//! Singing high or loud for long can strain a voice, above all young or changing ones. Ask the singer or the teacher, or
//! give rests or a lower alternative; hoarseness is a matter for a laryngologist.
//!
//! What to do: rests, a lower octave or key, or the phrase in another voice.
//!
//! Source: the instrument table (`recte instruments NAME`); compasses checked against published pages on voice types; homes and zones from memory.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/2
//! Q:1/4=60
//! K:C
//! V:1 name="Choir soprano"
//! gg|gg|ga|gg|
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/2
//! Q:1/4=60
//! K:C
//! V:1 name="Choir soprano"
//! gg|ec|ga|gc|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::{about, runs, sounding};
use crate::idiom::{Player, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_theory::playability::Verdict;
use recte_theory::playability::tessitura::{Strain, Stretch, Sung, stretches};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Hint,
    summary: "a voice that stays high, or sings text on its change of register; told of where the settings ask",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if !context.asks_for("tessitura") {
        return;
    }
    for player in context.idiom().players.iter().filter(|p| p.instrument.tessitura.is_some()) {
        let strokes = player.strokes(context);
        let remarks = runs(strokes, |_, _| true).flat_map(|run| of_run(context, player, run));
        tell(context, "tessitura", remarks.collect(), findings);
    }
}

fn of_run<'a>(context: &Context<'a>, player: &Player<'_>, run: &[Stroke]) -> Vec<Remark<'a>> {
    let clock = context.idiom().clock(context.tune);
    let judge = |reading| {
        let sung = |stroke: &Stroke| {
            let seconds = clock.between(stroke.onset, stroke.end)?.least;
            let sounding = sounding(context, stroke, reading).pop()?;
            Some(Sung { sounding, seconds, syllable: stroke.syllable })
        };
        let line: Option<Vec<Sung>> = run.iter().map(sung).collect();
        stretches(player.instrument, &line.unwrap_or_default(), &context.idiom().figures)
    };
    let verdict =
        |found: &Vec<Stretch<'_>>| if found.is_empty() { Verdict::Easy } else { Verdict::Awkward };
    let found = player.kindest(context, judge, verdict);
    found.iter().filter_map(|stretch| remark(context, player, run, stretch)).collect()
}

fn remark<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    run: &[Stroke],
    stretch: &Stretch<'_>,
) -> Option<Remark<'a>> {
    let (first, last) = (run.get(stretch.notes[0])?, run.get(stretch.notes[1])?);
    let name = player.name();
    let bars = crate::words::bars(context.tune, (first.bar, last.bar));
    let long = about(stretch.seconds);
    let (kind, message) = match stretch.strain {
        Strain::High { above: top } => (
            0,
            format!(
                "The {name} stays above {} in {bars}, for {long}: long for most singers, so ask the singer.",
                top.symbol()
            ),
        ),
        Strain::TextInPassage { .. } => (
            1,
            format!(
                "The {name} has a syllable on every note of its change of register in {bars}, for {long}."
            ),
        ),
    };
    let sung = run.get(stretch.notes[0]..=stretch.notes[1])?;
    let remark = Remark::over(context, sung, Verdict::Awkward, "So long", message)?;
    Some(Remark { kind, ..remark })
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    #[test]
    fn the_sentence() {
        let text = "X:1\nM:4/4\nL:1/2\nQ:1/4=60\nK:C\nV:1 name=\"Choir soprano\"\ngg|gg|ga|gg|\n";
        let said = messages_of("tessitura", text);
        let high = "in bars 1–4, for about 16 seconds: long for most singers, so ask the singer.";
        assert!(said.len() == 1 && said[0].ends_with(high), "{said:?}");
    }
}
