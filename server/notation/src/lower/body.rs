//! The fields of a header and a body, line by line.

use super::accidentals::Reach;
use super::beats::{ToldBeats, told};
use super::groups::groups;
use super::header::Defaults;
use super::places::Place;
use super::text::decode;
use super::voice::{Position, settle};
use super::words::AlignedLine;
use crate::document::TypedKey;
use crate::encoding::Encoding;
use crate::fields::{Properties, words};
use crate::include::include_name;
use crate::problem::{Problem, ProblemKind};
use crate::segment::before_comment;
use crate::syntax::{Kind, kind};
use crate::write::TextEdit;
use recte_score::{
    Accept, Grouping, Instruction, MarginNote, Scope, SectionMark, Span, Style, TextField, Tune,
    written_out,
};
use recte_theory::{Key, Time};
use tree_sitter::{Node, TreeCursor};

/// What is known while a tune is being read.
pub(crate) struct Reader<'a> {
    pub(crate) text: &'a str,
    pub(crate) tune: &'a mut Tune,
    pub(crate) problems: &'a mut Vec<Problem>,
    pub(crate) file: Defaults,
    /// The header's key properties, for voices that say nothing of their own.
    pub(crate) properties: Properties,
    pub(crate) unit: Time,
    /// The beats told so far.
    pub(crate) beats: Vec<ToldBeats>,
    pub(crate) metre: u16,
    pub(crate) key: u16,
    pub(crate) positions: Vec<Position>,
    pub(crate) current: usize,
    pub(crate) in_body: bool,
    /// Lines of words and symbols, until all notes are known.
    pub(crate) lines: Vec<AlignedLine<'a>>,
    /// The music line being read, counted from 1; a continued line is one.
    pub(crate) line: u32,
    /// The backslash that the next line of music continues.
    continuation: Option<Span>,
    /// The header's fields in their order.
    pub(crate) header_fields: Vec<(char, Span)>,
    pub(crate) header_tempi: Vec<(String, Span)>,
    /// The keys typed.
    pub(crate) typed_keys: Vec<TypedKey>,
    /// Ids of voices longer than what counts of them.
    pub(crate) long_ids: Vec<String>,
    /// Whether a field stands above, so that `+:` has something to continue.
    continues: bool,
    /// Up to here a decoration with a space in its name has been spoken of.
    pub(crate) spaced_until: u32,
    /// Whether the text has a reference number or a key: a file header has neither.
    is_tune: bool,
}

