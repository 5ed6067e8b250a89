//! # A tuplet that does not come out
//!
//! A triplet holds three notes in the time of two, whatever their lengths: a quarter and an eighth fill it, four
//! eighths do not. Where the notes do not fill it, the bar goes on at a moment that no player can count.
//!
//! Tuplets of one kind in a row may share what they hold. What to do: mend a length, or the number of notes
//! (`(3::2` for two notes).
//!
//! Source: abc standard v2.1, 4.13 (tuplets); that a tuplet fills a plain value: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:2/4
//! L:1/8
//! K:C
//! (3CDE2 F2|G4|]
//! ```
//!
//! ```abc quiet
//! X:1
//! M:2/4
//! L:1/8
//! K:C
//! (3CDE (3:2:2F2G|(3:2:1C (3:2:2DE G2|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use recte_score::{Event, Voice};
use recte_theory::Time;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Warning,
    summary: "a tuplet whose notes do not fill it",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for (index, voice) in context.voices() {
        let events: Vec<&Event> = voice.events.iter().filter(|event| !event.grace).collect();
        let kind = |event: &Event| {
            let tuplet = voice.tuplets.get(event.tuplet? as usize)?;
            Some((tuplet.actual, tuplet.normal, event.layer))
        };
        let rows = events.chunk_by(|a, b| kind(a).is_some() && kind(a) == kind(b));
        findings.extend(rows.filter_map(|row| finding(context, index, voice, row)));
    }
}

/// Of tuplets of one kind in a row.
fn finding(context: &Context<'_>, index: usize, voice: &Voice, row: &[&Event]) -> Option<Finding> {
    let first = row.first()?;
    let tuplet = voice.tuplets.get(first.tuplet? as usize)?;
    let time: Time = row.iter().map(|event| event.duration).sum();
    if time.denominator().count_ones() == 1 {
        return None;
    }
    // The first of them that does not come out is named.
    let groups = row.chunk_by(|a, b| a.tuplet == b.tuplet);
    let total = |group: &[&Event]| group.iter().map(|event| event.duration).sum::<Time>();
    let wrong = groups.into_iter().find(|group| total(group).denominator().count_ones() != 1)?;
    let written = |event: &Event| {
        event.duration * Time::new(i64::from(tuplet.actual), i64::from(tuplet.normal.max(1)))
    };
    let shortest = wrong.iter().map(|event| written(event)).min()?;
    let held: Time = wrong.iter().map(|event| written(event)).sum();
    let count = held.count_of(shortest)?;
    let message = format!(
        "This {} holds {count} {}; {} go into the time of {}.",
        crate::words::tuplet(tuplet.actual),
        context.config.words.plural(shortest.denominator()),
        tuplet.actual,
        tuplet.normal
    );
    Some(Finding { span: wrong.first()?.full, ..context.at_event(index, wrong.first()?, message) })
}
