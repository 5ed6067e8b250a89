//! # Something is opened and not closed
//!
//! A chord, grace notes, a text, a field inside a line, a slur, a tuplet, a repeat, a hairpin or a long trill
//! that begins and does not end, or ends and did not begin. A repeat that is never closed and a hairpin
//! without an end are only hints: the standard says nothing of them. So is an open slur, until a final bar line
//! shows that no music follows.
//!
//! A player sees a slur that runs off the page, a hairpin to nowhere, or a bar too short for its tuplet.
//! Close it, or take away the half that stands alone.
//!
//! Source: abc standard v2.1, 4.8 (repeats), 4.11 (slurs), 4.12 (grace notes), 4.13 (tuplets), 4.14
//! (decorations), 4.17 (chords), 4.19 (text).
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! CDEF)|[CEG|
//! ```
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! |:C!<(!DEF|(CDEF|
//! ```
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C6 (3FG|]
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! |:(C!<(!D)E!<)!F|[CEG]2 {ga}"Am"c2:|(3CDE F2|
//! ```

use super::unreadable::{placed, speak};
use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use recte_notation::ProblemKind;
use recte_score::{Mark, MarkKind, Meaning, Tune, Voice};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Warning,
    summary: "a chord, slur, repeat or text that is opened and not closed",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let strict = context.tune.strict;
    let slur = if strict { Severity::Warning } else { Severity::Info };
    let open = if is_finished(context.tune) { slur } else { Severity::Hint };
    speak(context, findings, |kind| match kind {
        ProblemKind::Unclosed | ProblemKind::ShortTuplet => Some(Severity::Warning),
        ProblemKind::NotOpened => Some(slur),
        ProblemKind::OpenSlur => Some(open),
        _ => None,
    });
    for (index, voice) in context.voices() {
        repeats(context, index, voice, findings);
        hairpins(context, voice, findings);
    }
}

/// Whether every voice has come to the same end, and it is typed as one.
fn is_finished(tune: &Tune) -> bool {
    let voices = || tune.voices.iter().filter(|voice| !voice.bars.is_empty());
    let ends = |voice: &Voice| voice.bars.last().is_some_and(|bar| bar.section_ends);
    voices().all(|voice| voice.bars.len() == tune.bars.len()) && voices().any(ends)
}

/// Repeats that open and never close.
fn repeats(context: &Context<'_>, index: usize, voice: &Voice, findings: &mut Vec<Finding>) {
    let mut open: Option<usize> = None;
    let close = |bar: usize, findings: &mut Vec<Finding>| {
        let message = "This repeat is opened and never closed; a “:|” ends it.".to_owned();
        let span = voice.bars[bar].repeat_line.unwrap_or(voice.bars[bar].span);
        let bar = Some(bar as u32);
        let place = context.at(span, message);
        findings.push(Finding {
            severity: Severity::Hint,
            voice: Some(index as u32),
            bar,
            to_bar: bar,
            ..place
        });
    };
    for (number, bar) in voice.bars.iter().enumerate() {
        if bar.repeat_opens > 0
            && let Some(before) = open.replace(number)
        {
            close(before, findings);
        }
        if bar.repeat_closes > 0 {
            open = None;
        }
    }
    if let Some(last) = open {
        close(last, findings);
    }
}

/// Hairpins and long trills: each end needs its beginning, each beginning its end.
fn hairpins(context: &Context<'_>, voice: &Voice, findings: &mut Vec<Finding>) {
    let mut say = |mark: &Mark, message: String| {
        findings.push(Finding { severity: Severity::Hint, ..placed(context, mark.span, message) });
    };
    for begin in [Meaning::CrescendoStart, Meaning::DiminuendoStart, Meaning::TrillStart] {
        let mut open: Vec<&Mark> = Vec::new();
        // Words, such as “cresc.”, need no end.
        for mark in voice.marks.iter().filter(|mark| mark.kind == MarkKind::Decoration) {
            if mark.meaning == Some(begin) {
                open.push(mark);
            } else if mark.meaning.is_some() && mark.meaning == begin.end() && open.pop().is_none()
            {
                say(mark, format!("!{}! ends what was not begun.", mark.text));
            }
        }
        for mark in open {
            say(mark, format!("!{}! begins what does not end.", mark.text));
        }
    }
}

#[cfg(test)]
#[path = "../rule_tests/unclosed.rs"]
mod tests;
