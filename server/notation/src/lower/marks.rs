//! Decorations, chord symbols, annotations, and the signs that are none of these (abc standard v2.1, 4.14 to 4.19).

use super::body::Reader;
use super::text::decode;
use crate::problem::ProblemKind;
use crate::syntax::{Kind, kind};
use crate::write::TextEdit;
use recte_score::{DECORATIONS, Mark, MarkKind, MarkPlace, Meaning, Slur, Span};
use tree_sitter::Node;

/// Whether a quoted text is a chord symbol or stands at a place (4.19).
pub(crate) fn quoted_kind(text: &str) -> MarkKind {
    let annotation = text.starts_with(['^', '_', '<', '>', '@']);
    if annotation { MarkKind::Annotation } else { MarkKind::ChordSymbol }
}

impl Reader<'_> {
    pub(crate) fn mark(&mut self, node: Node<'_>) {
        self.lead(node);
        let typed = &self.text[node.byte_range()];
        let span = Span::new(node.start_byte(), node.end_byte());
        if kind(node) == Kind::Quoted {
            self.quoted(typed, span);
        } else if typed.len() > 1 {
            self.check_signs(typed, span);
            self.push_decoration(typed.trim_matches(['!', '+']), typed, span);
        } else {
            self.letter(typed.chars().next().unwrap_or(' '), span);
        }
    }

    fn quoted(&mut self, typed: &str, span: Span) {
        let closed = typed.len() > 1 && typed.ends_with('"');
        if !closed {
            self.report(
                ProblemKind::Unclosed,
                span,
                "This text is not closed; a second “\"” ends it.",
            );
        }
        self.push_text(typed.trim_matches('"'), span);
    }

    fn push_text(&mut self, text: &str, span: Span) {
        let text = decode(text);
        self.push_mark(quoted_kind(&text), &text, Meaning::of_words(&text), span);
    }

    fn push_decoration(&mut self, name: &str, typed: &str, span: Span) {
        // `!+!` and `+++` name the plus sign itself.
        let name = if name.is_empty() && typed.len() > 2 { "+" } else { name };
        self.push_mark(MarkKind::Decoration, name, Meaning::of_decoration(name), span);
    }

    fn push_mark(&mut self, kind: MarkKind, text: &str, meaning: Option<Meaning>, span: Span) {
        let voice = &mut self.tune.voices[self.current];
        let event = voice.events.len() as u32;
        voice.marks.push(Mark {
            kind,
            text: text.into(),
            span,
            event,
            meaning,
            on: MarkPlace::Event,
        });
    }

    /// A letter that stands for a decoration or a text; one taken away with `!nil!` stands for nothing.
    fn letter(&mut self, letter: char, span: Span) {
        let meaning = self.file.letter(letter).map(str::to_owned);
        match meaning.as_deref() {
            Some("") => {}
            Some(text) => match text.strip_prefix('"') {
                Some(text) => self.push_text(text, span),
                None => self.push_decoration(text, text, span),
            },
            None => self.push_mark(MarkKind::Decoration, "", None, span),
        }
    }

    /// Whether a decoration stands between the signs its file asks for (12.1.2).
    fn check_signs(&mut self, typed: &str, span: Span) {
        let name = typed.trim_matches(['!', '+']);
        if typed.starts_with('!') && self.file.plus_decorations {
            let name = if name.is_empty() { "plus" } else { name };
            let edits = vec![TextEdit { span, text: format!("+{name}+") }];
            self.report(
                ProblemKind::Decoration,
                span,
                format!("This file asks for plus signs around decorations (I:decoration +); {typed} would be +{name}+."),
            )
            .fix = Some((format!("Write +{name}+"), edits));
        } else if typed.starts_with('+') && self.file.strict && !self.file.plus_decorations {
            let name = if name.is_empty() { "+" } else { name };
            let edits = vec![TextEdit { span, text: format!("!{name}!") }];
            self.report(
                ProblemKind::Deprecated,
                span,
                format!("Plus signs around decorations are out of use unless I:decoration + asks for them; {typed} is now !{name}!."),
            )
            .fix = Some((format!("Write !{name}!"), edits));
        }
    }

    /// What stood before a bar line or a space stands on it.
    pub(crate) fn settle_marks(&mut self, on: MarkPlace) {
        let voice = &mut self.tune.voices[self.current];
        let next = voice.events.len() as u32;
        // No note carries more signs than this.
        let waiting = voice.marks.iter_mut().rev().take(64).take_while(|mark| mark.event == next);
        for mark in waiting.filter(|mark| mark.on == MarkPlace::Event) {
            if on == MarkPlace::Space || mark.kind == MarkKind::Decoration {
                mark.on = on;
            }
        }
    }

    /// A `!` or `$` alone: a line break of the page (6.1.1).
    pub(crate) fn line_break(&mut self, node: Node<'_>) {
        if &self.text[node.byte_range()] != "!" || !self.file.strict || self.file.exclaimed_breaks {
            return;
        }
        let start = node.start_byte();
        let rest = &self.text[start + 1..];
        let rest = &rest[..rest.find(['|', '\n', '\r', '[', ']', '"']).unwrap_or(rest.len())];
        let spaced = rest.find('!').filter(|end| !rest[..*end].is_empty());
        if let Some(end) = spaced {
            let span = Span::new(start, start + end + 2);
            let typed = &self.text[span.range()];
            let message = format!("{typed} is no decoration: a name between “!” holds no space.");
            self.spaced_until = span.end;
            self.report(ProblemKind::Decoration, span, message);
        } else if let Some(name) = begun_decoration(rest) {
            let span = Span::new(start, start + 1 + name.len());
            let message = "This decoration is not closed; a second “!” ends it.";
            self.report(ProblemKind::Unclosed, span, message);
        } else if self.spaced_until <= start as u32 {
            let span = Span::new(start, start + 1);
            let message =
                "“!” breaks a line only where I:linebreak ! asks for it; “$” always does.";
            self.report(ProblemKind::Deprecated, span, message).fix =
                Some(("Write $".to_owned(), vec![TextEdit { span, text: "$".to_owned() }]));
        }
    }

    pub(crate) fn slur_open(&mut self, node: Node<'_>) {
        self.lead(node);
        let event = self.tune.voices[self.current].events.len() as u32;
        let span = Span::new(node.start_byte(), node.end_byte());
        self.positions[self.current].slurs.push((span, event));
    }

    /// `last` is the event the slur ends on: the last one placed, or the chord being read.
    pub(crate) fn slur_close(&mut self, node: Node<'_>, last: Option<u32>) {
        let close = Span::new(node.start_byte(), node.end_byte());
        let Some((open, from)) = self.positions[self.current].slurs.pop() else {
            let message = "This slur ends, but none was begun.";
            self.report(ProblemKind::NotOpened, close, message);
            return;
        };
        if let Some(to) = last.filter(|last| *last >= from) {
            let dotted = self.text[open.range()].starts_with('.');
            self.tune.voices[self.current].slurs.push(Slur { from, to, open, close, dotted });
        }
    }

    pub(crate) fn overlay(&mut self, node: Node<'_>) {
        let (start, end) = (node.start_byte(), node.end_byte());
        let before = self.text[..start].ends_with('(');
        let after = self.text[end..].starts_with(')');
        if before || after {
            let span = Span::new(start - usize::from(before), end + usize::from(after));
            let message = format!(
                "“{}” is not part of the standard; “&” alone begins another layer of the bar.",
                &self.text[span.range()]
            );
            self.report(ProblemKind::Obsolete, span, message);
            if before {
                self.positions[self.current].slurs.pop();
            } else {
                // So that the bracket after it finds its other half.
                let event = self.tune.voices[self.current].events.len() as u32;
                self.positions[self.current].slurs.push((span, event));
            }
        }
        let count = (end - start) as u32;
        let position = &mut self.positions[self.current];
        position.step_back(&self.tune.voices[self.current], count);
    }
}

/// The name of a decoration, or two letters of one or more, right after a lone `!`.
fn begun_decoration(text: &str) -> Option<&str> {
    let end = text.find(|c: char| c.is_whitespace()).unwrap_or(text.len());
    let name = &text[..end];
    let known =
        DECORATIONS.iter().any(|known| *known == name || name.len() > 1 && known.starts_with(name));
    known.then_some(name)
}
