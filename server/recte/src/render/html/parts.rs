//! Each part as its player meets it.

use super::bars::{in_full, in_short};
use super::{Page, how, pictures};
use maud::{Markup, html};
use recte_assist::report::{Fullness, PartReport};

pub(super) fn parts(page: &mut Page<'_>) -> Option<Markup> {
    let report = page.report;
    let mut full = Fullness::default();
    let mut shown = Vec::new();
    for part in &report.parts {
        let one = one(page, part, &mut full);
        shown.push(one);
    }
    (!shown.is_empty()).then(|| html! { div.parts-list { @for one in &shown { (one) } } })
}

fn one(page: &mut Page<'_>, part: &PartReport, full: &mut Fullness) -> Markup {
    let report = page.report;
    let all = part.remarks.iter().filter_map(|at| report.remarks.get(*at));
    let (in_full_ones, short): (Vec<_>, Vec<_>) = all.partition(|one| full.takes(one));
    let remarks: Vec<Markup> = in_full_ones.into_iter().map(|one| in_full(page, one)).collect();
    let more = in_short(page, &short);
    let instrument = part.instrument.as_ref().filter(|name| !name.eq_ignore_ascii_case(&part.name));
    html! {
        div.part {
            h3 {
                (part.name)
                @if let Some(name) = instrument { " " span.who.soft { (name) } }
                @else if part.instrument.is_none() { " " span.who.soft { "no instrument known by this name" } }
            }
            @if let Some(picture) = pictures::histogram(part) { div.picture { (picture) } }
            ul.facts {
                @for fact in part.facts(&report.bars) {
                    li {
                        span.label { (how(fact.how, fact.label)) } " " (fact.text)
                        @if let Some(run) = part.longest.filter(|_| fact.how == "unbroken") { " " (page.play(run.from, run.to)) }
                    }
                }
            }
            @if !part.hardest.is_empty() {
                p {
                    (how("hardest", "Bars that ask most")) ": "
                    @for (at, (bar, rules)) in part.hardest.iter().enumerate() {
                        @if at > 0 { "; " }
                        (report.bars.span(*bar, *bar)) " (" (rules.join(", ")) ")"
                    }
                    "."
                }
            }
            @if !remarks.is_empty() {
                details {
                    summary {
                        (remarks.len()) @if remarks.len() == 1 { " thing" } @else { " things" } " that " (part.name) " might mind"
                    }
                    @for one in &remarks { (one) }
                }
            }
            (more)
        }
    }
}
