//! # A beat too slow or too fast to count
//!
//! Players and conductors feel a beat best between about forty and two hundred a minute. A quarter at 30 is counted in
//! eighths anyway, and a quarter at 240 is felt in halves; a tempo mark that names the value that is felt reads at
//! once.
//!
//! What to do: take the unit offered. It says the same speed, and nothing that sounds is changed. Whether the metre
//! should follow (4/4 as 2/2) is for the composer to say.
//!
//! Source: the bounds of forty and two hundred are from memory; abc standard v2.1, 3.1.8 (tempo).
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! Q:1/4=240
//! K:C
//! CDEF|c4|]
//! ```
//! ```abc fixed
//! X:1
//! M:4/4
//! L:1/4
//! Q:1/2=120
//! K:C
//! CDEF|c4|]
//! ```
//! ```abc flagged
//! X:1
//! M:6/8
//! L:1/8
//! Q:"Slow" 3/8=28
//! K:C
//! CDEF3|c6|]
//! ```
//! ```abc fixed
//! X:1
//! M:6/8
//! L:1/8
//! Q:"Slow" 1/8=84
//! K:C
//! CDEF3|c6|]
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! Q:1/4=96
//! K:C
//! CDEF|c4|]
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use crate::words::{article, sentence};
use recte_notation::TextEdit;
use recte_score::{Span, Tempo};
use recte_theory::{Metre, Time};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Hint,
    summary: "a tempo whose beat is too slow or too fast to count",
    check,
};

/// Beats a minute that are felt as beats.
const SLOWEST: i64 = 40;
const FASTEST: i64 = 200;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    findings.extend(context.tune.tempi.iter().filter_map(|tempo| remark(context, tempo)));
}

fn remark(context: &Context<'_>, tempo: &Tempo) -> Option<Finding> {
    let [beat] = tempo.beats.as_slice() else { return None };
    let speed = Time::new(tempo.per_minute?.into(), 1);
    if is_felt(speed) {
        return None;
    }
    let whole = tempo.whole_notes_per_minute()?;
    let metre = context.tune.metre_of(tempo.bar).filter(|metre| !metre.is_free())?;
    let better = units(metre, *beat).into_iter().find(|unit| is_felt(whole / *unit))?;
    let words = context.config.words;
    let (own, other) = (words.value(*beat)?, words.value(better)?);
    let per_minute = whole / better;
    let about = if per_minute.denominator() == 1 { "" } else { "about " };
    let nearest =
        (per_minute + Time::new(1, 2)).numerator() / (per_minute + Time::new(1, 2)).denominator();
    let what = if speed < Time::new(SLOWEST, 1) { "slow" } else { "fast" };
    let message = sentence(&format!(
        "{} {own} at {speed} is {what} to count; {} {other} at {about}{nearest} is the same speed.",
        article(&own),
        article(&other)
    ));
    let mut finding = Finding {
        bar: Some(tempo.bar),
        to_bar: Some(tempo.bar),
        ..context.at(tempo.span, message)
    };
    finding.severity = Severity::Hint;
    if per_minute.denominator() == 1
        && let Some(edit) = rewritten(&context.block.text, tempo.span, better, per_minute)
    {
        let title = format!("Write {better}={per_minute}");
        finding.fixes.push(context.fix(title, vec![edit]));
    }
    Some(finding)
}

fn is_felt(speed: Time) -> bool {
    Time::new(SLOWEST, 1) <= speed && speed <= Time::new(FASTEST, 1)
}

