//! What stands before the music: titles, authors, the list of parts, text on the first page.

use super::measure::PartReader;
use super::tree::Element;
use crate::sheet::{Notice, PartGroup, Sheet};

#[derive(Default)]
pub(super) struct HeadReader {
    work: Vec<String>,
    movement: Vec<String>,
    /// Text on the page: what kind it is said to be, and the text.
    credits: Vec<(String, String)>,
    /// Open groups by their number.
    open: Vec<(String, PartGroup)>,
}

impl HeadReader {
    pub(super) fn take(
        &mut self,
        element: Element<'_, '_>,
        sheet: &mut Sheet,
        parts: &mut Vec<PartReader>,
    ) {
        match element.name() {
            "work" => {
                self.work.extend(said(element.text_of("work-title")));
                self.work.extend(said(element.text_of("work-number")));
            }
            "movement-title" => self.movement.extend(said(element.text())),
            "movement-number" => self.movement.extend(said(element.text())),
            "identification" => identification(element, sheet),
            "credit" => self.credit(element),
            "part-list" => self.part_list(element, sheet, parts),
            _ => {}
        }
    }

    fn credit(&mut self, credit: Element<'_, '_>) {
        if credit.attribute("page").is_some_and(|page| page.trim() != "1") {
            return;
        }
        let words: Vec<&str> = credit.all("credit-words").map(|words| words.text()).collect();
        if let Some(text) = said(&words.join(" ")) {
            self.credits.push((credit.text_of("credit-type").to_owned(), text));
        }
    }

    fn part_list(&mut self, list: Element<'_, '_>, sheet: &mut Sheet, parts: &mut Vec<PartReader>) {
        for element in list.children() {
            match element.name() {
                "score-part" => score_part(element, sheet, parts),
                "part-group" => self.part_group(element, sheet, parts.len()),
                _ => {}
            }
        }
        for (_, group) in self.open.drain(..) {
            close(group, parts.len(), sheet);
        }
    }

    fn part_group(&mut self, element: Element<'_, '_>, sheet: &mut Sheet, next: usize) {
        let number = element.attribute("number").unwrap_or_default().into_owned();
        if element.attribute_is("type", "stop") {
            if let Some(place) = self.open.iter().rposition(|(open, _)| *open == number) {
                close(self.open.remove(place).1, next, sheet);
            }
            return;
        }
        if let Some(name) = said(element.text_of("group-name")) {
            let what = format!("the name of a group of parts, “{name}”, is left out");
            sheet.notices.push(Notice { part: None, measure: None, what });
        }
        let symbol = element.text_of("group-symbol");
        let group = PartGroup {
            first: next,
            last: next,
            brace: symbol == "brace",
            drawn: !symbol.is_empty() && symbol != "none",
            bars_joined: matches!(element.text_of("group-barline"), "yes" | "Mensurstrich"),
        };
        self.open.push((number, group));
    }

    /// Titles, and text on the page that is held nowhere else.
    pub(super) fn finish(self, sheet: &mut Sheet) {
        let head = &mut sheet.head;
        let mut titles = self.work;
        titles.extend(self.movement);
        let of = |kind: &'static str| self.credits.iter().filter(move |(known, _)| known == kind);
        if titles.is_empty() {
            titles.extend(of("title").map(|(_, text)| text.clone()));
        }
        titles.extend(of("subtitle").map(|(_, text)| text.clone()));
        for title in titles {
            if !head.titles.contains(&title) {
                head.titles.push(title);
            }
        }
        if head.composers.is_empty() {
            head.composers.extend(of("composer").map(|(_, text)| text.clone()));
        }
        let mut held: Vec<String> = Vec::new();
        for text in head.titles.iter().chain(&head.composers).chain(&head.notes) {
            held.push(plain(text));
        }
        for (kind, text) in &self.credits {
            let own = plain(text);
            if kind != "page number" && !held.iter().any(|known| known.contains(&own)) {
                head.notes.push(text.clone());
                held.push(own);
            }
        }
    }
}

/// Letters and digits only, to compare by.
fn plain(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// A text in one line, if it says anything.
fn said(text: &str) -> Option<String> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    (!text.is_empty()).then_some(text)
}

fn close(mut group: PartGroup, next: usize, sheet: &mut Sheet) {
    if next > group.first {
        group.last = next - 1;
        sheet.groups.push(group);
    }
}

fn identification(element: Element<'_, '_>, sheet: &mut Sheet) {
    for child in element.children() {
        let Some(text) = said(child.text()) else { continue };
        match child.name() {
            "creator" => match child.attribute("type").unwrap_or_default().as_ref() {
                "composer" | "" => sheet.head.composers.push(text),
                "arranger" => sheet.head.composers.push(format!("arr. {text}")),
                "lyricist" | "poet" => sheet.head.notes.push(format!("Words: {text}")),
                other => sheet.head.notes.push(format!("{other}: {text}")),
            },
            "rights" => sheet.head.notes.push(text),
            "source" => sheet.head.source = Some(text),
            _ => {}
        }
    }
}

fn score_part(element: Element<'_, '_>, sheet: &mut Sheet, parts: &mut Vec<PartReader>) {
    let id = element.attribute("id").unwrap_or_default();
    let mut part = PartReader::new(parts.len(), &id);
    part.part.name = said(element.text_of("part-name")).unwrap_or_default();
    part.part.abbreviation = said(element.text_of("part-abbreviation")).unwrap_or_default();
    let mut instruments = element.all("score-instrument");
    if let Some(instrument) = instruments.next() {
        part.part.instrument = said(instrument.text_of("instrument-name")).unwrap_or_default();
    }
    if instruments.next().is_some() {
        let what =
            "which of several instruments plays a note is told by its place on the staff only";
        sheet.notices.push(Notice { part: Some(part.index), measure: None, what: what.to_owned() });
    }
    parts.push(part);
}
