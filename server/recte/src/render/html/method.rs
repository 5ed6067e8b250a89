//! How each figure was worked out, and the page of each rule that was named.

use super::Page;
use maud::{Markup, PreEscaped, html};
use pulldown_cmark::{Event, Parser, Tag, TagEnd};
use recte_assist::report::title;
use recte_review::{Chapter, find_rule};

/// The notes; folded away where the template does not ask for them, since figures refer to them.
pub(super) fn method(page: &Page<'_>, asked: bool) -> Markup {
    let mut rules = page.rules.clone();
    rules.sort_unstable();
    let notes = html! {
        dl.methods {
            @for one in page.report.methods() {
                dt id={ "how-" (one.id) } { (one.title) }
                dd { span.screen { (one.text) " " } span.soft { "Source: " (one.source) } }
            }
        }
        @if !rules.is_empty() {
            details open[false] {
                summary { "The rules that were named, each with its source" }
                @for rule in rules { (page_of(rule)) }
            }
        }
    };
    let name = Chapter::Method.name();
    html! {
        section id=(name) aria-labelledby={ "h-" (name) } {
            h2 id={ "h-" (name) } { (title(Chapter::Method)) }
            @if asked { (notes) } @else { details { summary { "Notes on method, with sources" } (notes) } }
        }
    }
}

/// A rule's own page, its examples left out.
fn page_of(rule: &str) -> Markup {
    let Some(known) = find_rule(rule) else {
        return html! { div.rule id={ "rule-" (rule) } { h3 { (rule) } p { "Said of the text itself." } } };
    };
    html! {
        div.rule id={ "rule-" (rule) } {
            h3 { (rule) }
            (PreEscaped(without_examples(known.doc)))
        }
    }
}

fn without_examples(doc: &str) -> String {
    let mut inside = false;
    let events = Parser::new(doc).filter_map(|event| match event {
        Event::Start(Tag::CodeBlock(_)) => {
            inside = true;
            None
        }
        Event::End(TagEnd::CodeBlock) => {
            inside = false;
            None
        }
        _ if inside => None,
        // The title goes under the rule's name.
        Event::Start(Tag::Heading { .. }) => Some(Event::Start(Tag::Paragraph)),
        Event::End(TagEnd::Heading(_)) => Some(Event::End(TagEnd::Paragraph)),
        // Nothing of a page is markup of its own.
        Event::Html(text) | Event::InlineHtml(text) => Some(Event::Text(text)),
        other => Some(other),
    });
    let mut text = String::new();
    pulldown_cmark::html::push_html(&mut text, events);
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rules_page_has_its_source_and_no_music() {
        for rule in recte_review::RULES.iter() {
            let text = without_examples(rule.doc);
            assert!(
                text.contains("Source") && !text.contains("<pre") && !text.contains("<h"),
                "{text}"
            );
        }
        assert_eq!(without_examples("a <b> c\n"), "<p>a &lt;b&gt; c</p>\n");
    }
}
