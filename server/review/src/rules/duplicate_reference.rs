//! # Two tunes with one number
//!
//! A tune is known by its reference number (`X:`): programmes, part books and letters about corrections name it. Two
//! tunes of one file with the same number cannot be told apart.
//!
//! The second of them is told of. The fix gives it the next number that no tune of the file has; what is
//! written about the piece elsewhere may have to follow.
//!
//! Source: abc standard v2.1, 3.1.1 (each tune of a file has its own number).
//!
//! ```abc flagged
//! X:1
//! T:The Quay
//! K:C
//! CDE|
//!
//! X:1
//! T:The Pier
//! K:C
//! EDC|
//! ```
//!
//! ```abc fixed
//! X:1
//! T:The Quay
//! K:C
//! CDE|
//!
//! X:2
//! T:The Pier
//! K:C
//! EDC|
//! ```
//!
//! ```abc quiet
//! X:1
//! T:The Quay
//! K:C
//! CDE|
//!
//! X:2
//! T:The Pier
//! K:C
//! EDC|
//! ```

use crate::context::Context;
use crate::finding::Finding;
use crate::finding::Severity;
use crate::rule::{Family, Rule};
use recte_notation::write::TextEdit;
use recte_score::Span;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Warning,
    summary: "two tunes of a file with the same reference number",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let text = &context.block.text;
    let (Some(twin), Some(number)) = (&context.around.twin, &context.tune.reference) else {
        return;
    };
    let typed = text.match_indices("X:").map(|(at, _)| at);
    let mut at_line_start = typed.filter(|at| text[..*at].ends_with(['\n', '\r']) || *at == 0);
    let Some(field) = at_line_start.next() else { return };
    let Some(value) = text[field..].find(number.as_str()).map(|place| field + place) else {
        return;
    };
    let span = Span::new(value, value + number.len());
    let owner = match twin.block.lowered().tune.title() {
        "" => "a tune above".to_owned(),
        title => format!("“{title}” above"),
    };
    let message =
        format!("{number} is also the number of {owner}; each tune of a file has its own.");
    let edits = vec![TextEdit { span, text: twin.free.to_string() }];
    let fix = context.fix(format!("Give this tune the number {}", twin.free), edits);
    findings.push(Finding {
        fixes: vec![fix],
        ..context.at(Span::new(field, span.end as usize), message)
    });
}
