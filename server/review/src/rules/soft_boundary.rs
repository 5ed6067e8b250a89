//! # A joint that slides
//!
//! Two sections with names of their own may differ clearly and yet nobody hears where the second begins, because what changes
//! has changed by and by in the bars around the joint. A cut is heard where everything changes at one bar line.
//!
//! The bars around a joint are compared with each other. Where what is new shows in the two bars next to the line as much as
//! in the eight around it, it is a cut; where it shows less than half as much, the change is gradual. It is told of where two
//! named sections (`P:`, or a title in the tune) of at least four bars contrast clearly (1 or more, see `low-contrast`) and the
//! joint is gradual (`abruptness = 50` under `[texture]` in the settings), with no rest, long note, new key, metre or tempo
//! at the line, and no hairpin or word of transition (cresc., dim., rit., accel.) around it, which would say that it is meant.
//!
//! What to do: nothing, if the change is to come by and by. Else put what is new on the bar line: all at once the new register,
//! the new dynamic, or a breath before it.
//!
//! Source: the measure after J. Foote, "Automatic audio segmentation using a measure of audio novelty" (2000), from memory;
//! its limits are our own.
//!
//! ```abc flagged
//! X:1
//! M:2/4
//! L:1/8
//! K:C
//! V:1 name="Oboe"
//! V:2 name="Bassoon" clef=bass
//! P:A
//! [V:1] C4|C4|C4|C2 D2|C2 D2|D2 E2|E2 E2|E2 F2|
//! [V:2] C,4|C,4|C,4|C,4|C,2 D,2|C,4|D,2 C,2|E,2 D,2|
//! P:B
//! [V:1] F2 GF|GAGA|ABcB|cdcd|e/f/e/d/ efg|e/f/g/a/ g/f/e/f/|g/a/b/a/ g/a/b/c'/|b/c'/d'/c'/ b/c'/d'/c'/|
//! [V:2] E,2 D,2|F,2 E,2|G,2 F,2|A,2 G,2|B,2 C2|B,C DC|CD ED|DE FE|
//! ```
//! ```abc quiet
//! X:1
//! M:2/4
//! L:1/8
//! K:C
//! V:1 name="Oboe"
//! V:2 name="Bassoon" clef=bass
//! P:A
//! [V:1] C4|C4|C4|C2 D2|C2 D2|C2 D2|D2 C2|C4|
//! [V:2] C,4|C,4|C,4|C,4|C,2 D,2|C,4|D,2 C,2|C,4|
//! P:B
//! [V:1] e/f/e/d/ efg|e/f/g/a/ g/f/e/f/|g/a/b/a/ g/a/b/c'/|b/c'/d'/c'/ b/c'/d'/c'/|c'4|c'4|c'4|c'4|
//! [V:2] B,2 C2|B,C DC|CD ED|DE FE|E4|E4|E4|E4|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::texture::is_of_one_mood;
use recte_score::texture::sections::Source;
use recte_score::texture::{Boundary, Section};
use recte_score::{Meaning, Voice};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Texture,
    severity: Severity::Hint,
    summary: "a joint between clearly different named sections at which the change comes by and by",
    check,
};

/// Shorter sections, in bars, are asked nothing.
const SHORTEST: u32 = 4;
/// From here on sections contrast clearly.
const CLEAR: f64 = 1.0;
/// Words that say that a change is to come by and by (common practice, no source).
const BY_AND_BY: [&str; 7] = ["cresc", "dim", "decresc", "rit", "rall", "accel", "poco a poco"];
/// So many bars before a joint such a sign counts.
const AROUND: u32 = 4;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if context.tune.sections.len() < 2 || is_of_one_mood(context) {
        return;
    }
    let analysis = context.texture();
    let sections = analysis.sections();
    if sections.first().is_none_or(|first| first.source != Source::Typed) {
        return;
    }
    let joints = analysis.joints();
    for (pair, joint) in analysis.contrasts().iter().zip(&joints) {
        if pair.contrast.total >= CLEAR {
            findings.extend(finding(context, &sections[pair.a], &sections[pair.b], joint));
        }
    }
}

fn finding(context: &Context<'_>, a: &Section, b: &Section, joint: &Boundary) -> Option<Finding> {
    let limit = f64::from(context.config.texture.abruptness) / 100.0;
    let gradual = joint.abruptness.is_some_and(|abruptness| abruptness < limit);
    let told = joint.evidence;
    let shown = told.change > 0.0 || told.closure > 0.5 || told.wait >= 0.5 || told.fermata > 0.0;
    let long = a.bars().min(b.bars()) >= SHORTEST;
    if !gradual || shown || !long || a.label == b.label || is_prepared(context, b.from) {
        return None;
    }
    let label = b.label.as_ref()?;
    let bar = context.tune.bar_number(b.from);
    let message = format!(
        "Section {label} differs clearly from what comes before, but by bar {bar} most of the change has come by and by; \
         if it is to be heard at once, keep what is new for that bar line."
    );
    let mark = context.tune.sections.iter().find(|mark| mark.bar == b.from)?;
    Some(Finding { bar: Some(b.from), to_bar: Some(b.from), ..context.at(mark.span, message) })
}

/// Whether a hairpin, or a word, around a joint says that the change is to come by and by.
fn is_prepared(context: &Context<'_>, bar: u32) -> bool {
    let near = |own: u32| own + AROUND >= bar && own <= bar;
    let says = |text: &str| {
        let text = text.to_lowercase();
        BY_AND_BY.iter().any(|word| text.contains(word))
    };
    let signs = |voice: &Voice| {
        voice.marks.iter().any(|mark| {
            let here = voice.events.get(mark.event as usize).is_some_and(|event| near(event.bar));
            let hairpin =
                matches!(mark.meaning, Some(Meaning::CrescendoStart | Meaning::DiminuendoStart));
            here && (hairpin || says(&mark.text))
        })
    };
    let tempi = &context.tune.tempi;
    let slowing =
        |tempo: &recte_score::Tempo| near(tempo.bar) && tempo.text.as_deref().is_some_and(says);
    context.tune.voices.iter().any(signs) || tempi.iter().any(slowing)
}

#[cfg(test)]
#[path = "../rule_tests/soft_boundary.rs"]
mod tests;
