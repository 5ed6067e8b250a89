//! # Beams that contradict the beat
//!
//! A beam says: this is one beat, or one half of the bar. Six eighths beamed by threes in 3/4 look like 6/8, beamed
//! by twos in 6/8 they look like 3/4, and a beam over the middle of 4/4 hides the third beat.
//!
//! A new beam begins with each beat. All eighths of 2/4, 3/4 and 3/8 may share one, four eighths may fill each half
//! of 4/4, never over its middle; sixteenths and shorter keep to one beat. In unequal groups beams show the groups, and
//! may not contradict a signature that spells them out. Notes with words under them may keep their flags, syllable by
//! syllable.
//!
//! What to do: take the beams offered; in the text a beam is only a space left out. A piece that beams in its own
//! way all along is told so twice and then left alone.
//!
//! Source: Open University (OpenLearn), Introduction to music theory, 3.6 (beaming); abc standard v2.1, 4.7 (beams);
//! unequal groups: Integrated Music Theory, asymmetric metres; words: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:3/4
//! L:1/8
//! K:C
//! CDE FGA|B6|]
//! ```
//! ```abc fixed
//! X:1
//! M:3/4
//! L:1/8
//! K:C
//! CD EF GA|B6|]
//! ```
//!
//! Over the middle:
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C2 DEFG A2|c8|]
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! C2 DE FG A2|c8|]
//! ```
//!
//! Well beamed:
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/8
//! K:C
//! CDEF GA Bc|c/B/A/G/ FE DEFG|C8|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::metre::{at_signs, line_name, without_habits};
use crate::rule::{Family, Rule};
use recte_notation::write::rhythm::{
    Row, Style, across, can_join, hidden, joint_edit, wanted_beams,
};
use recte_score::Voice;
use recte_theory::metre::{Beats, Ticks};
use std::collections::BTreeSet;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Warning,
    summary: "beams that contradict the beat",
    check,
};

/// What is alike about two remarks.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Way {
    /// A beam over this line, of eighths or of shorter values.
    Over(Ticks, bool),
    /// Beams that make groups of their own.
    Felt,
    /// Beams that break inside a beat.
    Breaks,
    /// Flags that are not joined at all.
    Flags,
}

/// So many beams over a beat, and no space yet between two notes that could share a beam: beams mean nothing.
const UNSPACED: usize = 2;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let mut remarks = Vec::new();
    let (mut parted, mut together) = (0, 0);
    // By voice, beams over a beat and beams that end at one, so far: who never leaves a space types for the ear.
    let mut so_far = vec![(0, 0); context.tune.voices.len()];
    for (row, beats) in context.counted().rows() {
        let voice = &context.tune.voices[row.voice];
        let (over_before, parted_before) = so_far[row.voice];
        let mut spaced = false;
        for pair in row.signs.windows(2).filter(|pair| pair[0].flagged && pair[1].flagged) {
            match (beats.is_line(pair[1].start), pair[1].joined) {
                (true, false) => parted += 1,
                (false, true) => together += 1,
                _ => {}
            }
            let own = &mut so_far[row.voice];
            *(if pair[1].joined { &mut own.0 } else { &mut own.1 }) +=
                usize::from(!pair[1].joined || beats.is_line(pair[1].start));
            spaced |= !pair[1].joined;
        }
        if !spaced && parted_before == 0 && over_before >= UNSPACED {
            continue;
        }
        let mut differs = differing(row, &wanted(context, voice, row, beats, Style::default()));
        if differs.is_empty() || context.is_felt_otherwise(row.bar) {
            continue;
        }
        // Where values hide the beat, they are told of, and their mending beams them anew.
        let hiding = hiding(row, beats);
        differs.retain(|&at| !hiding.contains(&beats.beam_of(row.signs[at].start)));
        if differs.is_empty() {
            continue;
        }
        let style = context.counted().style_without(row, beats);
        let (way, finding) = remark(context, voice, row, beats, &differs, style);
        remarks.push(((way, row.metre), finding));
    }
    // A voice without a single space between such notes is typed for the ear, and is not mended here and there.
    for ((way, _), finding) in &mut remarks {
        let typed = finding.voice.map_or((0, 0), |voice| so_far[voice as usize]);
        if matches!(way, Way::Over(..)) && typed.1 == 0 && typed.0 > 2 * UNSPACED {
            finding.severity = Severity::Hint;
            finding.fixes.clear();
        }
    }
    // Who runs over a line in more than one place of four has one way of doing it, whatever the line.
    let over = |(way, _): &(Way, u16)| matches!(way, Way::Over(..));
    let bars: BTreeSet<_> =
        remarks.iter().filter(|(kind, _)| over(kind)).map(|(_, finding)| finding.bar).collect();
    if bars.len() * 3 > parted {
        for (kind, _) in remarks.iter_mut().filter(|(kind, _)| over(kind)) {
            kind.0 = Way::Over(0, false);
        }
    }
    findings.extend(without_habits(remarks, |(way, _)| match way {
        Way::Over(..) => parted,
        Way::Felt => together,
        // A phrase may end there.
        Way::Breaks | Way::Flags => 0,
    }));
}

