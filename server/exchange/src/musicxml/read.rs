//! MusicXML 4.0 (W3C Community Group report) and its earlier versions, partwise and timewise,
//! compressed or not, read as a [`Sheet`]. Layout, fonts and playback settings are not music and are passed over.

mod attributes;
mod barline;
mod direction;
mod figures;
mod harmony;
mod head;
mod measure;
mod notations;
mod note;
#[cfg(test)]
mod tests;
mod tree;
mod unpack;
mod unprinted;

use crate::sheet::{Notice, Sheet};
use measure::PartReader;
pub(crate) use note::natural_ratio;
use tree::{Next, Source, Tag, Tree};

/// More measures than any score has.
const MOST_MEASURES: usize = 20_000;
/// More parts than any score has.
const MOST_PARTS: usize = 1000;

/// Reads a score.
///
/// # Errors
/// A sentence without its full stop, when the bytes are no score or contradict themselves.
pub(crate) fn sheet(bytes: &[u8]) -> Result<Sheet, String> {
    let text = unpack::text(bytes)?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    if !text.trim_start().starts_with('<') {
        return Err(unpack::not_a_score());
    }
    let mut document = Document {
        source: Source::new(text),
        tree: Tree::default(),
        sheet: Sheet::default(),
        parts: Vec::new(),
        head: head::HeadReader::default(),
    };
    document.read()?;
    document.finish()
}

struct Document<'a> {
    source: Source<'a>,
    tree: Tree<'a>,
    sheet: Sheet,
    parts: Vec<PartReader>,
    head: head::HeadReader,
}

impl<'a> Document<'a> {
    fn read(&mut self) -> Result<(), String> {
        let root = loop {
            match self.source.next()? {
                Next::Start(tag) => break tag,
                Next::End => {}
                Next::Done => return Err(unpack::not_a_score()),
            }
        };
        let by_part = match root.name {
            "score-partwise" => true,
            "score-timewise" => false,
            "opus" => {
                return Err("this is a list of scores, not a score; name the scores".to_owned());
            }
            _ => return Err(unpack::not_a_score()),
        };
        if root.empty {
            return Err("there is no part in this score".to_owned());
        }
        loop {
            match self.source.next()? {
                Next::Start(tag) if tag.name == "part" && by_part => self.part(tag)?,
                Next::Start(tag) if tag.name == "measure" && !by_part => self.measures(tag)?,
                Next::Start(tag) => {
                    self.tree.read(tag, &mut self.source)?;
                    self.head.take(self.tree.root(), &mut self.sheet, &mut self.parts);
                    if self.parts.len() > MOST_PARTS {
                        return Err(format!("there are more than {MOST_PARTS} parts in it"));
                    }
                }
                Next::End => return Ok(()),
                Next::Done => return Err(self.source.cut_short()),
            }
        }
    }

    /// A part with its measures.
    fn part(&mut self, tag: Tag<'a>) -> Result<(), String> {
        let place = self.part_named(&tag.attribute("id").unwrap_or_default())?;
        let mut open = !tag.empty;
        while open {
            match self.source.next().map_err(|why| self.inside(place, why))? {
                Next::Start(tag) if tag.name == "measure" => {
                    let index = self.parts.get(place).map_or(0, |part| part.part.measures.len());
                    self.name_measure(index, &tag)?;
                    self.one_measure(place, index, tag)?;
                }
                Next::Start(tag) => self.source.skip(tag)?,
                Next::End => open = false,
                Next::Done => return Err(self.inside(place, self.source.cut_short())),
            }
        }
        Ok(())
    }

    /// A measure with its parts.
    fn measures(&mut self, tag: Tag<'a>) -> Result<(), String> {
        let index = self.sheet.numbers.len();
        self.name_measure(index, &tag)?;
        let mut open = !tag.empty;
        while open {
            match self.source.next()? {
                Next::Start(tag) if tag.name == "part" => {
                    let place = self.part_named(&tag.attribute("id").unwrap_or_default())?;
                    self.one_measure(place, index, tag)?;
                }
                Next::Start(tag) => self.source.skip(tag)?,
                Next::End => open = false,
                Next::Done => return Err(self.source.cut_short()),
            }
        }
        Ok(())
    }

    fn one_measure(&mut self, place: usize, index: usize, tag: Tag<'a>) -> Result<(), String> {
        let read = self.tree.read(tag, &mut self.source);
        let read = read.and_then(|()| match self.parts.get_mut(place) {
            Some(part) => part.measure(index, self.tree.root(), &mut self.sheet),
            None => Ok(()),
        });
        read.map_err(|why| self.at(place, index, &why))
    }

    fn at(&self, place: usize, index: usize, why: &str) -> String {
        let label = self.parts.get(place).map_or("", |part| part.label());
        let number = self.sheet.numbers.get(index).map_or("", String::as_str);
        format!("part “{label}”, measure {number}: {why}")
    }

    fn inside(&self, place: usize, why: String) -> String {
        let last = self.parts.get(place).map_or(0, |part| part.part.measures.len());
        match last.checked_sub(1) {
            Some(last) => self.at(place, last, &why).replacen("measure", "after measure", 1),
            None => why,
        }
    }

    fn name_measure(&mut self, index: usize, tag: &Tag<'a>) -> Result<(), String> {
        if index >= MOST_MEASURES {
            return Err(format!("there are more than {MOST_MEASURES} measures in it"));
        }
        if index >= self.sheet.numbers.len() {
            let number = tag.attribute("number").unwrap_or_default();
            self.sheet.numbers.push(number.trim().to_owned());
            self.sheet.lines.push(Default::default());
        }
        Ok(())
    }

    fn part_named(&mut self, id: &str) -> Result<usize, String> {
        if let Some(place) = self.parts.iter().position(|part| part.part.id == id) {
            return Ok(place);
        }
        if self.parts.len() >= MOST_PARTS {
            return Err(format!("there are more than {MOST_PARTS} parts in it"));
        }
        let mut part = PartReader::new(self.parts.len(), id);
        part.part.name = id.to_owned();
        let index = part.index;
        self.parts.push(part);
        let what = format!("the part “{id}” is in no list of parts; it is taken in");
        self.sheet.notices.push(Notice { part: Some(index), measure: None, what });
        Ok(self.parts.len() - 1)
    }

    fn finish(mut self) -> Result<Sheet, String> {
        let count = self.sheet.numbers.len();
        if count == 0 {
            return Err("there is no measure in this score".to_owned());
        }
        for part in &self.parts {
            let missing = count.saturating_sub(part.part.measures.len());
            let what = match missing {
                0 => continue,
                _ if missing == count => "the part is listed and has no music".to_owned(),
                1 => "the last measure is missing".to_owned(),
                _ => format!("the last {missing} measures are missing"),
            };
            self.sheet.notices.push(Notice { part: Some(part.index), measure: None, what });
        }
        self.head.finish(&mut self.sheet);
        for part in &mut self.parts {
            part.finish(count, &mut self.sheet);
        }
        self.sheet.parts = self.parts.into_iter().map(|part| part.part).collect();
        Ok(self.sheet)
    }
}
