//! # A decoration that nobody knows
//!
//! A name between exclamation marks that the standard does not list, a letter that stands for nothing because no
//! `U:` says what it means, or a decoration between other signs than the file asks for. The note stays as it is.
//!
//! The sign will be missing from the page. If a listed name is near, it is offered; else `U:` can give the
//! letter a meaning, or an annotation (`"^text"`) can say it in words.
//!
//! Source: abc standard v2.1, 4.14 (decorations), 4.16 (letters) and 12.1.2 (their signs).
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! !fermatta!C3 kC|
//! ```
//!
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! !fermata!C3 kC|
//! ```
//!
//! ```abc quiet
//! X:1
//! U:k=!trill!
//! L:1/4
//! K:C
//! !fermata!C.D!<(!E!<)!F|kCuDT!f!E!+!F|
//! ```

use super::unreadable::{placed, speak};
use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use recte_notation::ProblemKind;
use recte_notation::write::TextEdit;
use recte_score::{DECORATIONS, Mark, MarkKind, MarkPlace};
use std::collections::BTreeSet;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Error,
    summary: "a decoration that the standard does not have",
    check,
};

/// Names at least so alike (Jaro–Winkler) are offered.
const ALIKE: f64 = 0.85;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    speak(context, findings, |kind| (kind == ProblemKind::Decoration).then_some(Severity::Error));
    let mut letters = BTreeSet::new();
    for (_, voice) in context.voices() {
        let decorations = voice.marks.iter().filter(|mark| mark.kind == MarkKind::Decoration);
        for mark in decorations.filter(|mark| mark.meaning.is_none()) {
            // A letter that means nothing is said once, however often it stands.
            let letter = context.block.text[mark.span.range()].to_owned();
            if !mark.text.is_empty() || letters.insert(letter) {
                findings.push(unknown(context, mark));
            }
        }
    }
}

fn unknown(context: &Context<'_>, mark: &Mark) -> Finding {
    let typed = &context.block.text[mark.span.range()];
    let near = if mark.text.is_empty() { None } else { nearest(&mark.text) };
    let message = match near {
        _ if mark.text.is_empty() => {
            format!("“{typed}” stands for nothing here; U: can give it a meaning.")
        }
        Some(near) => {
            format!("“{}” is no decoration of the standard; the nearest is “{near}”.", mark.text)
        }
        None => format!("“{}” is no decoration of the standard, and is passed over.", mark.text),
    };
    let fix = near.filter(|_| typed.contains(&*mark.text)).map(|near| rename(context, mark, near));
    // A sign on a bar line belongs to no bar.
    let place = match mark.on {
        MarkPlace::BarLine(_) => context.at(mark.span, message),
        _ => placed(context, mark.span, message),
    };
    Finding { severity: Severity::Hint, fixes: fix.into_iter().collect(), ..place }
}

fn nearest(name: &str) -> Option<&'static str> {
    let likeness = |known: &str| strsim::jaro_winkler(known, name);
    // What ends something is meant only where it is typed.
    let known = DECORATIONS.iter().filter(|known| !known.ends_with(')') || name.ends_with(')'));
    let near = known.max_by(|a, b| likeness(a).total_cmp(&likeness(b)))?;
    (name.len() > 2 && likeness(near) >= ALIKE).then_some(*near)
}

fn rename(context: &Context<'_>, mark: &Mark, near: &str) -> Fix {
    let text = context.block.text[mark.span.range()].replace(&*mark.text, near);
    context.fix(format!("Write {text}"), vec![TextEdit { span: mark.span, text }])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rule_tests::{findings_of, first_fix};

    #[test]
    fn near_names() {
        assert_eq!(nearest("trilll"), Some("trill"));
        assert_eq!(nearest("cresendo("), Some("crescendo("));
        assert_eq!(nearest("cresc"), Some("crescendo("));
        assert_eq!(nearest("wobble"), None);
    }

    #[test]
    fn signs_the_file_asks_for() {
        let text = "%abc-2.1\nX:1\nT:\nI:decoration +\nK:C\n!trill!C|\n";
        assert_eq!(first_fix("decoration-unknown", text), text.replace("!trill!", "+trill+"));
        let spaced = "%abc-2.1\nX:1\nT:\nK:C\n!da capo!CDEF|\n";
        let found = findings_of("decoration-unknown", spaced);
        assert!(
            found
                .iter()
                .any(|f| &spaced[f.span.range()] == "!da capo!" && f.severity == Severity::Error)
        );
    }
}
