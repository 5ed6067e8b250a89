//! The top of a page: title, greeting, what the piece is, what stands out; cautions; and the closing words.

use super::{Page, Sheet, how};
use maud::{Markup, html};
use recte_assist::report::{DEFERENCE, duration, title};
use recte_review::Chapter;

/// Title, where it is from, the reviewer's greeting, and the way through the page.
pub(super) fn header(page: &Page<'_>, sheet: &Sheet<'_>, chapters: &[Chapter]) -> Markup {
    let report = page.report;
    html! {
        h1 { (report.title) }
        p.by {
            @if !report.piece.by.is_empty() { (report.piece.by.join(", ")) " · " }
            (sheet.path)
            @if let Some(number) = sheet.number { ", tune " (number) }
        }
        @if !page.template.greeting.trim().is_empty() { div.greeting { (paragraphs(&page.template.greeting)) } }
        nav aria-label="Chapters" {
            ul {
                @for chapter in chapters.iter().filter(|one| page.has(**one)) {
                    li { a href={ "#" (chapter.name()) } { (title(*chapter)) } }
                }
            }
        }
    }
}

/// The reviewer's last words.
pub(super) fn closing(page: &Page<'_>) -> Markup {
    let text = &page.template.closing;
    html! { @if !text.trim().is_empty() { div.greeting { (paragraphs(text)) } } }
}

fn paragraphs(text: &str) -> Markup {
    html! { @for one in text.split("\n\n").map(str::trim).filter(|one| !one.is_empty()) { p { (one) } } }
}

pub(super) fn piece(page: &Page<'_>) -> Option<Markup> {
    let (report, piece) = (page.report, &page.report.piece);
    let heard: Vec<String> = report
        .harmony
        .keys
        .iter()
        .map(|one| format!("{} in {}", one.key, report.bars.span(one.from, one.to)))
        .collect();
    let length = html! {
        (piece.bars) @if piece.bars == 1 { " bar" } @else { " bars" }
        @if let Some(played) = piece.played { " (" (played) " as played)" }
        @if let Some(seconds) = piece.seconds { ", " (how("minutes", duration(seconds))) }
        @else if piece.bars > 0 { ", no tempo given" }
    };
    Some(html! {
        dl {
            dt { "Forces" } dd { (piece.forces.join(", ")) }
            dt { "Length" } dd {
                (length) " "
                @if report.bars.count() > 0 { (page.play(0, report.bars.count() as u32 - 1)) }
            }
            @if !piece.tempi.is_empty() { dt { "Tempo" } dd { (piece.tempi.join("; ")) } }
            dt { "Metre" } dd { (piece.metres.join("; ")) }
            dt { "Key" } dd {
                "written " (piece.keys.join("; "))
                @if !heard.is_empty() {
                    "; " (how("harmony", "heard")) " as " (few(&heard))
                }
            }
        }
    })
}

/// The first of a long list, and how many more there are.
fn few(all: &[String]) -> String {
    const SHOWN: usize = 6;
    match all.len() {
        count if count > SHOWN => format!("{} and {} more", all[..SHOWN].join(", "), count - SHOWN),
        _ => all.join(", "),
    }
}

pub(super) fn standout(page: &Page<'_>) -> Option<Markup> {
    Some(html! {
        ol.standout {
            @for one in &page.report.standout {
                li { (one.text) " " a.how.screen href={ "#how-" (one.how) } aria-label={ "How this was worked out: " (one.how) } { "how" } }
            }
        }
    })
}

pub(super) fn cautions(page: &Page<'_>) -> Option<Markup> {
    let report = page.report;
    if report.cautions.is_empty() {
        return None;
    }
    Some(html! {
        ul {
            @for one in &report.cautions {
                li {
                    @if let Some(name) = one.voice.and_then(|voice| report.voices.get(voice)) { strong { (name) } ", " }
                    (report.bars.list(&one.bars)) ": " (one.what) " " (one.advice)
                }
            }
        }
        p.soft { (DEFERENCE) }
    })
}

impl Page<'_> {
    /// Whether a chapter has anything to show.
    fn has(&self, chapter: Chapter) -> bool {
        let report = self.report;
        match chapter {
            Chapter::Since => report.since.is_some(),
            Chapter::Cautions => !report.cautions.is_empty(),
            Chapter::Harmony => !report.harmony.keys.is_empty(),
            Chapter::Layers => report.voices.len() > 1 && report.bars.count() > 0,
            Chapter::Form | Chapter::Curves => report.bars.count() > 1,
            Chapter::Likeness => report.bars.count() > 3,
            _ => true,
        }
    }
}
