//! The first page of a batch: each score with its remarks by family, the longest to review first.

use super::frame::{Frame, frame};
use crate::render::table::Line;
use maud::html;
use recte_assist::report::duration;
use recte_review::Family;

/// The index of some reports; `pages` are where they lie, line by line.
pub(crate) fn index(
    lines: &[Line],
    pages: &[String],
    greeting: &str,
    gone: &[String],
    unread: &[String],
) -> String {
    let all: usize = lines.iter().map(|line| line.remarks).sum();
    frame(&Frame {
        title: "Scores that were read",
        header: html! {
            h1 { "Scores that were read" }
            p.by {
                (lines.len()) @if lines.len() == 1 { " tune, " } @else { " tunes, " }
                (all) @if all == 1 { " remark" } @else { " remarks" }
                ". The one with most to settle comes first."
            }
            @for one in greeting.split("\n\n").map(str::trim).filter(|one| !one.is_empty()) { p { (one) } }
        },
        main: html! {
            table.wide {
                caption { "Remarks by family" }
                thead {
                    tr {
                        th scope="col" { "Score" } th.n scope="col" { "Bars" } th scope="col" { "Length" }
                        th.n scope="col" { "To settle" } th.n scope="col" { "All" }
                        @for family in Family::ALL { th.n scope="col" { (family.name()) } }
                    }
                }
                tbody {
                    @for (line, page) in lines.iter().zip(pages) {
                        tr {
                            th scope="row" { a href=(page) { (line.title) } div.soft { (line.path) } }
                            td.n data-name="Bars" { (line.bars) }
                            td.brief data-name="Length" { (line.seconds.map_or("–".to_owned(), duration)) }
                            td.n data-name="To settle" { (line.to_settle) }
                            td.n data-name="All" { (line.remarks) }
                            @for (family, count) in Family::ALL.iter().zip(line.families) {
                                td.n data-name=(family.name()) { (count) }
                            }
                        }
                    }
                }
            }
            @for (head, all) in [("Only in the last draft", gone), ("Not read", unread)] {
                @if !all.is_empty() {
                    h2 { (head) }
                    ul { @for one in all { li { (one) } } }
                }
            }
        },
        sounds: None,
    })
}
