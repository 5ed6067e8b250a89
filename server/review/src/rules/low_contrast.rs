//! # Sections that hardly differ
//!
//! Where a part or a section has a name of its own, a listener expects to hear that something new begins. If register, span,
//! density, loudness and colour all stay as they were, only the name changes.
//!
//! Two sections that follow each other are compared term by term: register, span, density, dynamic, number of parts, pitch
//! classes, consonance, and which parts play. A term of 1 is a clear difference (six semitones of register, twice as many
//! onsets, two steps of loudness …). It is told of where their mean is below 0.5 (`contrast = 50` under `[texture]` in the
//! settings) and no more than one term is above 1. Only sections that the composer names (`P:`, or a title in the tune) and
//! that have at least four bars are asked. Nothing is said of dances, songs in verses, chorales, hymns and variations, nor of
//! a single voice.
//!
//! What to do: nothing, if they are meant as one. Else change what stays most alike: another octave, fewer parts, a new
//! dynamic, longer notes.
//!
//! Source: common practice, no source; terms and limits from memory.
//!
//! ```abc flagged
//! X:1
//! M:2/4
//! L:1/8
//! K:C
//! V:1 name="Oboe"
//! V:2 name="Bassoon" clef=bass
//! P:A
//! [V:1] c2 e2|d2 f2|e2 g2|d4|
//! [V:2] C,2 C2|B,2 G,2|C2 E2|G,4|
//! P:B
//! [V:1] e2 c2|f2 d2|g2 e2|c4|
//! [V:2] C2 E2|G,2 B,2|E2 C2|C,4|
//! ```
//! ```abc quiet
//! X:1
//! M:2/4
//! L:1/8
//! K:C
//! V:1 name="Oboe"
//! V:2 name="Bassoon" clef=bass
//! P:A
//! [V:1] !p!c2 e2|d2 f2|e2 g2|d4|
//! [V:2] C,2 C2|B,2 G,2|C2 E2|G,4|
//! P:B
//! [V:1] !ff!e/f/g/a/ b/a/g/f/|g/a/b/c'/ d'/c'/b/a/|e/f/g/a/ b/a/g/f/|c'4|
//! [V:2] z4|z4|z4|C,4|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::texture::is_of_one_mood;
use crate::words::bars;
use recte_score::Span;
use recte_score::texture::sections::Source;
use recte_score::texture::{Compared, Section};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Texture,
    severity: Severity::Hint,
    summary: "named sections that follow each other and hardly differ",
    check,
};

/// Shorter sections, in bars, are asked nothing.
const SHORTEST: u32 = 4;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    if context.tune.sections.len() < 2 || is_of_one_mood(context) || varies(context) {
        return;
    }
    let analysis = context.texture();
    let sections = analysis.sections();
    for pair in analysis.contrasts() {
        findings.extend(finding(context, &sections[pair.a], &sections[pair.b], &pair));
    }
}

/// Whether the piece is a set of variations.
fn varies(context: &Context<'_>) -> bool {
    let tune = context.tune;
    let labels = tune.sections.iter().map(|section| &section.label);
    tune.titles.iter().chain(labels).any(|text| text.to_lowercase().contains("variation"))
}

fn finding(context: &Context<'_>, a: &Section, b: &Section, pair: &Compared) -> Option<Finding> {
    let (first, second) = (a.label.as_ref()?, b.label.as_ref()?);
    let limit = f64::from(context.config.texture.contrast) / 100.0;
    let clear = pair.contrast.terms.iter().filter(|(_, value)| *value > 1.0).count();
    let asked = a.source == Source::Typed && a.bars().min(b.bars()) >= SHORTEST && first != second;
    if !asked || pair.contrast.total >= limit || clear > 1 || pair.contrast.terms.len() < 4 {
        return None;
    }
    let names = |terms: &[(recte_score::texture::Term, f64)]| {
        let names: Vec<String> = terms.iter().map(|(term, _)| term.name().to_owned()).collect();
        crate::words::and_texts(&names)
    };
    let terms = &pair.contrast.terms;
    let message = format!(
        "Sections {first} and {second}, {}, contrast little: {} stay most alike, {} differ most.",
        bars(context.tune, (a.from, b.to)),
        names(&terms[terms.len() - 2..]),
        names(&terms[..2]),
    );
    Some(Finding {
        bar: Some(b.from),
        to_bar: Some(b.from),
        ..context.at(mark(context, b)?, message)
    })
}

/// Where a section is named.
fn mark(context: &Context<'_>, section: &Section) -> Option<Span> {
    let marks = context.tune.sections.iter();
    marks.clone().find(|mark| mark.bar == section.from).map(|mark| mark.span)
}

#[cfg(test)]
#[path = "../rule_tests/low_contrast.rs"]
mod tests;
