//! How much is said of what lies badly.

use super::Stroke;
use crate::context::Context;
use crate::finding::{Finding, Fix, Related, Severity};
use recte_score::{Note, Span};
use recte_theory::playability::{Class, Verdict};
use std::collections::BTreeMap;

/// Something that lies badly, at a note.
pub(crate) struct Remark<'a> {
    pub(crate) voice: usize,
    pub(crate) note: &'a Note,
    /// The last event it is about, if it is about more than one.
    pub(crate) to: Option<u32>,
    pub(crate) verdict: Verdict,
    /// The whole sentence.
    pub(crate) message: String,
    /// What to call it where it comes again: "F sharp", "this stop".
    pub(crate) again: String,
    /// The whole sentence where it stands for all that follow.
    pub(crate) often: Option<String>,
    /// Remarks of different kinds are counted apart.
    pub(crate) kind: u8,
    pub(crate) fixes: Vec<Fix>,
}

impl<'a> Remark<'a> {
    /// A remark on one note.
    pub(crate) fn new(voice: usize, note: &'a Note, verdict: Verdict, message: String) -> Self {
        Remark {
            voice,
            note,
            to: None,
            verdict,
            message,
            again: note.written.name.words(),
            often: None,
            kind: 0,
            fixes: Vec::new(),
        }
    }

    /// A remark on a stretch of one line, at its first note; `again` says what to call another such.
    pub(crate) fn over(
        context: &Context<'a>,
        run: &[Stroke],
        verdict: Verdict,
        again: &str,
        message: String,
    ) -> Option<Self> {
        let (first, last) = (run.first()?, run.last()?);
        let note = first.typed(context.tune).first()?;
        let (to, again) = (Some(last.event), again.to_owned());
        Some(Remark { to, again, ..Remark::new(first.voice, note, verdict, message) })
    }
}

/// How loudly a verdict is told of: what cannot be done warns, what is hard hints, what is only awkward is for those who name
/// the rule in their settings.
fn severity(context: &Context<'_>, rule: &str, verdict: Verdict) -> Option<Severity> {
    match verdict.class() {
        Class::Impossible => Some(Severity::Warning),
        Class::Caution if verdict == Verdict::Hard => Some(Severity::Hint),
        Class::Caution => context.asks_for(rule).then_some(Severity::Hint),
        Class::Innocent => None,
    }
}

/// So many bars have a remark of their own in each part; the next stands for those that follow.
const MANY: usize = 3;

/// Tells of one player's remarks of one rule, in the order of their places: one a bar, and after some bars one for all that follow.
pub(crate) fn tell(
    context: &Context<'_>,
    rule: &str,
    remarks: Vec<Remark<'_>>,
    findings: &mut Vec<Finding>,
) {
    let mut all: BTreeMap<(u8, Severity), Told> = BTreeMap::new();
    for remark in remarks {
        let Some(severity) = severity(context, rule, remark.verdict) else { continue };
        let told = all.entry((remark.kind, severity)).or_default();
        let event = &context.tune.voices[remark.voice].events[remark.note.event as usize];
        let same_bar = told.bar == Some(event.bar);
        told.bar = Some(event.bar);
        if let Some(last) = told.last.filter(|_| same_bar || told.count > MANY) {
            let message = if same_bar {
                format!("{} too.", remark.again)
            } else {
                format!("{} in bar {} too.", remark.again, context.tune.bar_number(event.bar))
            };
            if let Some(finding) = findings.get_mut(last) {
                finding.related.push(Related { span: remark.note.span, message });
            }
            continue;
        }
        told.count += 1;
        told.last = Some(findings.len());
        let often = remark.often.clone().filter(|_| told.count > MANY);
        let mut finding = finding(context, remark, severity);
        finding.message = often.unwrap_or(finding.message);
        findings.push(finding);
    }
}

#[derive(Default)]
struct Told {
    count: usize,
    bar: Option<u32>,
    last: Option<usize>,
}

fn finding(context: &Context<'_>, remark: Remark<'_>, severity: Severity) -> Finding {
    let mut finding = context.at_note(remark.voice, remark.note, remark.message);
    finding.severity = severity;
    finding.fixes = remark.fixes;
    let voice = &context.tune.voices[remark.voice];
    if let Some(last) = remark.to.and_then(|to| voice.events.get(to as usize)) {
        finding.span = Span { end: last.span.end.max(finding.span.end), ..finding.span };
        finding.to_bar = Some(last.bar);
    }
    finding
}
