//! # A value that hides the beat
//!
//! Players read at sight by the look of the beat: an onset, or a tie that stands where one would be. A value that
//! begins off the beat and runs over a stronger line hides it, and whoever counts loses the place. Two tied values
//! sound the same and show it.
//!
//! A note may not cross a line stronger than the place where it begins: in 4/4 the middle of the bar most of all.
//! In compound time a value longer than a beat fills whole beats, and in unequal groups it ends where groups meet.
//! Left alone are the syncopations that everybody reads: short-long-short within a bar, half a bar or a beat, short-long
//! there, a quarter and a dotted half in 4/4, short-long-short once over two beats of three.
//!
//! The other way round, a tie between two values that one would hold, from a beat on and over no line it would
//! hide, shows nothing; that is only a hint.
//!
//! A length that no single note has, five eighths say, is written with a tie as well.
//!
//! What to do: take the values offered. Nothing that sounds is changed. A piece that does one thing all along has
//! its own way, and after the first two times nothing is said.
//!
//! Source: Open Music Theory, "Syncopation" and "Meter" (ties make beats visible);
//! what is accepted, and which ties are needless: common practice, no
//! source.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C D2 E2 F2 G|c8|]
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C D2 E- E F2 G|c8|]
//! ```
//!
//! In 6/8, and a tie for nothing:
//! ```abc flagged
//! X:1
//! M:6/8
//! L:1/8
//! K:C
//! C4 D2|E6|]
//! ```
//! ```abc fixed
//! X:1
//! M:6/8
//! L:1/8
//! K:C
//! C3- C D2|E6|]
//! ```
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C2- C2 D4|E8|]
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C4 D4|E8|]
//! ```
//!
//! Accepted:
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C D2 E F4|G2 A4 B2|c2 d6|e3 d c3 B|c8|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::metre::{at_signs, line_name, without_habits};
use crate::rule::{Family, Rule};
use crate::words::and_texts;
use recte_notation::write::rhythm::{Row, Sign, hidden, joined_edits, needless, shown_edits};
use recte_theory::Time;
use recte_theory::metre::{Beats, Ticks, is_one_value, time};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Warning,
    summary: "a value that hides the beat, or a tie that shows none",
    check,
};

/// A tie that shows a line weighs as much as so many beams or rests well written: there is much less need of one.
const SHOWN: usize = 7;

/// What is alike about two remarks: what is done, under which signature, and where in the bar.
#[derive(PartialEq, Eq, Hash)]
enum Way {
    Hides { metre: u16, line: Ticks, start: u8 },
    NoValue { metre: u16, length: Ticks },
    Ties { metre: u16 },
}

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let mut remarks = Vec::new();
    // Ties that show a line: how often the piece does what is asked for.
    let mut shown = 0;
    let counted = context.counted();
    for (row, beats) in counted.rows() {
        let mut hiding = hidden(row, beats);
        if !hiding.is_empty() && context.is_felt_otherwise(row.bar) {
            // In no metre is there one note for such a length.
            hiding.retain(|&place| has_no_value(&row.signs[place]));
        }
        if !hiding.is_empty() {
            remarks.push(hides(context, row, beats, &hiding));
        }
        shown += row.signs.windows(2).filter(|two| two[0].tied_out && two[1].tied_in).count();
        for run in needless(row, beats) {
            shown -= run.len() - 1;
            if !context.is_felt_otherwise(row.bar) {
                let way = Way::Ties { metre: row.metre };
                remarks.push((way, ties(context, row, run)));
            }
        }
    }
    findings.extend(without_habits(remarks, |way| match way {
        Way::Hides { .. } => shown * SHOWN,
        Way::Ties { .. } | Way::NoValue { .. } => 0,
    }));
}

fn has_no_value(sign: &Sign) -> bool {
    !is_one_value(sign.end - sign.start)
}

fn line_of(row: &Row, beats: &Beats, sign: &Sign) -> Option<Ticks> {
    beats.hidden(sign.start, sign.end, |at| row.begins(at))
}

fn hides(context: &Context<'_>, row: &Row, beats: &Beats, hiding: &[usize]) -> (Way, Finding) {
    let signs = || hiding.iter().map(|&place| &row.signs[place]);
    let mut names: Vec<String> = Vec::new();
    for line in signs().flat_map(|sign| cuts(row, beats, sign)) {
        let name = line_name(beats, line);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let no_value = signs().all(has_no_value);
    let ties = if names.len() == 1 { "a tie" } else { "ties" };
    let lines = and_texts(&names);
    let message = match (hiding, signs().next()) {
        (_, Some(sign)) if no_value => {
            let length = length(sign);
            format!(
                "No single note lasts {length} of a whole note; {ties} at {lines} would write it."
            )
        }
        ([_], Some(sign)) => {
            let value = context.config.words.value(length(sign));
            let value = value.unwrap_or_else(|| "note".to_owned());
            format!("This {value} runs over {lines}; {ties} there would show it.")
        }
        _ => format!("These notes run over {lines}; ties there would show it."),
    };
    let (first, last) = (hiding[0], hiding[hiding.len() - 1]);
    let mut finding = at_signs(context, row, first, last, message);
    finding.severity = Severity::Info;
    let voice = &context.tune.voices[row.voice];
    let text = &context.block.text;
    let style = context.counted().style_without(row, beats);
    if let Ok(edits) = shown_edits(text, voice, row, beats, hiding, style) {
        let title = match no_value {
            true => format!("Tie at {lines}"),
            false => format!("Show {lines} with {ties}"),
        };
        finding.fixes.push(Fix { preferred: true, ..context.fix(title, edits) });
    }
    let metre = row.metre;
    let sign = &row.signs[first];
    let way = match no_value {
        true => Way::NoValue { metre, length: sign.end - sign.start },
        false => {
            let line = signs().find_map(|sign| line_of(row, beats, sign)).unwrap_or_default();
            Way::Hides { metre, line, start: beats.weight(sign.start) }
        }
    };
    (way, finding)
}

/// The lines at which a note is to be tied.
fn cuts(row: &Row, beats: &Beats, sign: &Sign) -> Vec<Ticks> {
    let values = beats.shown(sign.start, sign.end, &|at| row.begins(at));
    let ends = values.iter().scan(sign.start, |at, value| {
        *at += value;
        Some(*at)
    });
    ends.filter(|at| *at < sign.end).collect()
}

fn length(sign: &Sign) -> Time {
    time(sign.end - sign.start)
}

fn ties(context: &Context<'_>, row: &Row, run: std::ops::Range<usize>) -> Finding {
    let (first, last) = (run.start, run.end - 1);
    let whole = time(row.signs[last].end - row.signs[first].start);
    let value = context.config.words.value(whole).unwrap_or_else(|| "note".to_owned());
    let message = format!("These tied notes are one {value}; the tie shows no beat.");
    let mut finding = at_signs(context, row, first, last, message);
    finding.severity = Severity::Hint;
    let voice = &context.tune.voices[row.voice];
    if let Ok(edits) = joined_edits(&context.block.text, voice, row, run) {
        finding.fixes.push(context.fix(format!("Write one {value}"), edits));
    }
    finding
}

#[cfg(test)]
#[path = "../rule_tests/beat_grouping.rs"]
mod tests;
