//! Elements, attributes and text, indented.

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};
use std::borrow::Cow;
use std::io;

/// Attributes of an element.
pub(super) type Attributes<'a> = &'a [(&'a str, &'a str)];

/// A document being written. The first failure is kept until the end.
pub(super) struct Xml {
    writer: Writer<Vec<u8>>,
    failed: io::Result<()>,
}

impl Xml {
    pub(super) fn new(doctype: Option<&str>) -> Xml {
        let mut xml = Xml { writer: Writer::new_with_indent(Vec::new(), b' ', 2), failed: Ok(()) };
        xml.event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)));
        if let Some(doctype) = doctype {
            xml.event(Event::DocType(BytesText::from_escaped(doctype)));
        }
        xml
    }

    fn event(&mut self, event: Event<'_>) {
        if self.failed.is_ok() {
            self.failed = self.writer.write_event(event);
        }
    }

    /// `<name …>`, what `inside` writes, `</name>`.
    pub(super) fn within(
        &mut self,
        name: &str,
        attributes: Attributes<'_>,
        inside: impl FnOnce(&mut Xml),
    ) {
        self.open(name, attributes);
        inside(self);
        self.close(name);
    }

    /// `<name …>`; [`Xml::close`] ends it.
    pub(super) fn open(&mut self, name: &str, attributes: Attributes<'_>) {
        self.event(Event::Start(start(name, attributes)));
    }

    /// `</name>`.
    pub(super) fn close(&mut self, name: &str) {
        self.event(Event::End(BytesEnd::new(name)));
    }

    /// `<name …/>`.
    pub(super) fn empty(&mut self, name: &str, attributes: Attributes<'_>) {
        self.event(Event::Empty(start(name, attributes)));
    }

    /// `<name …>text</name>`.
    pub(super) fn text(&mut self, name: &str, attributes: Attributes<'_>, text: &str) {
        self.within(name, attributes, |xml| xml.event(Event::Text(BytesText::new(&legal(text)))));
    }

    /// `<name>number</name>`.
    pub(super) fn number(&mut self, name: &str, number: i64) {
        self.text(name, &[], &number.to_string());
    }

    /// The document.
    ///
    /// # Errors
    /// The first failure to write.
    pub(super) fn finish(self) -> io::Result<Vec<u8>> {
        self.failed?;
        let mut bytes = self.writer.into_inner();
        bytes.push(b'\n');
        Ok(bytes)
    }
}

fn start<'a>(name: &'a str, attributes: Attributes<'a>) -> BytesStart<'a> {
    let mut start = BytesStart::new(name);
    for (name, value) in attributes {
        start.push_attribute((*name, &*legal(value)));
    }
    start
}

/// Without the signs that XML 1.0 has no place for (section 2.2).
fn legal(text: &str) -> Cow<'_, str> {
    let fits = |c: char| matches!(c, '\t' | '\n' | '\r' | ' '..='\u{FFFD}' | '\u{10000}'..);
    match text.chars().all(fits) {
        true => Cow::Borrowed(text),
        false => Cow::Owned(text.chars().filter(|c| fits(*c)).collect()),
    }
}
