//! Remarks in the order of the bars, with the reviewer's own among them.

use super::places::fate;
use super::{Page, staff};
use maud::{Markup, html};
use recte_assist::report::{Fullness, Margin, PROPOSALS, Quote, Remark, TuneReport, whereabouts};
use recte_review::words::sentence;
use recte_review::{Chapter, Severity, find_rule};

/// So many more in a line each.
const IN_SHORT: usize = 250;

/// What stands at one place: a remark or the reviewer's own word.
enum Entry<'a> {
    Own(&'a Margin),
    Remark(&'a Remark),
}

pub(super) fn bars<'a>(page: &mut Page<'a>) -> Option<Markup> {
    let report = page.report;
    let mut entries: Vec<Entry<'a>> = report.margin.iter().map(Entry::Own).collect();
    let told = report.remarks.iter().filter(|one| one.chapter == Chapter::Bars);
    entries.extend(told.map(Entry::Remark));
    let place = |entry: &Entry<'_>| match entry {
        Entry::Own(own) => own.bar.map(|bar| (bar, 0)),
        Entry::Remark(remark) => remark.bars.map(|bars| (bars.0, 1)),
    };
    entries.sort_by_key(place);
    let count = report.remarks.iter().filter(|one| one.chapter == Chapter::Bars).count();
    if entries.is_empty() {
        return Some(html! { p { "There is nothing to remark in the notation." } });
    }
    let mut full = Fullness::default();
    let mut shown = Vec::new();
    let mut short = Vec::new();
    for entry in &entries {
        match entry {
            Entry::Own(own) => shown.push(margin(page, own)),
            Entry::Remark(remark) if full.takes(remark) => shown.push(in_full(page, remark)),
            Entry::Remark(remark) => short.push(*remark),
        }
    }
    let more = in_short(page, &short);
    Some(html! {
        p.soft { (counted(report, count)) }
        div.remarks { @for one in &shown { (one) } }
        (more)
    })
}

/// "12 remarks: 3 should be settled, 9 are small."
fn counted(report: &TuneReport, count: usize) -> String {
    let of = |severity| {
        let told = report.remarks.iter().filter(|one| one.chapter == Chapter::Bars);
        told.filter(|one| one.severity == severity).count()
    };
    let parts = [Severity::Error, Severity::Warning, Severity::Info, Severity::Hint]
        .into_iter()
        .map(|severity| (of(severity), severity))
        .filter(|(own, _)| *own > 0)
        .map(|(own, severity)| format!("{own} {}", severity_words(severity)));
    let parts: Vec<String> = parts.collect();
    let word = if count == 1 { "remark" } else { "remarks" };
    if count == 0 {
        "The reviewer's own remarks:".to_owned()
    } else {
        format!("{count} {word}: {}.", parts.join(", "))
    }
}

/// What a severity asks of the composer.
pub(super) fn severity_words(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "must be settled",
        Severity::Warning => "should be settled",
        Severity::Info => "worth knowing",
        Severity::Hint => "small",
    }
}

fn heading(report: &TuneReport, bars: Option<(u32, u32)>, voice: Option<usize>) -> Markup {
    let place = bars
        .map_or("About the text".to_owned(), |(from, to)| sentence(&report.bars.span(from, to)));
    let voice =
        voice.filter(|_| report.voices.len() > 1).and_then(|voice| report.voices.get(voice));
    html! { span { (place) } @if let Some(voice) = voice { " " span.who { (voice) } } }
}

fn margin(page: &Page<'_>, own: &Margin) -> Markup {
    html! {
        article.remark.own {
            h3 {
                (heading(page.report, own.bar.map(|bar| (bar, bar)), own.voice))
                @if let Some(bar) = own.bar { (page.play(bar, bar)) }
            }
            p { q { (own.text) } }
            p.kind { "the reviewer's own remark" }
        }
    }
}

