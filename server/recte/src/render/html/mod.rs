//! A report as one HTML page that needs nothing else: its style, its script and its sounds are in it, and its policy
//! allows nothing from outside.

mod bars;
mod frame;
mod harmony;
mod index;
mod method;
mod opening;
mod parts;
mod pictures;
mod places;
mod since;
mod sound;
mod staff;
mod texture;

pub(crate) use frame::OURS;
pub(crate) use index::index;

use maud::{Markup, html};
use recte_assist::report::{Sounds, TuneReport, intro, title};
use recte_review::{Chapter, Reader, Template};
use std::collections::BTreeSet;

/// A tune of a batch.
pub(crate) struct Sheet<'a> {
    /// What is said of it.
    pub(crate) report: &'a TuneReport,
    /// What its score is called.
    pub(crate) path: &'a str,
    /// Its number, where its score holds several.
    pub(crate) number: Option<&'a str>,
    /// The reviewer's template.
    pub(crate) template: &'a Template,
}

/// A page in the making: the proposals that can be heard, in the order they are shown.
struct Page<'a> {
    report: &'a TuneReport,
    template: &'a Template,
    proposals: Vec<&'a Sounds>,
    /// The rules that were named, for the pages about them.
    rules: Vec<&'static str>,
    /// The signs of music that its staves are drawn with.
    outlines: staff::Outlines,
    /// The remarks that were told, by their place in the report.
    places: BTreeSet<usize>,
}

/// The page of a tune.
pub(crate) fn page(sheet: &Sheet<'_>) -> String {
    let mut page = Page {
        report: sheet.report,
        template: sheet.template,
        proposals: Vec::new(),
        rules: Vec::new(),
        outlines: staff::Outlines::new(),
        places: BTreeSet::new(),
    };
    let chapters = sheet.template.chapters();
    let mut body: Vec<Markup> = Vec::new();
    let mut since = None;
    for chapter in chapters.iter().filter(|chapter| **chapter != Chapter::Method) {
        let inner = match chapter {
            Chapter::Piece => opening::piece(&page),
            Chapter::Standout => opening::standout(&page),
            Chapter::Since => {
                since = Some(body.len());
                None
            }
            Chapter::Bars => bars::bars(&mut page),
            Chapter::Cautions => opening::cautions(&page),
            Chapter::Harmony => harmony::harmony(&mut page),
            Chapter::Parts => parts::parts(&mut page),
            Chapter::Layers => texture::layers(&mut page),
            Chapter::Form => texture::form(&mut page),
            Chapter::Curves => texture::curves(&page),
            Chapter::Likeness => texture::likeness(&page),
            Chapter::Method => None,
        };
        body.extend(inner.map(|inner| page.chapter(*chapter, inner)));
    }
    let last = since.zip(since::since(&page));
    if let Some((at, inner)) = last {
        body.insert(at, page.chapter(Chapter::Since, inner));
    }
    // What figures refer to is there in any case; the template decides whether it is a chapter or folded away.
    let method = method::method(&page, chapters.contains(&Chapter::Method));
    let outlines = staff::outlines(&page.outlines).unwrap_or_default();
    let sounds = sound::json(sheet.report, &page.proposals);
    let parts = sound::parts(sheet.report);
    frame::frame(&frame::Frame {
        title: &sheet.report.title,
        header: opening::header(&page, sheet, &chapters),
        main: html! { (outlines) @for one in &body { (one) } (opening::closing(&page)) (method) },
        sounds: Some((sounds, &parts)),
    })
}

impl<'a> Page<'a> {
    /// A chapter with its heading and, for a student, what it shows.
    fn chapter(&self, chapter: Chapter, inner: Markup) -> Markup {
        let intro = intro(chapter);
        html! {
            section id=(chapter.name()) aria-labelledby={ "h-" (chapter.name()) } {
                h2 id={ "h-" (chapter.name()) } { (title(chapter)) }
                @if self.is_for_a_student() && !intro.is_empty() { p.intro { (intro) } }
                (inner)
            }
        }
    }

    fn is_for_a_student(&self) -> bool {
        self.template.reader == Reader::Student
    }

    /// A control that plays some bars.
    fn play(&self, from: u32, to: u32) -> Markup {
        let name = self.report.bars.span(from, to);
        html! {
            button type="button" hidden aria-pressed="false" data-from=(from) data-to=(to) data-name=(name)
                aria-label={ "Hear " (name) } { "▶ Hear" }
        }
    }

    /// A control that plays some bars as they are proposed.
    fn play_proposal(&mut self, from: u32, to: u32, sounds: &'a Sounds) -> Markup {
        let name = format!("{} as proposed", self.report.bars.span(from, to));
        let at = self.proposals.len();
        self.proposals.push(sounds);
        html! {
            button type="button" hidden aria-pressed="false" data-from=(from) data-to=(to) data-proposal=(at)
                data-name=(name) aria-label={ "Hear it so: " (name) } { "▶ Hear it so" }
        }
    }

    /// A rule's name, as a link to its page.
    fn rule(&mut self, rule: &'static str) -> Markup {
        if !self.rules.contains(&rule) {
            self.rules.push(rule);
        }
        html! { a.how href={ "#rule-" (rule) } { (rule) } }
    }
}

/// A figure, as a link to how it was worked out.
fn how(id: &str, shown: impl maud::Render) -> Markup {
    html! { a.how href={ "#how-" (id) } { (shown) } }
}
