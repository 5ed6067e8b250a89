//! # Voices that part company
//!
//! Bar five of one voice and bar five of another are played together. A bar line forgotten or typed twice in
//! one voice moves all its later bars against the others, and the first rehearsal ends there.
//!
//! In measured music the bar with the wrong length is told of by bar-length. This rule says where voices differ
//! in the number of their bars, and from which bar on their lengths no longer agree; in free time, where
//! nothing else tells, also single bars of different lengths.
//!
//! What to do: look for the missing or doubled bar line at the bar named, or fill the silent bars with `Z`.
//!
//! Source: abc standard v2.1, section 7 (bar n of all voices coincides).
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! [V:1]CDEF|GABc|c4|]
//! [V:2]C4|G4|]
//! ```
//! ```abc flagged
//! X:1
//! M:none
//! L:1/4
//! K:C
//! [V:1]CDE|GABc|]
//! [V:2]C3|G3|]
//! ```
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! [V:1]CDEF|GABc|c4|
//! [V:2]C4|
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! [V:1]CDEF|GABc|c4|
//! [V:2]C4| Z2|
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! [V:1]CDEF|GABc|c4|]
//! [V:2]C4|Z2|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use crate::words;
use recte_notation::write::TextEdit;
use recte_score::{Span, Voice};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Info,
    summary: "voices whose bars no longer meet",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let voices = || context.voices().filter(|(_, voice)| !voice.bars.is_empty());
    // The fullest voice, the first of them, is what the others are held against.
    let longest = voices().map(|(_, voice)| voice.bars.len()).max().unwrap_or(0);
    let Some((_, model)) = voices().find(|(_, voice)| voice.bars.len() == longest) else { return };
    for (index, voice) in voices().filter(|(_, voice)| !std::ptr::eq(*voice, model)) {
        findings.extend(held_against(context, index, voice, model));
    }
}

fn held_against(
    context: &Context<'_>,
    index: usize,
    voice: &Voice,
    model: &Voice,
) -> Option<Finding> {
    let pairs = voice.bars.iter().zip(&model.bars);
    let differs = pairs.into_iter().position(|(own, other)| own.length != other.length);
    let (name, other) = (words::voice(voice), words::voice(model));
    let (bars, wanted) = (voice.bars.len(), model.bars.len());
    let free = |at: usize| context.tune.metre(&voice.bars[at]).is_free();
    let (at, message) = match (differs, bars == wanted) {
        (Some(at), true) if free(at) => {
            let number = context.tune.bar_number(at as u32);
            (at, format!("In bar {number} {name} and {other} have different lengths."))
        }
        (Some(at), false) => {
            let number = context.tune.bar_number(at as u32);
            (
                at,
                format!(
                    "{name} has {} and {other} {wanted}; they part company at bar {number}.",
                    count(bars)
                ),
            )
        }
        (None, false) => {
            (bars - 1, format!("{name} ends after {}; {other} has {wanted}.", count(bars)))
        }
        _ => return None,
    };
    let bar = Some(at as u32);
    let fixes = if differs.is_none() { silent_bars(context, voice, wanted) } else { None };
    let found = context.at(voice.bars[at].span, words::sentence(&message));
    let fixes = fixes.into_iter().collect();
    Some(Finding { voice: Some(index as u32), bar, to_bar: bar, fixes, ..found })
}

/// Rests for the bars that a voice lacks at its end, where its last bar is closed.
fn silent_bars(context: &Context<'_>, voice: &Voice, wanted: usize) -> Option<Fix> {
    let missing = wanted - voice.bars.len();
    let last = voice.bars.last()?;
    let line = last.line.filter(|line| context.block.text[line.range()] == *"|")?;
    if context.tune.metre(last).is_free() {
        return None;
    }
    let rests = if missing == 1 { "Z|".to_owned() } else { format!("Z{missing}|") };
    let end = Span { start: line.end, end: line.end };
    let edits = vec![TextEdit { span: end, text: format!(" {rests}") }];
    Some(context.fix(format!("Fill the silent bars: {rests}"), edits))
}

fn count(bars: usize) -> String {
    if bars == 1 { "1 bar".to_owned() } else { format!("{bars} bars") }
}