impl<'a> Reader<'a> {
    pub(crate) fn new(
        text: &'a str,
        tune: &'a mut Tune,
        problems: &'a mut Vec<Problem>,
        defaults: &Defaults,
    ) -> Reader<'a> {
        tune.keys.push(Key::default());
        let beats: Vec<ToldBeats> =
            defaults.beats.iter().map(|text| ToldBeats::of_file(text)).collect();
        tune.metres.push(told(&beats, defaults.metre.clone().unwrap_or_default()).0);
        let said = defaults.texts.iter();
        tune.texts.extend(said.map(|(name, text)| TextField {
            name: *name,
            text: text.clone(),
            span: Span::default(),
        }));
        Reader {
            text,
            tune,
            problems,
            file: defaults.clone(),
            properties: Properties::default(),
            beats,
            unit: Time::ZERO,
            metre: 0,
            key: 0,
            positions: Vec::new(),
            current: 0,
            in_body: false,
            lines: Vec::new(),
            line: 0,
            continuation: None,
            header_fields: Vec::new(),
            header_tempi: Vec::new(),
            typed_keys: Vec::new(),
            long_ids: Vec::new(),
            continues: false,
            spaced_until: 0,
            is_tune: text
                .split(['\n', '\r'])
                .any(|line| line.starts_with("X:") || line.starts_with("K:")),
        }
    }

    pub(crate) fn header(&mut self, header: Node<'_>) {
        self.tune.header = Span::new(header.start_byte(), header.end_byte());
        let mut cursor = header.walk();
        let lines: Vec<Node<'_>> = header.children(&mut cursor).collect();
        self.header_lines(&lines);
    }

    fn header_lines(&mut self, lines: &[Node<'_>]) {
        for (index, line) in lines.iter().enumerate() {
            self.header_line(*line, &lines[index + 1..]);
        }
    }

    /// A line of the header; `after` are the lines below, which may continue it.
    pub(crate) fn header_line(&mut self, line: Node<'_>, after: &[Node<'_>]) {
        match kind(line) {
            Kind::Field => self.field_line(line, after, Place::Header),
            Kind::Directive => self.directive(line),
            Kind::TextLine => self.history_runs_on(line),
            _ => {}
        }
    }

    /// Text under `H:` that belongs to it without `+:` (10.1).
    fn history_runs_on(&mut self, line: Node<'_>) {
        let typed = self.text[line.byte_range()].trim();
        if typed.is_empty() || typed.starts_with('%') {
            return;
        }
        if let Some(field) = self.tune.texts.last_mut().filter(|field| field.name == 'H') {
            field.text.push(' ');
            field.text.push_str(&decode(typed));
        }
        if self.file.strict {
            let span = Span::new(line.start_byte(), line.end_byte());
            let fix =
                vec![TextEdit { span: Span { end: span.start, ..span }, text: "+:".to_owned() }];
            let message = "A history that runs on over lines takes +: before each of them now.";
            self.report(ProblemKind::Deprecated, span, message).fix =
                Some(("Put +: before the line".to_owned(), fix));
        }
    }

    pub(crate) fn body(&mut self, body: Node<'_>) {
        let mut cursor = body.walk();
        let lines: Vec<Node<'_>> = body.children(&mut cursor).collect();
        // A half-typed header line ends the header in the tree; a `K:` below shows that it goes on.
        let key = lines.iter().position(|line| !self.in_body && self.is_key(*line));
        let (head, music) = lines.split_at(key.map_or(0, |key| key + 1));
        self.header_lines(head);
        self.begin_body();
        for (index, &line) in music.iter().enumerate() {
            match kind(line) {
                Kind::MusicLine => {
                    if self.continuation.is_none() {
                        self.line += 1;
                        self.part_events();
                        self.end_line();
                    }
                    self.continuation = None;
                    self.music_line(&mut line.walk());
                }
                Kind::Field => self.field_line(line, &music[index + 1..], Place::Body),
                Kind::Directive => self.directive(line),
                _ => {}
            }
        }
        if let Some(span) = self.continuation.take() {
            let message = "This backslash joins the next line of music, and none follows.";
            let fix = vec![TextEdit { span, text: String::new() }];
            self.report(ProblemKind::Unclosed, span, message).fix =
                Some(("Remove the backslash".to_owned(), fix));
        }
    }

    fn is_key(&self, line: Node<'_>) -> bool {
        kind(line) == Kind::Field && self.parts(line).0 == 'K'
    }

    fn music_line(&mut self, cursor: &mut TreeCursor<'_>) {
        if !cursor.goto_first_child() {
            return;
        }
        let mut end = cursor.node().start_byte();
        loop {
            let node = cursor.node();
            if self.text[end..node.start_byte()].contains([' ', '\t']) {
                self.part_events();
            }
            end = node.end_byte();
            match kind(node) {
                Kind::Continuation => self.continuation = Some(Span::new(node.start_byte(), end)),
                Kind::Comment => {}
                kind => {
                    self.continuation = None;
                    self.item(node, kind);
                }
            }
            if !cursor.goto_next_sibling() {
                break;
            }
        }
        // White space at the end of a continued line parts nothing that was not parted already.
    }

    /// In a loose file a line end may stand for a bar line; a strict one types all of them.
    fn end_line(&mut self) {
        let Some(position) = self.positions.get_mut(self.current).filter(|_| !self.file.strict)
        else {
            return;
        };
        let full = self.tune.metres[position.metre as usize].length();
        position.end_line(&self.tune.voices[self.current], full);
    }

    /// White space or a line end: the next event does not share a beam with the last.
    fn part_events(&mut self) {
        if let Some(position) = self.positions.get_mut(self.current) {
            position.joined = false;
        }
    }

    pub(crate) fn finish(&mut self) -> Reach {
        self.begin_body();
        for voice in 0..self.positions.len() {
            self.current = voice;
            if let Some((tuplet, left)) = self.positions[voice].tuplet.take() {
                self.short_tuplet(tuplet, left);
            }
        }
        self.check_order();
        self.check_beats();
        self.align_lines();
        let mut open = Vec::new();
        for (voice, position) in self.tune.voices.iter_mut().zip(&self.positions) {
            open.extend(position.slurs.iter().map(|(span, _)| *span));
            voice.loose_ties.extend(position.ties.iter().map(|tie| tie.loose(None)));
            settle(voice, position.unsorted);
        }
        for span in open {
            self.report(ProblemKind::OpenSlur, span, "This slur is begun and never ends.");
        }
        self.tune.strict = self.file.strict;
        self.file.reach
    }

    /// Name, value and span of a field.
    fn parts(&self, field: Node<'_>) -> (char, &'a str, Span) {
        let part = |name| field.child_by_field_name(name);
        let name = part("name").map_or("", |node| &self.text[node.byte_range()]);
        let value = part("value");
        // White space after the value is no part of it.
        let end = value.or(part("name")).map_or(field.end_byte(), |node| {
            node.start_byte() + self.text[node.byte_range()].trim_end().len()
        });
        let value = value.map_or("", |node| &self.text[node.byte_range()]).trim();
        let letter = name.trim_start_matches('[').chars().next().unwrap_or(' ');
        (letter, value, Span::new(field.start_byte(), end))
    }

    /// An inline field: the same as a field line, from here on.
    pub(crate) fn inline_field(&mut self, node: Node<'_>) {
        let (name, value, _) = self.parts(node);
        let span = Span::new(node.start_byte(), node.end_byte());
        if !self.text[node.byte_range()].ends_with(']') {
            self.report(ProblemKind::Unclosed, span, "This field is not closed; a “]” ends it.");
        }
        // A title inside a line is met, and does no harm.
        if name != 'T' || self.file.strict {
            self.check_place(name, Place::Inline, span);
        }
        self.field(name, value, span);
    }

    /// A field on its own line, with the lines that continue it (3.3).
    fn field_line(&mut self, line: Node<'_>, after: &[Node<'_>], place: Place) {
        let (name, value, span) = self.parts(line);
        if name == '+' {
            if !self.continues {
                self.check_place(name, place, span);
            }
            return;
        }
        if place == Place::Header {
            self.header_fields.push((name, span));
        }
        self.check_place(name, place, span);
        self.check_backslash(value, span);
        let start = span.end as usize - value.len();
        let mut pieces = vec![(start, value)];
        let part_of = |line: &&Node<'_>| {
            matches!(kind(**line), Kind::Field | Kind::Comment | Kind::Directive)
        };
        for next in after.iter().take_while(part_of).filter(|line| kind(**line) == Kind::Field) {
            let (name, more, span) = self.parts(*next);
            if name != '+' {
                break;
            }
            pieces.push((span.end as usize - more.len(), more));
        }
        self.continues = true;
        let whole = Span {
            end: pieces.last().map_or(span.end, |(at, piece)| (at + piece.len()) as u32),
            ..span
        };
        match (name, pieces.len()) {
            ('w' | 's', _) if place == Place::Body => self.aligned_line(name == 's', pieces, span),
            (_, 1) => self.field(name, value, span),
            _ => {
                let joined: Vec<&str> = pieces.iter().map(|(_, piece)| *piece).collect();
                self.field(name, &joined.join(" "), whole);
            }
        }
    }

    /// A backslash no longer continues a field (10.3).
    fn check_backslash(&mut self, value: &str, span: Span) {
        if self.file.strict && value.ends_with('\\') && !value.ends_with("\\\\") {
            let message =
                "A backslash no longer continues a field; +: at the head of the next line does.";
            self.report(ProblemKind::Obsolete, Span { start: span.end - 1, ..span }, message);
        }
    }

    fn field(&mut self, name: char, value: &str, span: Span) {
        match name {
            'X' if !self.in_body => self.tune.reference = Some(value.to_owned()),
            'T' if !self.in_body => self.tune.titles.push(decode(value).into_owned()),
            'T' => self.section(value, false, span),
            'K' => self.key(value, span),
            'M' => self.metre(value, span),
            'L' => self.unit_length(value, span),
            'Q' => self.tempo(value, span),
            'V' => self.voice(value, span),
            'P' if !self.in_body => self.tune.part_order = Some(written_out(value)),
            'P' => self.section(value, true, span),
            'U' => self.file.take_letter(value),
            'I' => self.instruction(value, span),
            'r' => self.margin_note(value, span),
            'A'..='H' | 'N' | 'O' | 'R' | 'S' | 'W' | 'Z' => {
                self.tune.texts.push(TextField { name, text: decode(value).into_owned(), span });
            }
            _ => {}
        }
    }

    fn section(&mut self, value: &str, part: bool, span: Span) {
        let bar = self.positions.get(self.current).map_or(0, |position| position.bar);
        self.tune.sections.push(SectionMark { label: decode(value).into_owned(), bar, part, span });
    }

    fn margin_note(&mut self, value: &str, span: Span) {
        let position = self.positions.get(self.current).filter(|_| self.in_body);
        self.tune.margin.push(MarginNote {
            text: decode(value).into_owned(),
            voice: position.map(|_| self.current as u32),
            bar: position.map(|position| position.bar),
            span,
        });
    }

    fn directive(&mut self, node: Node<'_>) {
        let text = before_comment(self.text[node.byte_range()].trim_start_matches('%')).trim();
        self.instruction(text, Span::new(node.start_byte(), node.end_byte()));
    }

    /// `%%…`, `I:…`, `[I:…]`.
    fn instruction(&mut self, text: &str, span: Span) {
        let mut words = text.split_whitespace();
        match words.next() {
            Some("recte") => {}
            // One that was found stands here no longer.
            Some("abc-include") => return self.include_missing(text, span),
            Some(name @ ("score" | "staves")) => return self.grouping(text, name, span),
            Some(name) => {
                self.check_instruction(name, words.next(), span);
                return self.file.take_instruction(text);
            }
            None => return,
        }
        let verb = words.next().unwrap_or_default();
        if verb == "accept" {
            let rules = words.flat_map(|word| word.split(',')).filter(|rule| !rule.is_empty());
            let rules = rules.map(str::to_owned).collect();
            let scope = self.accept_scope();
            self.tune.accepts.push(Accept { rules, scope, span });
        } else if verb == "beats" {
            self.beats(&words.collect::<Vec<_>>().join(" "), span);
        } else if matches!(verb, "instrument" | "level") {
            let (voice, value) = voice_and_value(text, verb);
            self.tune.instructions.push(Instruction { what: verb.to_owned(), voice, value, span });
        } else if verb == "style" {
            self.style(&words.collect::<Vec<_>>(), span);
        } else {
            let message = format!(
                "“recte {verb}” says nothing known; there are accept, beats, instrument, level and style."
            );
            self.report(ProblemKind::Directive, span, message);
        }
    }

    /// `recte style strict`, `recte style strict direct`, `recte style free`.
    fn style(&mut self, words: &[&str], span: Span) {
        if matches!(words, ["strict"] | ["strict", "direct"] | ["free"]) {
            let words = words.iter().map(|&word| word.to_owned()).collect();
            self.tune.styles.push(Style { words, span });
            return;
        }
        let typed = words.join(" ");
        let message = format!(
            "“recte style {typed}” says nothing known; there are strict, strict direct and free."
        );
        self.report(ProblemKind::Directive, span, message);
    }

    fn grouping(&mut self, text: &str, name: &str, span: Span) {
        let text = text.strip_prefix(name).unwrap_or(text);
        let text = text.trim().to_owned();
        let groups = groups(&text, name == "staves");
        self.tune.groupings.push(Grouping { text, groups, span });
    }

    /// Instructions that the standard advises against (10.1, 10.4), and a charset said wrongly or too late (3.1.17).
    fn check_instruction(&mut self, name: &str, value: Option<&str>, span: Span) {
        if name == "abc-charset" {
            return self.check_charset(value.unwrap_or_default(), span);
        }
        let outdated = match name {
            "continueall" => value != Some("false") && value != Some("0"),
            "abc-copyright" | "abc-edited-by" => true,
            _ => false,
        };
        if outdated && self.file.strict {
            self.report(ProblemKind::Deprecated, span, format!("“{name}” is out of use."));
        }
    }

    fn include_missing(&mut self, text: &str, span: Span) {
        let file = include_name(&format!("%%{text}")).unwrap_or_default().to_owned();
        let message = format!(
            "“{file}” is not found in the folder of this score; what it would set is left out."
        );
        self.report(ProblemKind::NotFound, span, message);
    }

    fn check_charset(&mut self, value: &str, span: Span) {
        if Encoding::named(value).is_none() {
            let message = format!(
                "“{value}” is no charset of the standard; there are utf-8, us-ascii and iso-8859-1 to iso-8859-10."
            );
            self.report(ProblemKind::Unreadable, span, message);
        } else if self.is_tune {
            let message = "I:abc-charset holds for a whole file, and stands at its head, above the first tune.";
            self.report(ProblemKind::MisplacedField, span, message);
        }
    }

    fn accept_scope(&mut self) -> Scope {
        if self.in_body {
            let voice = self.voice_for_music();
            Scope::Bar(self.positions[voice].bar)
        } else if self.is_tune {
            Scope::Tune
        } else {
            Scope::File
        }
    }

    /// Says what is the matter; the caller may add a fix.
    pub(crate) fn report(
        &mut self,
        kind: ProblemKind,
        span: Span,
        message: impl Into<String>,
    ) -> &mut Problem {
        let last = self.problems.len();
        self.problems.push(Problem::new(kind, span, message));
        &mut self.problems[last]
    }
}

/// `VOICE NAME…` after the verb; quotation marks hold a voice of several words together.
fn voice_and_value(text: &str, verb: &str) -> (String, String) {
    let mut words = words(text.split_once(verb).map_or("", |(_, rest)| rest)).into_iter();
    let voice = words.next().unwrap_or_default();
    (voice, words.collect::<Vec<_>>().join(" "))
}
