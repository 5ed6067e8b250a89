//! What stands before the music: titles, authors, the list of parts, text on the first page.

use super::measure::PartReader;
use super::tree::Element;
use crate::musicxml::{FIELDS, NUMBER, PART_ORDER, TITLE};
use crate::sheet::{Head, Notice, PartGroup, Sheet};

#[derive(Default)]
pub(super) struct HeadReader {
    work: Vec<String>,
    movement: Vec<String>,
    /// Titles beyond the two that have an element.
    more: Vec<String>,
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
            "identification" => self.identification(element, sheet),
            "credit" => self.credit(element),
            "part-list" => self.part_list(element, sheet, parts),
            _ => {}
        }
    }

    fn identification(&mut self, element: Element<'_, '_>, sheet: &mut Sheet) {
        let Head { composers, fields, .. } = &mut sheet.head;
        for child in element.children() {
            match child.name() {
                "encoding" => {
                    let names = child.all("encoder").filter_map(|name| said(name.text()));
                    fields.extend(names.map(|name| ('Z', name)));
                    // A score that says it has beams has none where none are written.
                    sheet.beamed |= child.all("supports").any(|what| {
                        what.attribute_is("element", "beam") && what.attribute_is("type", "yes")
                    });
                }
                "miscellaneous" => {
                    for field in child.all("miscellaneous-field") {
                        self.miscellaneous(field, &mut sheet.head);
                    }
                    return;
                }
                name => {
                    let Some(text) = said(child.text()) else { continue };
                    let kind = child.attribute("type").unwrap_or_default();
                    match (name, kind.as_ref()) {
                        ("creator", "composer" | "") => composers.push(text),
                        ("creator", "arranger") => composers.push(format!("arr. {text}")),
                        ("creator", "lyricist" | "poet") => {
                            fields.push(('N', format!("Words: {text}")))
                        }
                        ("creator", "encoder" | "transcriber") => fields.push(('Z', text)),
                        ("creator", other) => fields.push(('N', format!("{other}: {text}"))),
                        ("rights", _) => fields.push(('N', text)),
                        ("source", _) => fields.push(('S', text)),
                        _ => {}
                    }
                }
            }
        }
    }

    /// What has no element of its own. Those that are named as a field is are that field.
    fn miscellaneous(&mut self, element: Element<'_, '_>, head: &mut Head) {
        let Some(text) = said(element.text()) else { return };
        let name = element.attribute("name").unwrap_or_default();
        match name.as_ref() {
            NUMBER => head.number = Some(text),
            TITLE => self.more.push(text),
            PART_ORDER => head.part_order = Some(text),
            name => match FIELDS.iter().find(|(_, known)| *known == name) {
                Some((letter, _)) => head.fields.push((*letter, text)),
                None => head.fields.push(('N', format!("{name}: {text}"))),
            },
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
        titles.extend(self.more);
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
        for text in
            head.titles.iter().chain(&head.composers).chain(head.fields.iter().map(|f| &f.1))
        {
            held.push(plain(text));
        }
        for (kind, text) in &self.credits {
            let own = plain(text);
            if kind != "page number" && !held.iter().any(|known| known.contains(&own)) {
                head.fields.push(('N', text.clone()));
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
    let words = text.split([' ', '\t', '\n', '\r']).filter(|word| !word.is_empty());
    let text = words.collect::<Vec<_>>().join(" ");
    (!text.is_empty()).then_some(text)
}

fn close(mut group: PartGroup, next: usize, sheet: &mut Sheet) {
    if next > group.first {
        group.last = next - 1;
        sheet.groups.push(group);
    }
}

fn score_part(element: Element<'_, '_>, sheet: &mut Sheet, parts: &mut Vec<PartReader>) {
    let id = element.attribute("id").unwrap_or_default();
    let mut part = PartReader::new(parts.len(), &id);
    let name = element.child("part-name");
    let text = name.and_then(|name| said(name.text())).unwrap_or_default();
    match name.is_some_and(|name| name.attribute_is("print-object", "no")) {
        true => part.part.called = text,
        false => part.part.name = text,
    }
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
