//! One element of an XML text with all that is in it, borrowed from the text. No entity is looked up
//! but the five that XML has and characters by number.

use quick_xml::Reader;
use quick_xml::errors::{Error, SyntaxError};
use quick_xml::events::attributes::Attributes;
use quick_xml::events::{BytesStart, Event};
use std::borrow::Cow;

/// More elements than any measure has; what goes beyond is no score.
const MOST: usize = 2_000_000;

struct Node<'a> {
    name: &'a str,
    attributes: &'a str,
    text: Cow<'a, str>,
    first: u32,
    last: u32,
    next: u32,
}

const NONE: u32 = u32::MAX;

/// The elements, used again for one measure after another.
#[derive(Default)]
pub(super) struct Tree<'a> {
    nodes: Vec<Node<'a>>,
}

/// A text being read, event by event.
pub(super) struct Source<'a> {
    text: &'a str,
    reader: Reader<&'a [u8]>,
}

/// What comes next in the text.
pub(super) enum Next<'a> {
    /// An element begins: its name and attributes, and whether it is already over.
    Start(Tag<'a>),
    /// The element that was open is over.
    End,
    /// The text is over.
    Done,
}

/// The head of an element.
#[derive(Clone, Copy)]
pub(super) struct Tag<'a> {
    pub(super) name: &'a str,
    attributes: &'a str,
    pub(super) empty: bool,
}

impl<'a> Tag<'a> {
    pub(super) fn attribute(&self, name: &str) -> Option<Cow<'a, str>> {
        attribute(self.attributes, name)
    }
}

impl<'a> Source<'a> {
    pub(super) fn new(text: &'a str) -> Source<'a> {
        Source { text, reader: Reader::from_str(text) }
    }

    /// The next beginning or end of an element; text between is passed over.
    pub(super) fn next(&mut self) -> Result<Next<'a>, String> {
        loop {
            match self.event()? {
                Event::Start(start) => return Ok(Next::Start(self.tag(&start, false))),
                Event::Empty(start) => return Ok(Next::Start(self.tag(&start, true))),
                Event::End(_) => return Ok(Next::End),
                Event::Eof => return Ok(Next::Done),
                _ => {}
            }
        }
    }

    /// Passes over the rest of an element.
    pub(super) fn skip(&mut self, tag: Tag<'a>) -> Result<(), String> {
        let mut depth = u32::from(!tag.empty);
        while depth > 0 {
            match self.next()? {
                Next::Start(inner) => depth += u32::from(!inner.empty),
                Next::End => depth -= 1,
                Next::Done => return Err(self.cut_short()),
            }
        }
        Ok(())
    }

    pub(super) fn cut_short(&self) -> String {
        "the file ends in the middle; something of it is missing".to_owned()
    }

    fn event(&mut self) -> Result<Event<'a>, String> {
        self.reader.read_event().map_err(|error| match error {
            // Something is opened whose end the text does not have.
            Error::Syntax(SyntaxError::InvalidBangMarkup) => self.not_well_formed(),
            Error::Syntax(_) => self.cut_short(),
            _ => self.not_well_formed(),
        })
    }

    fn not_well_formed(&self) -> String {
        let at = usize::try_from(self.reader.error_position()).unwrap_or(0);
        let read = self.text.as_bytes().get(..at).unwrap_or(self.text.as_bytes());
        let line = read.iter().filter(|byte| **byte == b'\n').count() + 1;
        format!("line {line} is not well-formed XML")
    }

    fn tag(&self, start: &BytesStart<'a>, empty: bool) -> Tag<'a> {
        // The event lends its text only for as long as it lives; the same bytes stand in the source.
        let end = self.reader.buffer_position() as usize - if empty { 2 } else { 1 };
        let name = start.name().0.len();
        let whole = end.checked_sub(start.len()).and_then(|from| self.text.get(from..end));
        let (name, attributes) =
            whole.unwrap_or_default().split_at_checked(name).unwrap_or_default();
        let name = name.rsplit(':').next().unwrap_or(name);
        Tag { name, attributes, empty }
    }
}

impl<'a> Tree<'a> {
    /// Reads the element that `tag` opens, to its end, in place of what was read before.
    pub(super) fn read(&mut self, tag: Tag<'a>, source: &mut Source<'a>) -> Result<(), String> {
        self.nodes.clear();
        self.push(tag)?;
        let mut open: Vec<u32> = if tag.empty { Vec::new() } else { vec![0] };
        while let Some(&parent) = open.last() {
            match source.event()? {
                Event::Start(start) => {
                    let index = self.add(source.tag(&start, false), parent)?;
                    open.push(index);
                }
                Event::Empty(start) => {
                    self.add(source.tag(&start, true), parent)?;
                }
                Event::End(_) => {
                    open.pop();
                }
                Event::Text(text) => self.say(parent, text.into_inner()),
                Event::CData(text) => self.say(parent, text.into_inner()),
                Event::GeneralRef(name) => {
                    let meant = match name.resolve_char_ref() {
                        Ok(Some(c)) => c.to_string(),
                        _ => named_entity(&name.into_inner())?.to_owned(),
                    };
                    self.say(parent, Cow::Owned(meant));
                }
                Event::Eof => return Err(source.cut_short()),
                _ => {}
            }
        }
        Ok(())
    }

