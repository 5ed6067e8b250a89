//! # Longer than a breath, longer than a bow
//!
//! Under one slur a wind player or singer has one breath, and a string player one bow. A loud breath is
//! half as long as a soft one, and low notes use more air.
//!
//! Looked at are single notes with their ties, and slurs, at the quickest that the typed tempo may mean; without a tempo nothing is said. Between notes
//! that no slur joins a player can breathe, so these are never added up. Where several play a part they breathe in turn,
//! and nothing is said. What no breath holds is told of; what few hold is a hint; a bow that will have to change is a hint from two bows and
//! a half on.
//!
//! Long breaths on loud or high notes are a strain: let the player, the singer or the teacher decide.
//!
//! What to do: a place to breathe, a shorter slur, or a second player who takes over on the last note.
//!
//! Source: published tips for orchestration that warn of fixed seconds; the seconds of the instrument table are from memory.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! Q:1/4=60
//! K:C
//! V:1 name="Flute"
//! !f!(C4|D4|E4|F4|G4|A4)|z4|
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! Q:1/4=60
//! K:C
//! V:1 name="Flute"
//! !mf!(c4|d4)|(e4|f4)|g2z2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::idiom::lines::{about, runs, tones};
use crate::idiom::{Player, Remark, Stroke, tell};
use crate::rule::{Family, Rule};
use crate::words::and_texts;
use recte_notation::write::TextEdit;
use recte_score::Span;
use recte_score::players::Players;
use recte_theory::Time;
use recte_theory::playability::Verdict;
use recte_theory::playability::breath::{Spent, bow, breath};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "a slur or a note that is longer than a breath or a bow",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for player in &context.idiom().players {
        let instrument = player.instrument;
        let breathes = instrument.breath_seconds.is_some();
        if !breathes && instrument.bow_seconds.is_none()
            || breathes && player.players != Players::One
        {
            continue;
        }
        let mut remarks = Vec::new();
        for slur in runs(player.strokes(context), |_, next| next.slurred && !next.breath) {
            if !slur[0].plucked && !slur[0].tremolo && !slur[0].trill {
                remarks.extend(remark(context, player, slur));
            }
        }
        tell(context, "breath", remarks, findings);
    }
}

fn remark<'a>(context: &Context<'a>, player: &Player<'_>, slur: &[Stroke]) -> Option<Remark<'a>> {
    let figures = &context.idiom().figures;
    let judge = |reading| {
        let tones = tones(context, slur, reading);
        let one = breath(player.instrument, player.level, &tones, figures);
        one.or_else(|| bow(player.instrument, &tones, figures)).map(|spent| (spent, tones))
    };
    let verdict =
        |found: &Option<(Spent, _)>| found.as_ref().map_or(Verdict::Easy, |f| f.0.verdict);
    let (spent, tones) = player.kindest(context, judge, verdict)?;
    if spent.verdict < Verdict::Awkward {
        return None;
    }
    let long = about(tones.iter().map(|tone| tone.seconds).sum());
    let what = if slur.len() == 1 { "This note" } else { "This slur" };
    let has = about(spent.seconds);
    let message = if player.instrument.breath_seconds.is_some() {
        format!("{what} lasts {long}; one breath of the {} lasts {has} here.", player.name())
    } else {
        format!("{what} lasts {long}; one bow lasts {has} here, and will change where it must.")
    };
    let fix = (spent.verdict >= Verdict::Hard).then(|| breathe(context, player, slur, spent.share));
    let fix = fix.flatten();
    let remark = Remark::over(context, slur, spent.verdict, "So long", message)?;
    Some(Remark { fixes: fix.into_iter().collect(), ..remark })
}

/// Signs to breathe at bar lines, as many as are needed and as evenly as they come, if the player breathes.
fn breathe(
    context: &Context<'_>,
    player: &Player<'_>,
    slur: &[Stroke],
    breaths: f64,
) -> Option<Fix> {
    player.instrument.breath_seconds?;
    let (first, last) = (slur.first()?, slur.last()?);
    let places = (breaths.ceil() as i64 - 1).max(1);
    let lines: Vec<&Stroke> = slur.iter().skip(1).filter(|s| begins_bar(context, s)).collect();
    let mut chosen: Vec<&Stroke> = Vec::new();
    for place in 1..=places {
        let share = Time::new(place, places + 1);
        let wanted = first.onset + (last.end - first.onset) * share;
        let away = |stroke: &&&Stroke| {
            if stroke.onset > wanted { stroke.onset - wanted } else { wanted - stroke.onset }
        };
        let nearest = lines.iter().min_by_key(away)?;
        if !chosen.iter().any(|other| other.event == nearest.event) {
            chosen.push(nearest);
        }
    }
    if (chosen.len() as i64) < places {
        return None;
    }
    let voice = &context.tune.voices[first.voice];
    let mut edits = Vec::new();
    let mut bars = Vec::new();
    for after in chosen {
        let before = after.event.checked_sub(1)?;
        let place = voice.events.get(before as usize)?.full.start;
        let span = Span { start: place, end: place };
        edits.push(TextEdit { span, text: "!breath!".to_owned() });
        bars.push(context.tune.bar_number(after.bar).to_string());
    }
    let word = if bars.len() == 1 { "bar" } else { "bars" };
    let title = format!("Breathe before {word} {} (changes how it is played)", and_texts(&bars));
    context.suggestion(title, edits)
}

fn begins_bar(context: &Context<'_>, stroke: &Stroke) -> bool {
    let bar = context.tune.bars.get(stroke.bar as usize);
    bar.is_some_and(|bar| bar.start == stroke.onset)
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::{findings_of, messages_of};

    fn said(voice: &str, music: &str) -> Vec<String> {
        let text = format!("X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\nV:1 name=\"{voice}\"\n{music}\n");
        messages_of("breath", &text)
    }

    #[test]
    fn the_sentences() {
        let note =
            "This note lasts about 20 seconds; one breath of the flute lasts about 7 seconds here.";
        assert_eq!(said("Flute", "!f!C4-|C4-|C4-|C4-|C4|"), [note]);
        let slur = "This slur lasts about 12 seconds; one bow lasts about 4 seconds here, and will change where it must.";
        assert_eq!(said("Violin", "!f!(C4|D4|E4)|"), [slur]);
    }

    #[test]
    fn a_line_without_slurs_is_never_added_up() {
        assert!(said("Flute", "!f!C4|D4|E4|F4|G4|A4|").is_empty());
    }

    #[test]
    fn a_place_to_breathe() {
        let text = "X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\nV:1 name=Oboe\n!f!(c4|d4|e4|f4|g4|a4|g4|f4|e4|d4)|\n";
        let found = findings_of("breath", text);
        let fix = found.first().and_then(|finding| finding.fixes.first()).unwrap();
        assert_eq!(fix.title, "Breathe before bar 6 (changes how it is played)");
    }
}
