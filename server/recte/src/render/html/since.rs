//! What became of the last draft: what was changed, to be heard as it is and as it was, and the remarks that are settled,
//! stand, or are new.

use super::Page;
use maud::{Markup, html};
use recte_assist::report::{Change, Fate, Moved, PASSAGE, PASSAGES, Remark, Since, whereabouts};
use recte_review::words::sentence;

/// So many sentences are open from the beginning.
const OPEN: usize = 12;
/// So many remarks of a kind are named.
const NAMED: usize = 40;

/// The chapter; it comes last in the making, since it leads to the remarks that the page shows.
pub(super) fn since(page: &Page<'_>) -> Option<Markup> {
    let since = page.report.since.as_ref()?;
    let from = html! { p.soft { "Compared with " (since.name) ". " a.how.screen href="#how-since" { "how" } } };
    if let Some(lacks) = since.lacks {
        return Some(html! { (from) p { (lacks) } });
    }
    let (open, folded) = since.told.split_at(since.told.len().min(OPEN));
    Some(html! {
        (from)
        ul.told { @for one in open { li { (change(page, one)) } } }
        @if !folded.is_empty() {
            details {
                summary { (folded.len()) " more" }
                ul.told { @for one in folded { li { (change(page, one)) } } }
            }
        }
        p { (sentence(&since.counts)) "." }
        (remarks(page, since))
    })
}

fn change(page: &Page<'_>, one: &Change) -> Markup {
    let alone = one.bars.len() == 1;
    html! {
        (one.text)
        @for moved in one.bars.iter().take(PASSAGES) { (controls(page, moved, alone)) }
        @if one.bars.len() > PASSAGES { span.screen.soft { " …" } }
    }
}

/// Controls that play a passage as it is and as it was.
fn controls(page: &Page<'_>, moved: &Moved, alone: bool) -> Markup {
    let sounds = |name: &str, text: String, label: String, (from, to): (u32, u32), old: bool| {
        html! {
            " "
            button type="button" hidden aria-pressed="false" data-from=(from) data-to=(to) data-last[old]
                data-name=(name) aria-label=(label) { "▶ " (text) }
        }
    };
    let first = |(from, to): (u32, u32)| (from, to.min(from + PASSAGE - 1));
    let now = moved.new.map(first).map(|bars| (page.report.bars.span(bars.0, bars.1), bars));
    let was = moved.old.filter(|_| moved.heard).map(first);
    let was = was.map(|bars| (format!("{} of the last draft", moved.old_name), bars));
    html! {
        @if let Some((name, bars)) = now {
            @let text = if alone { "Hear".to_owned() } else { format!("Hear {name}") };
            (sounds(&name, text, format!("Hear {name}"), bars, false))
        }
        @if let Some((name, bars)) = was {
            (sounds(&name, "Hear it as it was".to_owned(), format!("Hear it as it was: {name}"), bars, true))
        }
    }
}

fn remarks(page: &Page<'_>, since: &Since) -> Markup {
    let of = |fate| page.report.remarks.iter().filter(move |one| one.since == Some(fate));
    let settled: Vec<Markup> = since
        .settled
        .iter()
        .map(|one| {
            let place =
                one.place.as_ref().map_or("About the text".to_owned(), |place| sentence(place));
            html! { (place) @if let Some(voice) = &one.voice { ", " (voice) } ": " (one.message) }
        })
        .collect();
    let new: Vec<Markup> = of(Fate::New).map(|one| remark(page, one)).collect();
    let standing: Vec<Markup> = of(Fate::Stands).map(|one| remark(page, one)).collect();
    html! {
        @if !new.is_empty() { h3 { "New" } (list(&new)) }
        @if !settled.is_empty() { h3 { "Settled" } p.soft { "Where they were in the last draft:" } (list(&settled)) }
        @if !standing.is_empty() {
            details { summary { (standing.len()) @if standing.len() == 1 { " stands" } @else { " stand" } } (list(&standing)) }
        }
    }
}

fn list(all: &[Markup]) -> Markup {
    html! {
        ul {
            @for one in all.iter().take(NAMED) { li { (one) } }
            @if all.len() > NAMED { li.soft { "and " (all.len() - NAMED) " more" } }
        }
    }
}

/// A remark in a line, its place a link to where the page tells it.
fn remark(page: &Page<'_>, one: &Remark) -> Markup {
    let place = whereabouts(one, &page.report.bars, &page.report.voices);
    html! {
        @match page.place_of(one) {
            Some(id) => a href={ "#" (id) } { (place) },
            None => (place),
        }
        ": " (one.message)
    }
}