fn wanted(
    context: &Context<'_>,
    voice: &Voice,
    row: &Row,
    beats: &Beats,
    style: Style,
) -> Vec<bool> {
    let sung = !voice.lyrics.is_empty();
    wanted_beams(row, beats, style, |at| !sung && can_join(&context.block.text, voice, row, at))
}

/// The spans of beams in which a value or a tuplet hides a line.
fn hiding(row: &Row, beats: &Beats) -> BTreeSet<usize> {
    let tuplets = across(row, beats).into_iter().flat_map(|one| one.signs);
    let signs = hidden(row, beats).into_iter().chain(tuplets).map(|place| &row.signs[place]);
    signs.flat_map(|sign| beats.beam_of(sign.start)..=beats.beam_of(sign.end - 1)).collect()
}

/// The signs whose beam to the one before differs from what a copyist would write.
fn differing(row: &Row, wanted: &[bool]) -> Vec<usize> {
    let now = |at: usize| {
        let pair = at > 0 && row.signs[at - 1].flagged && row.signs[at].flagged;
        pair && row.signs[at].joined
    };
    (1..row.signs.len()).filter(|&at| now(at) != wanted[at]).collect()
}

fn remark(
    context: &Context<'_>,
    voice: &Voice,
    row: &Row,
    beats: &Beats,
    differs: &[usize],
    style: Style,
) -> (Way, Finding) {
    let joined = |at: usize| row.signs.get(at).is_some_and(|sign| sign.joined && sign.flagged);
    let over = differs.iter().copied().find(|&at| joined(at));
    let broken = differs.iter().copied().find(|&at| joined(at - 1) || joined(at + 1));
    let at = over.or(broken).unwrap_or(differs[0]);
    let words = context.config.words;
    let line = line_name(beats, row.signs[at].start);
    let shortest = differs.iter().any(|&at| row.signs[at].short);
    let values = words.plural(if shortest { 16 } else { 8 });
    let (way, message) = if over.is_some() {
        let way = Way::Over(row.signs[at].start, shortest);
        (way, format!("This beam runs over {line}; a new one there would show it."))
    } else if broken.is_some() {
        let message = format!("This beam breaks at {line}; one for the whole beat would show it.");
        (Way::Breaks, message)
    } else {
        (Way::Flags, format!("The {values} of one beat stand apart; a beam would show the beat."))
    };
    let (way, message) = match felt(context, row, beats) {
        Some(message) if matches!(way, Way::Over(..)) => (way, message),
        Some(message) => (Way::Felt, message),
        None => (way, message),
    };
    let mut finding = at_signs(context, row, at - 1, at, message);
    finding.severity = if way == Way::Flags { Severity::Hint } else { Severity::Info };
    let wanted = wanted(context, voice, row, beats, style);
    let mut now = differing(row, &wanted);
    let hiding = hiding(row, beats);
    now.retain(|&at| !hiding.contains(&beats.beam_of(row.signs[at].start)));
    let edits: Option<Vec<_>> =
        now.iter().map(|&at| joint_edit(&context.block.text, voice, row, at, wanted[at])).collect();
    if let Some(edits) = edits {
        let fix = context.fix("Beam by the beat".to_owned(), edits);
        finding.fixes.push(Fix { preferred: way != Way::Flags, ..fix });
    }
    (way, finding)
}

/// What the beams of a bar of equal notes are felt as, where they make groups of their own.
fn felt(context: &Context<'_>, row: &Row, beats: &Beats) -> Option<String> {
    let first = row.signs.first()?;
    let value = first.end - first.start;
    let equal = row
        .signs
        .iter()
        .all(|sign| sign.flagged && sign.tuplet.is_none() && sign.end - sign.start == value);
    let heard: Vec<usize> = row.signs.chunk_by(|_, b| b.joined).map(<[_]>::len).collect();
    let groups = beats.groups().iter().map(|group| (group.end - group.start, value));
    let promised: Option<Vec<i64>> =
        groups.map(|(length, value)| (length % value == 0).then_some(length / value)).collect();
    let promised = promised?;
    let groups: Vec<i64> = heard.iter().map(|&count| count as i64).collect();
    let own = row.full && equal && heard.len() > 1 && groups != promised;
    if !own || heard.contains(&1) || promised.contains(&1) {
        return None;
    }
    let sum = |counts: Vec<String>| counts.join("+");
    let heard = sum(heard.iter().map(usize::to_string).collect());
    let promised = sum(promised.iter().map(i64::to_string).collect());
    let metre = &context.tune.metres[row.metre as usize];
    let metre = metre.numbers().map_or_else(|| metre.to_string(), |(n, d)| format!("{n}/{d}"));
    Some(format!("These beams are felt as {heard}; {metre} promises {promised}."))
}

#[cfg(test)]
#[path = "../rule_tests/beam_grouping.rs"]
mod tests;
