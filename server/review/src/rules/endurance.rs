//! # Too long without a rest
//!
//! Lips tire and breath grows stale. A wind player can go on for a minute or two, high up for a few seconds only;
//! strings and keyboards can go on for pages.
//!
//! Looked at are notes one after another without a rest, at the quickest that the typed tempo may mean. Where several play a
//! part they can take turns, and nothing is said; players of dance tunes leave notes out, and nothing is said either. Tremolo, for whatever
//! instrument, tires when it is loud and lasts half a minute. Told of only where the
//! settings name the rule (`[rules] endurance = "hint"`, or `recte check --rule endurance`), and in the report.
//!
//! Long loud or high playing tires the lip and the muscles of the face and can injure them: give rests or a cue in
//! another part, and leave the decision to the player or the teacher. Pain and numbness are matters for a doctor.
//!
//! What to do: a rest, an octave lower for a while, or a second player who takes over: where another player of the same
//! instrument rests, two bars for him are suggested.
//!
//! Source: published advice for oboists on rests; Rimsky-Korsakov, "Principles of Orchestration", ch. I; the seconds of the
//! instrument table are from memory.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/1
//! Q:1/4=40
//! K:C
//! V:1 name="Oboe"
//! c|d|e|f|g|f|e|d|c|d|e|f|g|f|e|d|c|d|e|f|
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/1
//! Q:1/4=40
//! K:C
//! V:1 name="Oboe"
//! c|d|e|f|g|f|e|z|c|d|e|f|g|f|e|d|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::{about, loudness, runs, seconds, tones};
use crate::idiom::{Player, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use crate::texture::relief;
use recte_score::players::Players;
use recte_theory::playability::Verdict;
use recte_theory::playability::breath::{Endurance, Tiring, endurance};
use recte_theory::playability::pace::tremolo;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Hint,
    summary: "lips and breath without a rest for long; told of where the settings ask",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if !context.asks_for("endurance") {
        return;
    }
    let danced = context.tune.texts.iter().any(|text| text.name == 'R');
    for player in &context.idiom().players {
        let trembling = runs(player.strokes(context), |a, b| a.tremolo && b.tremolo);
        let remarks = trembling.filter_map(|run| tremolo_remark(context, player, run));
        tell(context, "endurance", remarks.collect(), findings);
        let tires = player.instrument.rest_after_seconds.is_some();
        if !tires || danced || player.players != Players::One {
            continue;
        }
        let strokes = player.strokes(context);
        let remarks = runs(strokes, |_, _| true).filter_map(|run| remark(context, player, run));
        tell(context, "endurance", remarks.collect(), findings);
    }
}

/// Loud tremolo that goes on and on.
fn tremolo_remark<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    run: &[Stroke],
) -> Option<Remark<'a>> {
    let loud = run.chunk_by(|a, b| loudness(a).is_loud() == loudness(b).is_loud());
    let longest = loud.filter(|part| part[0].tremolo && loudness(&part[0]).is_loud());
    let figures = &context.idiom().figures;
    let lasts = |part: &[Stroke]| seconds(context, part).map_or(0.0, |seconds| seconds.least);
    let part = longest.max_by(|a, b| lasts(a).total_cmp(&lasts(b)))?;
    let verdict = tremolo(lasts(part), loudness(&part[0]), figures);
    let message = format!(
        "The {} has loud tremolo for {}; after {} arms want a rest; half of the players could take turns with the others.",
        player.name(),
        about(lasts(part)),
        about(figures.tremolo_seconds)
    );
    (verdict > Verdict::Easy).then(|| Remark::over(context, part, verdict, "So", message))?
}

fn remark<'a>(context: &Context<'a>, player: &Player<'_>, run: &[Stroke]) -> Option<Remark<'a>> {
    let judge = |reading| {
        let tones = tones(context, run, reading);
        (tones.len() == run.len()).then(|| endurance(player.instrument, player.level, &tones))?
    };
    let verdict = |found: &Option<Endurance>| found.map_or(Verdict::Easy, |_| Verdict::Awkward);
    let found = player.kindest(context, judge, verdict)?;
    let (first, last) = (run.get(found.notes[0])?, run.get(found.notes[1])?);
    let bars = crate::words::bars(context.tune, (first.bar, last.bar));
    let (name, long, rest) = (player.name(), about(found.seconds), about(found.rest_after));
    let message = match found.tiring {
        Tiring::Long => format!(
            "The {name} plays without a rest in {bars}, for {long}; after {rest} players want one."
        ),
        Tiring::High => format!(
            "The {name} stays high in {bars}, for {long}; after {rest} up there players want a rest."
        ),
    };
    let stretch = run.get(found.notes[0]..=found.notes[1])?;
    let fix = relief(context, player, (first.bar, last.bar), "endurance");
    let remark = Remark::over(context, stretch, Verdict::Awkward, "So long", message)?;
    Some(Remark { fixes: fix.into_iter().collect(), ..remark })
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::{findings_of, messages_of};

    #[test]
    fn the_sentence() {
        let music = "c|d|e|f|g|f|e|d|c|d|e|f|g|f|e|d|";
        let text = format!("X:1\nM:4/4\nL:1/1\nQ:1/4=40\nK:C\nV:1 name=Oboe\n{music}\n");
        let long = "The oboe plays without a rest in bars 1–16, for about 96 seconds; \
                    after about 90 seconds players want one.";
        assert_eq!(messages_of("endurance", &text), [long]);
    }

    #[test]
    fn the_second_player_takes_two_bars() {
        let text = "X:1\nM:4/4\nL:1/1\nQ:1/4=40\nK:C\nV:1 name=\"Oboe 1\"\nV:2 name=\"Oboe 2\"\n\
                    [V:1]c|d|e|f|g|f|e|d|c|d|e|f|g|f|e|d|\n[V:2]Z16|\n";
        let found = findings_of("endurance", text);
        assert_eq!(found[0].fixes[0].title, "Pass bars 8–9 to Oboe 2 (changes the music)");
        let alone = text.replace("Oboe 2", "Violin");
        assert!(findings_of("endurance", &alone)[0].fixes.is_empty());
    }

    #[test]
    fn loud_tremolo() {
        let text = |loud: &str| {
            format!(
                "X:1\nM:4/4\nL:1/1\nQ:1/4=40\nK:C\nV:1 name=Violins\n!{loud}!{}\n",
                "\"^trem.\"c|".repeat(6)
            )
        };
        let tires = "The violin has loud tremolo for about 36 seconds; \
                     after about 30 seconds arms want a rest; half of the players could take turns with the others.";
        assert_eq!(messages_of("endurance", &text("ff")), [tires]);
        assert!(messages_of("endurance", &text("pp")).is_empty());
    }

    #[test]
    fn dancers_leave_notes_out() {
        let music = "c|d|e|f|g|f|e|d|c|d|e|f|g|f|e|d|";
        let text = format!("X:1\nR:reel\nM:4/4\nL:1/1\nQ:1/4=40\nK:C\nV:1 name=Oboe\n{music}\n");
        assert!(messages_of("endurance", &text).is_empty());
    }
}
