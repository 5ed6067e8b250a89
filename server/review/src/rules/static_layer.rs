//! # A figure that stays in one part
//!
//! A pattern of one or two bars that goes on beside the melody is heard for a while, and then no more: after some sixteen
//! bars in one part, or more than half a minute, it has become the room it stands in. Its player has no rest meanwhile. A wind
//! player or a singer needs to breathe, and repeated motion tires any hand: let the player, the teacher or, where something
//! hurts, a clinician decide how long is too long.
//!
//! It is told of where one part keeps a figure of at least three notes a bar beside a melody of another rhythm for more than
//! sixteen bars, or for more than forty seconds if it is longer than eight bars (`figure_bars` and `figure_seconds` under
//! `[texture]` in the settings). The same figure on other degrees is the same figure, and one bar of something else does not
//! end it. Keyboards, harps and guitars carry figures by trade and are given twice as long. Nothing is said of a piece for
//! one player or of one voice, of percussion, of notes that stay on one or two pitches (a drone, a pedal), of dances, songs in
//! verses, chorales and hymns, nor where a comment, the title or a text at the part says that it is meant: ostinato, ground,
//! drone, vamp, passacaglia, chaconne, sempre, simile.
//!
//! What to do: nothing, if that is the piece. Else pass the figure on every two or four bars, the next player beginning on the
//! last note of the one before; change its octave, thin it, or give it a new colour where a phrase begins. Where parts that
//! rest have its notes, one suggestion writes that out; it changes the music.
//!
//! Source: lengths from memory, a planning figure without a source; that winds need rests: Rimsky-Korsakov, *Principles of
//! Orchestration*, chapter I.
//!
//! ```abc flagged
//! X:1
//! M:2/4
//! L:1/8
//! Q:1/4=100
//! %%score 1 2 3
//! K:C
//! V:1 name="Flute"
//! V:2 name="Clarinet in B-flat"
//! V:3 name="Viola" clef=alto
//! [V:1] e2 g2|f3 d|e2 c2|d4|c2 e2|g3 f|e2 d2|c4|G2 c2|B3 d|c2 A2|G4|A2 c2|B3 A|G2 F2|E4|e2 g2|f3 d|e2 c2|d4|
//! [V:2] Z20|
//! [V:3] CGEG|DGFG|CGEG|B,GDG|CGEG|DGFG|CGEG|CGEG|CGEG|DGFG|CGEG|B,GDG|CGEG|DGFG|CGEG|CGEG|CGEG|DGFG|CGEG|B,GDG|
//! ```
//! ```abc quiet
//! X:1
//! M:2/4
//! L:1/8
//! Q:1/4=100
//! % the viola is a ground for the dance above it
//! K:C
//! V:1 name="Flute"
//! V:3 name="Viola" clef=alto
//! [V:1] e2 g2|f3 d|e2 c2|d4|c2 e2|g3 f|e2 d2|c4|G2 c2|B3 d|c2 A2|G4|A2 c2|B3 A|G2 F2|E4|e2 g2|f3 d|e2 c2|d4|
//! [V:3] CGEG|DGFG|CGEG|B,GDG|CGEG|DGFG|CGEG|CGEG|CGEG|DGFG|CGEG|B,GDG|CGEG|DGFG|CGEG|CGEG|CGEG|DGFG|CGEG|B,GDG|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Related, Severity};
use crate::rule::{Family, Rule};
use crate::texture::{Staying, passing, staying};
use crate::words::{and_texts, bars, sentence, voice};
use recte_score::Event;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Texture,
    severity: Severity::Hint,
    summary: "a figure beside the melody that stays in one part for long",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for one in staying(context) {
        findings.extend(finding(context, &one));
    }
}

fn finding(context: &Context<'_>, one: &Staying) -> Option<Finding> {
    let tune = context.tune;
    let first = one.runs.first()?;
    let at = event_in(context, first.part, first.from)?;
    let names: Vec<String> = one.runs.iter().map(|run| called(context, run.part)).collect();
    let keep = if names.len() == 1 { "keeps" } else { "keep" };
    let span = bars(tune, one.bars());
    let mut message =
        format!("{} {keep} one figure through {span}: {} bars", and_texts(&names), first.bars());
    if let Some(seconds) = one.seconds {
        let (least, most) = (seconds.least.round(), seconds.most.round());
        let about = if least == most { format!("{least}") } else { format!("{least}–{most}") };
        message.push_str(&format!(", {about} seconds at this tempo"));
    }
    let takers: Vec<String> = one.takers.iter().map(|taker| called(context, taker.part)).collect();
    if !takers.is_empty() {
        message.push_str(&format!("; {} could take it over for a while", and_texts(&takers)));
    }
    message.push('.');
    let mut finding = context.at_event(first.part as usize, at, sentence(&message));
    finding.to_bar = Some(first.to);
    for run in &one.runs[1..] {
        if let Some(at) = event_in(context, run.part, run.from) {
            let message = format!(
                "{} from bar {} on.",
                sentence(&called(context, run.part)),
                tune.bar_number(run.from)
            );
            finding.related.push(Related { span: at.span, message });
        }
    }
    finding.fixes.extend(passing(context, one));
    Some(finding)
}

/// The first event of a part in a bar that is a note.
fn event_in<'a>(context: &Context<'a>, part: u32, bar: u32) -> Option<&'a Event> {
    let voice = context.tune.voices.get(part as usize)?;
    voice.events_of(voice.bars.get(bar as usize)?).iter().find(|event| event.sounds())
}

fn called(context: &Context<'_>, part: u32) -> String {
    context.tune.voices.get(part as usize).map(voice).unwrap_or_default()
}

#[cfg(test)]
#[path = "../rule_tests/static_layer.rs"]
mod tests;