    fn push(&mut self, tag: Tag<'a>) -> Result<u32, String> {
        if self.nodes.len() >= MOST {
            return Err("one measure holds more than any score needs".to_owned());
        }
        let Tag { name, attributes, .. } = tag;
        let text = Cow::Borrowed("");
        self.nodes.push(Node { name, attributes, text, first: NONE, last: NONE, next: NONE });
        Ok(self.nodes.len() as u32 - 1)
    }

    fn add(&mut self, tag: Tag<'a>, parent: u32) -> Result<u32, String> {
        let index = self.push(tag)?;
        let before = self.nodes.get_mut(parent as usize).map_or(NONE, |node| {
            if node.first == NONE {
                node.first = index;
            }
            std::mem::replace(&mut node.last, index)
        });
        if let Some(before) = self.nodes.get_mut(before as usize) {
            before.next = index;
        }
        Ok(index)
    }

    fn say(&mut self, parent: u32, text: Cow<'a, str>) {
        let Some(node) = self.nodes.get_mut(parent as usize) else { return };
        if !node.text.is_empty() {
            node.text.to_mut().push_str(&text);
        } else if node.first == NONE && !text.bytes().all(|byte| byte.is_ascii_whitespace()) {
            node.text = text;
        }
    }

    /// The element that was read.
    pub(super) fn root(&self) -> Element<'_, 'a> {
        Element { tree: self, index: 0 }
    }
}

/// `&name;` as XML itself has it; what a document declares of its own is not looked up.
fn named_entity(name: &str) -> Result<&'static str, String> {
    Ok(match name {
        "amp" => "&",
        "lt" => "<",
        "gt" => ">",
        "quot" => "\"",
        "apos" => "'",
        _ => {
            return Err(format!(
                "it uses “&{name};”, an entity of its own or of another file, and these are not looked up"
            ));
        }
    })
}

fn attribute<'a>(attributes: &'a str, name: &str) -> Option<Cow<'a, str>> {
    if attributes.is_empty() {
        return None;
    }
    let found = Attributes::new(attributes, 0)
        .with_checks(false)
        .filter_map(Result::ok)
        .find(|attribute| attribute.key.as_ref() == name)?;
    let value = match found.value {
        Cow::Borrowed(text) => text,
        Cow::Owned(text) => return Some(Cow::Owned(text)),
    };
    Some(quick_xml::escape::unescape(value).unwrap_or(Cow::Borrowed(value)))
}

/// An element of the tree.
#[derive(Clone, Copy)]
pub(super) struct Element<'t, 'a> {
    tree: &'t Tree<'a>,
    index: u32,
}

impl<'t, 'a> Element<'t, 'a> {
    fn node(&self) -> &'t Node<'a> {
        // Elements are made with the index of a node only.
        &self.tree.nodes[self.index as usize]
    }

    pub(super) fn name(&self) -> &'a str {
        self.node().name
    }

    /// Its text, without white space at both ends.
    pub(super) fn text(&self) -> &'t str {
        self.node().text.trim_ascii()
    }

    /// Its text as it stands.
    pub(super) fn full_text(&self) -> &'t str {
        &self.node().text
    }

    pub(super) fn attribute(&self, name: &str) -> Option<Cow<'a, str>> {
        attribute(self.node().attributes, name)
    }

    pub(super) fn attribute_is(&self, name: &str, value: &str) -> bool {
        self.attribute(name).is_some_and(|found| found == value)
    }

    pub(super) fn children(&self) -> Children<'t, 'a> {
        Children { tree: self.tree, next: self.node().first }
    }

    pub(super) fn child(&self, name: &str) -> Option<Element<'t, 'a>> {
        self.children().find(|child| child.name() == name)
    }

    pub(super) fn all<'n>(
        &self,
        name: &'n str,
    ) -> impl Iterator<Item = Element<'t, 'a>> + use<'t, 'a, 'n> {
        self.children().filter(move |child| child.name() == name)
    }

    /// The text of a child; empty if there is none.
    pub(super) fn text_of(&self, name: &str) -> &'t str {
        self.child(name).map_or("", |child| child.text())
    }

    /// The number a child holds.
    pub(super) fn number<T: std::str::FromStr>(&self, name: &str) -> Option<T> {
        self.text_of(name).parse().ok()
    }
}

pub(super) struct Children<'t, 'a> {
    tree: &'t Tree<'a>,
    next: u32,
}

impl<'t, 'a> Iterator for Children<'t, 'a> {
    type Item = Element<'t, 'a>;
    fn next(&mut self) -> Option<Element<'t, 'a>> {
        let index = self.next;
        self.next = self.tree.nodes.get(index as usize)?.next;
        Some(Element { tree: self.tree, index })
    }
}