/// The values a bar may be counted in, the metre's own beat first, then those nearest to what is typed.
fn units(metre: &Metre, typed: Time) -> Vec<Time> {
    let Some(groups) = metre.groupings().into_iter().next() else { return Vec::new() };
    let alike = groups.windows(2).all(|pair| pair[0] == pair[1]);
    let mut all = Vec::new();
    if let Some(beat) = groups.first().filter(|_| alike) {
        all.push(*beat);
        let parts = if beat.numerator() == 3 { 3 } else { 2 };
        all.push(*beat / Time::new(parts, 1));
        all.push(*beat / Time::new(parts * 2, 1));
        let bar: Time = groups.iter().copied().sum();
        if groups.len() % 2 == 0 {
            all.push(bar / Time::new(2, 1));
        }
        all.push(bar);
    } else {
        // Where groups differ, a quick unit is the usual thing to count.
        all.extend(metre.unit());
        all.extend(metre.unit().map(|unit| unit / Time::new(2, 1)));
    }
    all.dedup();
    let far = |unit: &Time| if *unit > typed { *unit / typed } else { typed / *unit };
    let first = all.first().copied();
    all.sort_by_key(|unit| (Some(*unit) != first, far(unit)));
    all
}

/// The typed numbers of a tempo under another unit; none where they are typed in an unusual way.
fn rewritten(text: &str, span: Span, unit: Time, per_minute: Time) -> Option<TextEdit> {
    let typed = text.get(span.range())?;
    let quoted: Vec<usize> = typed.match_indices('"').map(|(at, _)| at).collect();
    let from = match quoted.as_slice() {
        [] => typed.find(':')? + 1,
        [first, last] if typed[..*first].trim_end().ends_with(':') => last + 1,
        [first, _] => {
            let start = typed.find(':')? + 1;
            return replaced(typed, span, start, *first, unit, per_minute);
        }
        _ => return None,
    };
    replaced(typed, span, from, typed.len(), unit, per_minute)
}

fn replaced(
    typed: &str,
    span: Span,
    from: usize,
    to: usize,
    unit: Time,
    per_minute: Time,
) -> Option<TextEdit> {
    let numbers = typed.get(from..to)?;
    let start = from + numbers.len() - numbers.trim_start().len();
    let body = numbers.trim_start();
    let body = body
        .find(|c: char| !(c.is_ascii_digit() || "/= ".contains(c)))
        .map_or(body, |end| &body[..end]);
    let body = body.trim_end();
    let rest = typed.get(start + body.len()..to)?.trim_end_matches(['\n', '\r', ' ', ']']);
    if body.is_empty() || !rest.is_empty() {
        return None;
    }
    let first = span.start as usize + start;
    Some(TextEdit {
        span: Span::new(first, first + body.len()),
        text: format!("{unit}={per_minute}"),
    })
}

#[cfg(test)]
mod tests {
    use crate::rule_tests::{findings_of, first_fix};

    const ID: &str = "beat-unit";

    fn tune(metre: &str, tempo: &str) -> String {
        format!("X:1\nM:{metre}\nL:1/8\nQ:{tempo}\nK:C\nC2|]\n")
    }

    fn after(metre: &str, tempo: &str) -> String {
        let text = first_fix(ID, &tune(metre, tempo));
        text.lines().find_map(|line| line.strip_prefix("Q:")).unwrap().to_owned()
    }

    #[test]
    fn the_unit_that_reads_better() {
        assert_eq!(after("2/2", "1/4=208"), "1/2=104");
        assert_eq!(after("9/8", "1/8=240"), "3/8=80");
        assert_eq!(after("4/4", "1/4=30 \"Grave\""), "1/8=60 \"Grave\"");
        assert_eq!(after("2/4", "240"), "1/4=120");
    }

    #[test]
    fn where_no_whole_number_says_it_there_is_only_the_remark() {
        let found = findings_of(ID, &tune("3/4", "1/4=220"));
        assert_eq!(
            found[0].message,
            "A quarter at 220 is fast to count; a dotted half note at about 73 is the same speed."
        );
        assert!(found[0].fixes.is_empty());
    }

    #[test]
    fn what_is_felt_is_silent() {
        for tempo in ["1/4=40", "1/4=200", "1/8=60", "3/8=120", "\"Lento\"", "1/4 3/8=30"] {
            assert!(findings_of(ID, &tune("4/4", tempo)).is_empty(), "{tempo}");
        }
    }
}
