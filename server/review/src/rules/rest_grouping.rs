//! # Rests that do not show the beat
//!
//! Rests are read like notes: by the beats they fill. A rest laid over a beat, a dotted rest where two plain ones
//! would show where the beat falls, or two rests where one stands for half a bar, make a player count twice.
//!
//! In simple time no rest of a beat or more is dotted, and a half rest stands on the first or third beat of 4/4 (on the
//! first of 3/4). In compound time a silent beat is one dotted rest; its first two thirds may be one rest, its last
//! two are separate. A silent bar takes the rest of a whole bar in every metre.
//!
//! What to do: take the rests offered; nothing that sounds is changed. A piece that writes its rests in its own way
//! all along is told so twice and then left alone.
//!
//! Source: lessons on rhythmic grouping of rests (half rests, dotted rests, whole-bar rests; "devsite13" in the
//! table of cases); compound time and what is accepted: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C2 z4 D2|E8|]
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C2 z2 z2 D2|E8|]
//! ```
//!
//! A silent bar:
//! ```abc flagged
//! X:1
//! M:3/4
//! L:1/8
//! K:C
//! z6|E6|]
//! ```
//! ```abc fixed
//! X:1
//! M:3/4
//! L:1/8
//! K:C
//! Z|E6|]
//! ```
//!
//! Well written:
//! ```abc quiet
//! X:1
//! M:6/8
//! L:1/8
//! K:C
//! C3 z3|z2 C C z z|Z|C6|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::metre::{at_signs, line_name, without_habits};
use crate::rule::{Family, Rule};
use crate::words::{and_texts, article};
use recte_notation::write::rhythm::{Kind, Row, rest_edits, silent_stretches};
use recte_theory::metre::{Beats, Ticks, time};
use std::ops::Range;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Warning,
    summary: "rests that do not show the beat",
    check,
};

/// What is alike about two remarks.
#[derive(PartialEq, Eq, Hash)]
enum Way {
    Silent(u16),
    Hides(u16, Ticks),
    Parts(u16, Ticks),
}

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let mut remarks = Vec::new();
    let mut well = 0;
    for (row, beats) in context.counted().rows() {
        well += row.signs.iter().filter(|sign| sign.kind == Kind::Rest).count();
        for stretch in silent_stretches(row, beats) {
            if !context.is_felt_otherwise(row.bar) {
                remarks.push(remark(context, row, beats, stretch));
            }
        }
    }
    findings.extend(without_habits(remarks, |_| well));
}

fn remark(
    context: &Context<'_>,
    row: &Row,
    beats: &Beats,
    stretch: Range<usize>,
) -> (Way, Finding) {
    let rests = &row.signs[stretch.clone()];
    let (start, end) = (rests[0].start, rests[rests.len() - 1].end);
    let silent = rests.len() == row.signs.len();
    let wrong = rests.iter().find(|rest| !beats.is_one_rest(rest.start, rest.end));
    let words = context.config.words;
    let named = |length: Ticks| words.rest(time(length)).unwrap_or_else(|| "rest".to_owned());
    let values = beats.rests(start, end);
    let better: Vec<String> = values.iter().map(|value| named(*value)).collect();
    let better =
        and_texts(&better.iter().map(|one| format!("{} {one}", article(one))).collect::<Vec<_>>());
    let (way, message) = match wrong {
        _ if silent => {
            let message = "This bar is silent; the rest of a whole bar says so at once.".to_owned();
            (Way::Silent(row.metre), message)
        }
        Some(rest) => {
            let own = named(rest.end - rest.start);
            let line = beats.inner_line(rest.start, rest.end);
            let message = match line {
                Some(line) => {
                    let line = line_name(beats, line);
                    format!("This {own} hides {line}; {better} would show it.")
                }
                None => format!("This {own} does not show the beat; {better} would."),
            };
            (Way::Hides(row.metre, rest.end - rest.start), message)
        }
        None => {
            let message =
                format!("These rests fill what one sign says; {better} would show the beat.");
            (Way::Parts(row.metre, end - start), message)
        }
    };
    let mut finding = at_signs(context, row, stretch.start, stretch.end - 1, message);
    finding.severity = if wrong.is_some() && !silent { Severity::Info } else { Severity::Hint };
    let voice = &context.tune.voices[row.voice];
    if let Ok(edits) = rest_edits(&context.block.text, voice, row, beats, &stretch) {
        let title = if silent {
            "Write the rest of a whole bar".to_owned()
        } else {
            format!("Write {better}")
        };
        finding
            .fixes
            .push(Fix { preferred: wrong.is_some() || silent, ..context.fix(title, edits) });
    }
    (way, finding)
}

#[cfg(test)]
#[path = "../rule_tests/rest_grouping.rs"]
mod tests;
