//! # A tuplet over the beat, or one that is hard to count
//!
//! Borrowed groups fill one beat, half a bar or a bar: then the player divides what he counts anyway. A triplet that
//! begins off the beat and runs over the next, or over the middle of the bar, leaves nothing to count by; two tuplets
//! tied where the beat falls sound the same.
//!
//! A ratio is read at once where so many notes stand in the time of fewer, and of more than half of them: three in the
//! time of two, five in the time of four. Five eighths in the time of two are five sixteenths in the time of
//! four. And a piece that writes two in the time of three as a duplet does best to do so everywhere, likewise with
//! dotted notes.
//!
//! What to do: take what is offered. Nothing that sounds is changed.
//!
//! Source: Open Music Theory, "Simple and compound beams" (borrowed divisions fill a beat); abc standard v2.1, 4.13
//! (tuplets); ratios: common practice, no source; tuplets over the middle: from memory.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C2 (3D2E2F2 G2|c8|]
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C2 (3:2:2D2E- (3:2:2EF2 G2|c8|]
//! ```
//!
//! A rare ratio:
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! (5:2:5CDEFG A2 B4|c8|]
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! (5:4:5C/D/E/F/G/ A2 B4|c8|]
//! ```
//!
//! Well grouped:
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! (3CDE (3FGA (3B2c2d2|C8|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::metre::{at_signs, line_name, without_habits};
use crate::rule::{Family, Rule};
use recte_notation::write::rhythm::{Kind, Row, across, duplet_edits, ratio_edits, split_edits};
use recte_theory::metre::Ticks;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Warning,
    summary: "a tuplet over the beat, or in a ratio that is hard to read",
    check,
};

/// What is alike about two remarks.
#[derive(PartialEq, Eq, Hash)]
enum Way {
    Over(u16, Ticks),
    Ratio(u32, u32),
    Duplets(bool),
}

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let mut remarks = Vec::new();
    let mut whole = 0;
    for (row, beats) in context.counted().rows() {
        if row.signs.iter().all(|sign| sign.tuplet.is_none()) || context.is_felt_otherwise(row.bar)
        {
            continue;
        }
        let voice = &context.tune.voices[row.voice];
        let text = &context.block.text;
        whole += row
            .signs
            .chunk_by(|a, b| a.tuplet == b.tuplet)
            .filter(|one| one[0].tuplet.is_some())
            .count();
        for one in across(row, beats) {
            let line = line_name(beats, one.line);
            let name = name(voice, row, one.signs.start);
            let message =
                format!("This {name} runs over {line}; two {name}s tied there would show it.");
            let mut finding = at_signs(context, row, one.signs.start, one.signs.end - 1, message);
            finding.severity = Severity::Info;
            if let Ok(edits) = split_edits(text, voice, row, beats, &one) {
                let fix = context.fix(format!("Show {line} with a tie"), edits);
                // Of a tuplet of one note nobody sees what it divides.
                let signs = &row.signs[one.signs.clone()];
                let before = signs.iter().filter(|sign| sign.start < one.line).count();
                let after = signs.iter().filter(|sign| sign.end > one.line).count();
                finding.fixes.push(Fix { preferred: before > 1 && after > 1, ..fix });
            }
            remarks.push((Way::Over(row.metre, one.line), finding));
        }
        remarks.extend(ratios(context, row));
    }
    remarks.extend(duplets(context));
    findings.extend(without_habits(
        remarks,
        |way| if matches!(way, Way::Over(..)) { whole } else { 0 },
    ));
}

fn name(voice: &recte_score::Voice, row: &Row, at: usize) -> &'static str {
    let tuplet = row.signs[at].tuplet.and_then(|tuplet| voice.tuplets.get(tuplet as usize));
    crate::words::tuplet(tuplet.map_or(0, |tuplet| tuplet.actual))
}

/// Ratios that other values would make the usual ones.
fn ratios(context: &Context<'_>, row: &Row) -> Vec<(Way, Finding)> {
    let voice = &context.tune.voices[row.voice];
    let mut found = Vec::new();
    let mut first = 0;
    for group in row.signs.chunk_by(|a, b| a.tuplet == b.tuplet) {
        let signs = first..first + group.len();
        first = signs.end;
        let Some(tuplet) = group[0].tuplet.and_then(|at| voice.tuplets.get(at as usize)) else {
            continue;
        };
        let Some((factor, normal)) = usual(tuplet.actual, tuplet.normal) else { continue };
        let name = name(voice, row, signs.start);
        let message = format!(
            "{} in the time of {} is rare; {} in the time of {normal} would be read at once.",
            tuplet.actual, tuplet.normal, tuplet.actual
        );
        let mut finding = at_signs(context, row, signs.start, signs.end - 1, message);
        finding.severity = Severity::Hint;
        let edits = ratio_edits(&context.block.text, voice, row, &signs, factor, normal);
        if let Ok(edits) = edits {
            let title = format!("Write the {name} as {}:{normal}", tuplet.actual);
            finding.fixes.push(context.fix(title, edits));
        }
        found.push((Way::Ratio(tuplet.actual, tuplet.normal), finding));
    }
    found
}

/// By what the lengths of a tuplet are to be multiplied (a power of two, as above and below), and the time it is then in.
fn usual(actual: u32, normal: u32) -> Option<((i64, i64), u32)> {
    // Two in the time of three and four in the time of three are the usual ones of compound time.
    if actual < 2 || normal == 0 || actual == normal || matches!((actual, normal), (2, 3) | (4, 3))
    {
        return None;
    }
    let (mut above, mut below, mut time) = (1_i64, 1_i64, normal);
    while time * 2 < actual {
        (below, time) = (below * 2, time * 2);
    }
    while time > actual && time % 2 == 0 {
        (above, time) = (above * 2, time / 2);
    }
    let changed = time != normal && time < actual && actual < 2 * time;
    changed.then_some(((above, below), time))
}

/// Two in the time of three, once as a duplet and once as dotted notes: as the piece did it first.
fn duplets(context: &Context<'_>) -> Vec<(Way, Finding)> {
    let mut pairs = Vec::new();
    for (row, beats) in context.counted().rows().filter(|(_, beats)| beats.is_compound()) {
        for at in 1..row.signs.len() {
            let [first, second] = [&row.signs[at - 1], &row.signs[at]];
            let beat = beats.groups().iter().any(|g| (g.start, g.end) == (first.start, second.end));
            let halves = beat && first.end - first.start == second.end - second.start;
            let notes = first.kind == Kind::Note && second.kind == Kind::Note;
            let same = first.tuplet == second.tuplet;
            if halves && notes && same && !first.broken && !second.broken {
                pairs.push((row, at - 1, first.tuplet.is_none()));
            }
        }
    }
    let event =
        |row: &Row, at: usize| &context.tune.voices[row.voice].events[row.signs[at].event as usize];
    pairs.sort_by_key(|(row, at, _)| event(row, *at).span);
    let Some(&(_, _, dotted_first)) = pairs.first() else { return Vec::new() };
    let others = pairs.into_iter().filter(|(_, _, dotted)| *dotted != dotted_first);
    let remark = |(row, at, dotted): (&Row, usize, bool)| {
        let message = if dotted {
            "These dotted notes are a duplet, as this piece writes it before."
        } else {
            "This duplet is two dotted notes, as this piece writes them before."
        };
        let mut finding = at_signs(context, row, at, at + 1, message.to_owned());
        finding.severity = Severity::Hint;
        let voice = &context.tune.voices[row.voice];
        if let Ok(edits) = duplet_edits(&context.block.text, voice, row, at, dotted) {
            let title = if dotted { "Write a duplet" } else { "Write dotted notes" };
            finding.fixes.push(context.fix(title.to_owned(), edits));
        }
        (Way::Duplets(dotted), finding)
    };
    others.map(remark).collect()
}

#[cfg(test)]
#[path = "../rule_tests/tuplet_grouping.rs"]
mod tests;
