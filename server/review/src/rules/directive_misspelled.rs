//! # An instruction to recte that it does not know
//!
//! `%%recte` takes accept, instrument, level or style, and then what it is about. Anything else does nothing.
//!
//! A remark goes on being made although it was meant to be accepted, or a part is checked as another instrument.
//! The nearest word is offered.
//!
//! Source: the directives of this program (`recte explain`); the standard leaves names of directives free (11).
//!
//! ```abc flagged
//! X:1
//! %%recte instrment 1 flute
//! K:C
//! CDEF|
//! ```
//!
//! ```abc fixed
//! X:1
//! %%recte instrument 1 flute
//! K:C
//! CDEF|
//! ```
//!
//! ```abc flagged
//! X:1
//! %%recte style strickt
//! K:C
//! CDEF|
//! ```
//!
//! ```abc fixed
//! X:1
//! %%recte style strict
//! K:C
//! CDEF|
//! ```
//!
//! ```abc flagged
//! X:1
//! %%recte accept
//! K:C
//! CDEF|
//! ```
//!
//! ```abc quiet
//! X:1
//! %%recte instrument 1 flute
//! %%setbarnb 9
//! K:C
//! CDEF|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use recte_notation::write::TextEdit;
use recte_notation::{Problem, ProblemKind};
use recte_score::Span;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Warning,
    summary: "an instruction to recte that it does not know",
    check,
};

const VERBS: [&str; 4] = ["accept", "instrument", "level", "style"];
const STYLES: [&str; 3] = ["strict", "direct", "free"];
/// Words at least so alike (Jaro–Winkler) are offered.
const ALIKE: f64 = 0.8;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let problems = context.lowered().problems.iter();
    for problem in problems.filter(|problem| problem.kind == ProblemKind::Directive) {
        let fixes = fix(context, problem).into_iter().collect();
        let place = context.at(problem.span, problem.message.clone());
        findings.push(Finding { severity: Severity::Warning, fixes, ..place });
    }
    for accept in context.tune.accepts.iter().filter(|accept| accept.rules.is_empty()) {
        let message = "This acceptance names no remark, as in “recte accept metre-fit”.".to_owned();
        findings.push(Finding { severity: Severity::Warning, ..context.at(accept.span, message) });
    }
}

/// The nearest word in the place of the one typed.
fn fix(context: &Context<'_>, problem: &Problem) -> Option<Fix> {
    let start = problem.span.start as usize;
    let typed = &context.block.text[problem.span.range()];
    let words = typed.split_whitespace().skip_while(|word| !word.ends_with("recte")).skip(1);
    let words: Vec<&str> = words.map(|word| word.trim_end_matches(']')).collect();
    // A verb that is known is followed by a word that is not.
    let (known, word): (&[&str], &str) = match words.split_first()? {
        (&"style", rest) => (&STYLES, rest.iter().find(|word| !STYLES.contains(word))?),
        (verb, _) => (&VERBS, verb),
    };
    let place = typed.find("recte")? + "recte".len();
    let at = start + place + typed[place..].find(&format!(" {word}"))? + 1;
    let likeness = |known: &str| strsim::jaro_winkler(known, word);
    let near = known.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b)))?;
    let edits = vec![TextEdit { span: Span::new(at, at + word.len()), text: (*near).to_owned() }];
    (likeness(near) >= ALIKE).then(|| context.fix(format!("Write {near}"), edits))
}
