//! The harmonies: local keys as a band, chords bar by bar, cadences, what is only observed.

use super::bars::in_full;
use super::{Page, pictures};
use maud::{Markup, html};
use recte_assist::report::{HarmonyStrip, TuneReport};
use recte_review::Chapter;

/// So many bars of chords are open from the beginning.
const OPEN: usize = 40;

pub(super) fn harmony(page: &mut Page<'_>) -> Option<Markup> {
    let report = page.report;
    let harmony = &report.harmony;
    if harmony.keys.is_empty() {
        return None;
    }
    let observed = report.remarks.iter().filter(|one| one.chapter == Chapter::Harmony).take(12);
    let observed: Vec<Markup> = observed.map(|one| in_full(page, one)).collect();
    let keys: Vec<String> = harmony
        .keys
        .iter()
        .map(|one| format!("{} in {}", one.key, report.bars.span(one.from, one.to)))
        .collect();
    Some(html! {
        div.picture { (pictures::key_band(harmony, report.bars.count())) (pictures::axis(&report.bars, &joints(report))) }
        p { "Local keys: " (keys.join(", ")) ". " a.how.screen href="#how-harmony" { "how" } }
        (vocabulary(harmony))
        @if !harmony.cadences.is_empty() {
            p {
                "Where phrases end: "
                @for (at, (bar, name)) in harmony.cadences.iter().enumerate() {
                    @if at > 0 { "; " }
                    (name) ", " (report.bars.span(*bar, *bar))
                }
                "."
            }
        }
        @if harmony.bars.len() <= OPEN { (strip(report)) }
        @else { details { summary { "Chords bar by bar" } (strip(report)) } }
        @if !observed.is_empty() {
            h3 { "Observed, no faults" }
            div.remarks { @for one in &observed { (one) } }
        }
    })
}

/// Where sections begin, but for the first.
pub(super) fn joints(report: &TuneReport) -> Vec<u32> {
    report.form.sections.iter().skip(1).map(|section| section.from).collect()
}

fn vocabulary(harmony: &HarmonyStrip) -> Markup {
    let all = &harmony.vocabulary;
    let most: Vec<String> = all
        .words
        .iter()
        .take(5)
        .map(|word| format!("{} ({})", signs(&word.degree), word.count))
        .collect();
    html! {
        p {
            (all.words.len()) @if all.words.len() == 1 { " chord: " } @else { " different chords; most often " }
            (most.join(", ")) "."
        }
    }
}

/// A degree with its signs.
fn signs(degree: &str) -> String {
    degree.replace('b', "♭").replace('#', "♯").replace('o', "°")
}

fn strip(report: &TuneReport) -> Markup {
    let harmony = &report.harmony;
    html! {
        ol.strip {
            @for (bar, chords) in harmony.bars.iter().enumerate() {
                @for stretch in harmony.keys.iter().filter(|one| one.from as usize == bar) {
                    li.key { (stretch.key) }
                }
                @if !chords.is_empty() {
                    li {
                        span.bar { (report.bars.name(bar as u32)) }
                        @for (at, chord) in chords.iter().enumerate() {
                            @if at > 0 { ", " }
                            (chord.symbol) " " span.degree { (chord.degree) }
                        }
                    }
                } @else {
                    li.held { span.bar { (report.bars.name(bar as u32)) } "–" }
                }
            }
        }
    }
}
