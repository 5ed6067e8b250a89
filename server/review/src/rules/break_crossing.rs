//! # To and fro across the break
//!
//! Between the throat notes and the clarion register the clarinettist changes from few fingers to all of them; other instruments have
//! such places too. Once it is nothing. Quickly to and fro it is a stumble, and no trill.
//!
//! Looked at are notes that go over the break and back at six notes a second or more, at the slowest that the typed tempo
//! may mean; and trills that hardly exist (`!trill!` on the lowest notes of a saxophone), which are told of by what the fingers
//! do: impossible, or hard. The first is awkward and no more, and told of only where the settings name the rule.
//!
//! What to do: another instrument of the family, a step further up or down, or slower.
//!
//! Source: published lessons on the clarinet's break; tables of saxophone trills; the zones and pairs of the instrument table
//! (`recte instruments NAME`).
//!
//! ```abc flagged
//! X:1
//! M:2/4
//! L:1/16
//! Q:1/4=150
//! K:F
//! V:1 name="Clarinet in B-flat" transpose=-2
//! _B=B_B=B _B=B_B=B|
//! ```
//! ```abc quiet
//! X:1
//! M:2/4
//! L:1/16
//! Q:1/4=150
//! K:F
//! V:1 name="Clarinet in B-flat" transpose=-2
//! cdcd cdcd|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::idiom::lines::{runs, seconds, sounding};
use crate::idiom::{Player, Reading, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use recte_score::Note;
use recte_theory::playability::Verdict;
use recte_theory::playability::register::{alternation, trill};
use recte_theory::{Letter, Pitch, PitchName};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "trills and quick alternation where the fingering breaks",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let asked = context.asks_for("break-crossing");
    for player in &context.idiom().players {
        let mut remarks = Vec::new();
        if asked && !player.instrument.zones.is_empty() {
            let same = |a: &Stroke, b: &Stroke| a.end - a.onset == b.end - b.onset;
            let quick = runs(player.strokes(context), same).filter(|run| run.len() >= 3);
            remarks.extend(quick.filter_map(|run| crossing(context, player, run)));
        }
        if !player.instrument.bad_trills.is_empty() {
            let trilled = player.strokes(context).iter().filter(|stroke| stroke.trill);
            remarks.extend(trilled.filter_map(|stroke| bad_trill(context, player, stroke)));
        }
        tell(context, "break-crossing", remarks, findings);
    }
}

fn crossing<'a>(context: &Context<'a>, player: &Player<'_>, run: &[Stroke]) -> Option<Remark<'a>> {
    let rate = run.len() as f64 / seconds(context, run)?.most;
    let judge = |reading: Reading| {
        let top = |stroke: &Stroke| sounding(context, stroke, reading).pop();
        let line: Vec<Pitch> = run.iter().filter_map(top).collect();
        alternation(player.instrument, &line, rate, &context.idiom().figures)
    };
    let verdict = player.kindest(context, judge, |verdict| *verdict);
    let message = format!(
        "Here the {} goes quickly to and fro across its break; the fingers stumble.",
        player.name()
    );
    let told = verdict >= Verdict::Awkward;
    told.then(|| Remark::over(context, run, verdict, "So", message))?
}

/// A trill with the next note of the key above that the fingers do not have.
fn bad_trill<'a>(
    context: &Context<'a>,
    player: &Player<'_>,
    stroke: &Stroke,
) -> Option<Remark<'a>> {
    let note = stroke.typed(context.tune).first()?;
    let event = &context.tune.voices[stroke.voice].events[stroke.event as usize];
    let upper = above(note.written, |letter| context.tune.key(event).signature.alter(letter));
    let judge = |reading: Reading| {
        let other = Note { written: upper, pitch: moved(note, upper), ..*note };
        trill(player.instrument, [reading.sounding(note), reading.sounding(&other)])
    };
    let verdict = player.kindest(context, judge, |verdict| *verdict);
    let message = format!(
        "A trill from {} to {} {} on the {}.",
        note.written.name.words(),
        upper.name.words(),
        if verdict == Verdict::Impossible { "does not go" } else { "hardly goes" },
        player.name()
    );
    (verdict >= Verdict::Awkward).then(|| Remark {
        kind: 1,
        again: "Such a trill".to_owned(),
        ..Remark::new(stroke.voice, note, verdict, message)
    })
}

/// The next letter above, as the signature has it.
fn above(note: Pitch, alter: impl Fn(Letter) -> i8) -> Pitch {
    let letter = Letter::from_step(i32::from(note.name.letter.step()) + 1);
    let octave = note.octave + if letter == Letter::C { 1 } else { 0 };
    Pitch { name: PitchName { letter, alter: alter(letter) }, octave }
}

/// What sounds when the upper note is read as the lower one is.
fn moved(note: &Note, upper: Pitch) -> Pitch {
    let steps = note.pitch.steps() - note.written.steps();
    upper.transposed(steps, note.pitch.midi() - note.written.midi())
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::messages_of;

    #[test]
    fn the_sentences() {
        let head = "X:1\nM:2/4\nL:1/16\nQ:1/4=150\nK:F\n";
        let text =
            format!("{head}V:1 name=\"Clarinet in B-flat\" transpose=-2\n_B=B_B=B _B=B_B=B|\n");
        let crossing = "Here the clarinet in B-flat goes quickly to and fro across its break; the fingers stumble.";
        assert_eq!(messages_of("break-crossing", &text), [crossing]);
        let text = "X:1\nL:1/4\nK:C\nV:1 name=\"Alto saxophone\" transpose=-9\n!trill!_B,4|\n";
        let trill = "A trill from B flat to C hardly goes on the alto saxophone in E-flat.";
        assert!(messages_of("break-crossing", text).iter().all(|said| said == trill));
    }
}
