//! # A name that two instruments share
//!
//! “Cor.” is a horn in one score and a cornet in the next, “Bass” a singer, a double bass or a bass guitar. A
//! librarian who lays out parts has to ask; and what an instrument can play is not looked at while it is not known.
//!
//! Most such names are settled by the score itself: by the clef and the transposition of the part, its words, the
//! number of its staves, the voices above and below and their order. This hint comes only where that leaves two or
//! more. The same is asked of a name given with `%%recte instrument`.
//!
//! What to do: say it with `%%recte instrument VOICE NAME` in the header, or give the voice a fuller name.
//!
//! Source: common practice, no source.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! V:1 name="Cor."
//! K:C
//! G2 c2|
//! ```
//! ```abc fixed
//! X:1
//! L:1/4
//! V:1 name="Cor."
//! %%recte instrument 1 Horn in F
//! K:C
//! G2 c2|
//! ```
//! Bassoon above and trumpets below leave the horn:
//! ```abc quiet
//! X:1
//! L:1/4
//! V:1 name="Fag." clef=bass
//! V:2 name="Cor."
//! V:3 name="Tr."
//! K:C
//! V:1
//! C2 G,2|
//! V:2
//! G2 c2|
//! V:3
//! c2 e2|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use recte_notation::write::TextEdit;
use recte_score::Span;
use recte_score::players::OpenName;
use recte_theory::instruments::{Family as Section, Instrument};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Hint,
    summary: "a name that may mean several instruments",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for open in &context.who().open {
        findings.extend(finding(context, open));
    }
}

fn finding(context: &Context<'_>, open: &OpenName<'_>) -> Option<Finding> {
    let voice = context.tune.voices.get(open.voice)?;
    // Without notes there is nothing to look at yet.
    if voice.notes.is_empty() {
        return None;
    }
    // A soloist or a choir: the singers know.
    if open.candidates.iter().all(|one| one.family == Section::Voice) {
        return None;
    }
    let names: Vec<String> = open.candidates.iter().map(|one| with_article(one)).collect();
    let names = match names.as_slice() {
        [others @ .., last] => format!("{} or {last}", others.join(", ")),
        [] => return None,
    };
    let message = format!(
        "“{}” may be {names}; say which with %%recte instrument {} …",
        open.label, voice.id
    );
    let mut finding = context.at(voice.declared, message);
    finding.voice = Some(open.voice as u32);
    finding.fixes = open.candidates.iter().filter_map(|one| fix(context, &voice.id, one)).collect();
    Some(finding)
}

/// A line of its own before the key, which ends the header.
fn fix(context: &Context<'_>, voice: &str, one: &Instrument) -> Option<Fix> {
    let text = &context.block.text;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        if line.starts_with("K:") {
            let end = if line.ends_with("\r\n") { "\r\n" } else { "\n" };
            let text = format!("%%recte instrument {voice} {}{end}", one.name);
            let title = format!("It is {}", with_article(one));
            return Some(context.fix(title, vec![TextEdit { span: Span::new(at, at), text }]));
        }
        at += line.len();
    }
    None
}

/// "a horn in F", "an alto trombone in E-flat".
fn with_article(one: &Instrument) -> String {
    let mut letters = one.name.chars();
    let first = letters.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
    let article = if "aeiou".contains(&first) && !first.is_empty() { "an" } else { "a" };
    // "B-flat bass", "E-flat bass" keep their capitals.
    let key = letters.as_str().starts_with('-');
    let name = if key { one.name.clone() } else { format!("{first}{}", letters.as_str()) };
    format!("{article} {name}")
}

#[cfg(test)]
#[path = "../rule_tests/which_instrument.rs"]
mod tests;