/// A remark with its bars and what could be done.
pub(super) fn in_full<'a>(page: &mut Page<'a>, remark: &'a Remark) -> Markup {
    let report = page.report;
    let id = page.settle_place(remark);
    let rule = page.rule(remark.rule);
    let why = page.is_for_a_student().then(|| why(remark.rule)).flatten();
    let quote = remark.quote.as_ref().map(|quote| {
        let label = format!("{}, as written", place_words(report, remark));
        let drawn =
            quote.staff.as_ref().map(|one| staff::staff(one, &label, "staff", &mut page.outlines));
        html! { @if let Some(drawn) = &drawn { (drawn) } (quoted(quote, drawn.is_some())) }
    });
    let mut proposals = Vec::new();
    for (at, proposal) in remark.proposals.iter().take(PROPOSALS).enumerate() {
        let heard = remark.bars.zip(proposal.sounds.as_ref());
        let heard =
            heard.map(|((from, to), sounds)| page.play_proposal(from, to.min(from + 7), sounds));
        let text = proposal.text.as_ref().zip(remark.quote.as_ref());
        let label = format!("{}, {}", place_words(report, remark), proposal.title);
        let drawn = proposal
            .staff
            .as_ref()
            .map(|one| staff::staff(one, &label, "staff new", &mut page.outlines));
        proposals.push(html! {
            figure {
                figcaption {
                    @if at > 0 { "or: " }
                    (proposal.title)
                    @if proposal.elsewhere && proposal.text.is_some() { " (and elsewhere with it)" }
                }
                @if let Some(drawn) = &drawn { (drawn) }
                @if let Some((text, quote)) = text { (changed(&quote.text, text, drawn.is_some())) }
                @if let Some(heard) = heard { div { (heard) } }
            }
        });
    }
    html! {
        article.remark id=[id] {
            h3 {
                (heading(report, remark.bars, remark.voice))
                @if let Some((from, to)) = remark.bars { (page.play(from, to.min(from + 7))) }
            }
            p { (remark.message) }
            @for one in remark.related.iter().take(3) { p.soft { (one) } }
            @if let Some(why) = why { p.soft { (why) } }
            p.kind { (severity_words(remark.severity)) " · " (rule) (fate(remark)) }
            @if quote.is_some() || !proposals.is_empty() {
                div.bars.alone[proposals.is_empty()] {
                    @if let Some(quote) = quote { figure { figcaption { "as written" } (quote) } }
                    @for one in &proposals { (one) }
                }
            }
        }
    }
}

/// Those that are told in a line each.
pub(super) fn in_short(page: &mut Page<'_>, remarks: &[&Remark]) -> Markup {
    let report = page.report;
    let lines: Vec<Markup> = remarks
        .iter()
        .take(IN_SHORT)
        .map(|remark| {
            let (id, rule) = (page.settle_place(remark), page.rule(remark.rule));
            html! { li id=[id] { (heading(report, remark.bars, remark.voice)) ": " (remark.message) " " span.soft { "(" (rule) (fate(remark)) ")" } } }
        })
        .collect();
    let left = remarks.len().saturating_sub(IN_SHORT);
    html! {
        @if !remarks.is_empty() {
            details {
                summary { (remarks.len()) " more of the same kinds" }
                ul { @for line in &lines { (line) } }
                @if left > 0 { p { (left) " more are listed by recte check." } }
            }
        }
    }
}

/// What a picture of a remark's bars is called; the text under it says what is in them.
fn place_words(report: &TuneReport, remark: &Remark) -> String {
    let place = whereabouts(remark, &report.bars, &report.voices);
    format!("{place} on a staff, typed below")
}

/// Bars as typed; smaller under a picture of them.
fn quoted(quote: &Quote, drawn: bool) -> Markup {
    let (start, end) = (quote.mark.start, quote.mark.end);
    let pieces = (quote.text.get(..start), quote.text.get(start..end), quote.text.get(end..));
    let whole = quote.text.len() == end - start;
    html! {
        code class=[drawn.then_some("under")] {
            @match pieces {
                (Some(before), Some(inside), Some(after)) if !inside.is_empty() && !whole => {
                    (before) mark { (inside) } (after)
                }
                _ => (quote.text),
            }
            @if quote.cut { " …" }
        }
    }
}

/// A text with what differs from another underlined.
fn changed(before: &str, after: &str, drawn: bool) -> Markup {
    let (a, b): (Vec<char>, Vec<char>) = (before.chars().collect(), after.chars().collect());
    let head = a.iter().zip(&b).take_while(|(a, b)| a == b).count();
    let rest = a.len().min(b.len()) - head;
    let tail = a.iter().rev().zip(b.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    let part = |range: &[char]| range.iter().collect::<String>();
    let (first, middle, last) =
        (part(&b[..head]), part(&b[head..b.len() - tail]), part(&b[b.len() - tail..]));
    html! { code class=[drawn.then_some("under")] { (first) @if !middle.is_empty() { ins { (middle) } } (last) } }
}

/// Why players mind: the first paragraph of a rule's page.
fn why(rule: &str) -> Option<String> {
    let doc = find_rule(rule)?.doc;
    let paragraph =
        doc.split("\n\n").map(str::trim).find(|one| !one.is_empty() && !one.starts_with('#'))?;
    Some(paragraph.split_whitespace().collect::<Vec<_>>().join(" ").replace('`', ""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_differs_is_underlined() {
        let shown = |a, b| changed(a, b, false).into_string();
        assert_eq!(shown("[E_AB]2 c2|", "[E^GB]2 c2|"), "<code>[E<ins>^G</ins>B]2 c2|</code>");
        assert_eq!(shown("abc", "abbc"), "<code>ab<ins>b</ins>c</code>");
        assert_eq!(shown("a<b", "a<"), "<code>a&lt;</code>");
    }

    #[test]
    fn every_rule_says_why() {
        for rule in recte_review::RULES.iter() {
            let why = why(rule.id).unwrap();
            assert!(why.len() > 30 && !why.contains('`'), "{}: {why}", rule.id);
        }
    }
}
