//! Runs the rules over one block, and leaves out what the composer accepts.

use crate::around::Around;
use crate::config::Config;
use crate::context::Context;
use crate::finding::{Finding, Fix, FixKind, Severity};
use crate::players::is_harp;
use crate::proof::keep_proved;
use crate::rule::{Family, RULES, Rule, find_rule};
use recte_notation::write::TextEdit;
use recte_notation::{Block, BlockKind};
use recte_score::{Accept, Scope, Span};

/// What was found in one block.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Checked {
    /// The remarks that stand, in the order of their places.
    pub findings: Vec<Finding>,
    /// Rules of the file header's acceptances that were needed here.
    pub file_accepts_used: Vec<&'static str>,
}

/// Checks one block, by what stands around it in its file.
///
/// This is the one way to findings: the server and the command line both come through here.
pub fn check_block(block: &Block, config: &Config, around: &Around) -> Checked {
    let context = Context::new(block, config, around);
    let mut checked = stand(&context, |_| true);
    keep_proved(&context, &mut checked.findings);
    spare_harps(&context, &mut checked.findings);
    checked.findings.sort_by(|a, b| (a.span, a.rule).cmp(&(b.span, b.rule)));
    checked
}

/// How a harp is spelled its pedals decide: better names are offered there, and not taken unasked.
fn spare_harps(context: &Context<'_>, findings: &mut [Finding]) {
    let spelled = |finding: &&mut Finding| {
        find_rule(finding.rule).is_some_and(|rule| rule.family == Family::Spelling)
    };
    for finding in findings.iter_mut().filter(spelled) {
        let harp = |voice: u32| is_harp(context, voice as usize);
        if finding.voice.is_some_and(harp) {
            finding.fixes.iter_mut().for_each(|fix| fix.preferred = false);
        }
    }
}

/// What some of the rules remark, their fixes not yet proved.
pub(crate) fn stand(context: &Context<'_>, wanted: impl Fn(&Rule) -> bool) -> Checked {
    // The head of a file has no music, and is only read.
    let rules = RULES.iter().filter(|rule| match context.block.kind {
        BlockKind::Tune => true,
        BlockKind::FileHeader => rule.family == Family::Source,
        BlockKind::FreeText => false,
    });
    let mut all = Vec::new();
    for rule in rules.filter(|rule| wanted(rule)) {
        let severity = match context.config.rules.get(rule.id) {
            Some(setting) => setting.severity(),
            None => Some(rule.severity),
        };
        if let Some(severity) = severity {
            context.run(rule, severity, &mut all);
        }
    }
    leave_out_accepted(context, all)
}

fn leave_out_accepted(context: &Context<'_>, all: Vec<Finding>) -> Checked {
    // Those of the file's head are in `around`.
    let heads_file = context.block.kind == BlockKind::FileHeader;
    let accepts = if heads_file { &[][..] } else { &context.tune.accepts };
    let mut used = vec![Vec::new(); accepts.len()];
    let mut checked = Checked::default();
    for finding in all {
        let place = accepts.iter().position(|accept| covers(accept, &finding));
        if let Some(place) = place {
            used[place].push(finding.rule);
        } else if context.around.accepts.iter().any(|rule| rule == finding.rule) {
            checked.file_accepts_used.push(finding.rule);
        } else {
            checked.findings.push(finding);
        }
    }
    checked.file_accepts_used.sort_unstable();
    checked.file_accepts_used.dedup();
    for (accept, used) in accepts.iter().zip(&used) {
        checked.findings.extend(unused(context, accept, used));
    }
    checked
}

fn covers(accept: &Accept, finding: &Finding) -> bool {
    let here = match accept.scope {
        Scope::File | Scope::Tune => true,
        Scope::Bar(bar) => {
            let from = finding.bar.unwrap_or(u32::MAX);
            from <= bar && bar <= finding.to_bar.unwrap_or(from)
        }
    };
    here && accept.rules.iter().any(|rule| rule == finding.rule)
}

/// An acceptance that accepts nothing is itself a hint.
fn unused<'a>(
    context: &'a Context<'_>,
    accept: &'a Accept,
    used: &'a [&str],
) -> impl Iterator<Item = Finding> + 'a {
    accept.rules.iter().filter(|rule| !used.contains(&rule.as_str())).map(move |rule| {
        let message = unused_message(rule);
        let edits = vec![TextEdit { span: whole_line(context, accept.span), text: String::new() }];
        let fix = (accept.rules.len() == 1).then(|| Fix {
            title: "Remove this acceptance".to_owned(),
            preferred: false,
            kind: FixKind::Fix,
            edits,
        });
        Finding {
            rule: "accept",
            severity: Severity::Hint,
            fixes: fix.into_iter().collect(),
            ..context.at(accept.span, message)
        }
    })
}

/// What is said of an acceptance that accepts nothing.
pub fn unused_message(rule: &str) -> String {
    if find_rule(rule).is_some() {
        return format!("Nothing here needs “{rule}” accepted any more.");
    }
    let nearest = RULES
        .iter()
        .map(|r| r.id)
        .max_by(|a, b| strsim::jaro_winkler(a, rule).total_cmp(&strsim::jaro_winkler(b, rule)));
    format!("There is no rule “{rule}”; the nearest is “{}”.", nearest.unwrap_or_default())
}

fn whole_line(context: &Context<'_>, span: Span) -> Span {
    let text = &context.block.text;
    let start = span.start as usize;
    let own_line = start == 0 || text[..start].ends_with(['\n', '\r']);
    let rest = &text[span.end as usize..];
    let end = match rest.strip_prefix("\r\n") {
        Some(_) => 2,
        None => usize::from(rest.starts_with(['\n', '\r'])),
    };
    if own_line { Span::new(start, span.end as usize + end) } else { span }
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;

    fn rules(text: &str) -> Vec<&'static str> {
        let document = Document::new(text);
        let config = Config::default();
        let around = Around::default();
        let found =
            document.blocks().flat_map(|(_, block)| check_block(block, &config, &around).findings);
        found.map(|finding| finding.rule).collect()
    }

    #[test]
    fn accepted_in_the_tune_and_in_the_bar() {
        assert_eq!(rules("X:1\nK:C\nC|\n"), [] as [&str; 0]);
        assert_eq!(rules("X:1\nK:C\nC}|\n"), ["unreadable"]);
        assert_eq!(rules("X:1\n%%recte accept unreadable\nK:C\nC}|\n"), [] as [&str; 0]);
    }

    #[test]
    fn an_acceptance_that_accepts_nothing_is_a_hint() {
        assert_eq!(rules("X:1\n%%recte accept metre-fit\nK:C\nC|\n"), ["accept"]);
        assert_eq!(rules("X:1\nK:C\n[I:recte accept unreadable]C|\n"), ["accept"]);
    }

    #[test]
    fn an_unknown_rule_is_answered_with_the_nearest() {
        assert!(unused_message("chord-speling").contains("chord-spelling"));
    }
}
