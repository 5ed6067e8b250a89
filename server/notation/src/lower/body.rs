//! The fields of a header and a body, line by line.

use super::accidentals::Reach;
use super::header::Defaults;
use super::voice::{Position, declare, describe, settle};
use crate::fields::{KeyField, Properties, key_field, unit_length, words};
use crate::problem::Problem;
use crate::syntax::{Kind, kind};
use recte_score::{Accept, Instruction, Scope, Span, Tune};
use recte_theory::{Key, Metre, Time};
use tree_sitter::{Node, TreeCursor};

/// What is known while a tune is being read.
pub(crate) struct Reader<'a> {
    pub(crate) text: &'a str,
    pub(crate) tune: &'a mut Tune,
    pub(crate) problems: &'a mut Vec<Problem>,
    pub(crate) file: Defaults,
    /// The header's key properties, for voices that say nothing of their own.
    properties: Properties,
    unit: Time,
    metre: u16,
    key: u16,
    pub(crate) positions: Vec<Position>,
    pub(crate) current: usize,
    in_body: bool,
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
        tune.metres.push(defaults.metre.clone().unwrap_or_default());
        Reader {
            text,
            tune,
            problems,
            file: defaults.clone(),
            properties: Properties::default(),
            unit: Time::ZERO,
            metre: 0,
            key: 0,
            positions: Vec::new(),
            current: 0,
            in_body: false,
            is_tune: text.lines().any(|line| line.starts_with("X:") || line.starts_with("K:")),
        }
    }

    pub(crate) fn header(&mut self, header: Node<'_>) {
        self.tune.header = Span::new(header.start_byte(), header.end_byte());
        let mut cursor = header.walk();
        for line in header.children(&mut cursor) {
            self.header_line(line);
        }
    }

    pub(crate) fn header_line(&mut self, line: Node<'_>) {
        match kind(line) {
            Kind::Field => {
                let (name, value, span) = self.parts(line);
                self.field(name, value, span);
            }
            Kind::Directive => self.directive(line),
            _ => {}
        }
    }

    pub(crate) fn body(&mut self, body: Node<'_>) {
        let mut cursor = body.walk();
        let lines: Vec<Node<'_>> = body.children(&mut cursor).collect();
        // A half-typed header line ends the header in the tree; a `K:` below shows that it goes on.
        let key = lines.iter().position(|line| !self.in_body && self.is_key(*line));
        let (head, music) = lines.split_at(key.map_or(0, |key| key + 1));
        head.iter().for_each(|line| self.header_line(*line));
        self.begin_body();
        let mut continued = false;
        for &line in music {
            match kind(line) {
                Kind::MusicLine => {
                    if !continued {
                        self.part_events();
                    }
                    continued = self.music_line(&mut line.walk());
                }
                Kind::Field => {
                    let (name, value, span) = self.parts(line);
                    self.field(name, value, span);
                }
                Kind::Directive => self.directive(line),
                _ => {}
            }
        }
    }

    fn is_key(&self, line: Node<'_>) -> bool {
        kind(line) == Kind::Field && self.parts(line).0 == 'K'
    }

    fn music_line(&mut self, cursor: &mut TreeCursor<'_>) -> bool {
        let mut continued = false;
        if cursor.goto_first_child() {
            let mut end = cursor.node().start_byte();
            loop {
                let node = cursor.node();
                if self.text[end..node.start_byte()].contains([' ', '\t']) {
                    self.part_events();
                }
                end = node.end_byte();
                match kind(node) {
                    Kind::Continuation => continued = true,
                    Kind::Comment => {}
                    kind => {
                        continued = false;
                        self.item(node, kind);
                    }
                }
                if !cursor.goto_next_sibling() {
                    break;
                }
            }
            // White space at the end of a continued line parts nothing that was not parted already.
        }
        continued
    }

    /// White space or a line end: the next event does not share a beam with the last.
    fn part_events(&mut self) {
        if let Some(position) = self.positions.get_mut(self.current) {
            position.joined = false;
        }
    }

    pub(crate) fn finish(&mut self) -> Reach {
        self.begin_body();
        for (voice, position) in self.tune.voices.iter_mut().zip(&self.positions) {
            settle(voice, position.unsorted);
        }
        self.file.reach
    }

    /// Name, value and span of a field.
    fn parts(&self, field: Node<'_>) -> (char, &'a str, Span) {
        let part = |name| field.child_by_field_name(name);
        let name = part("name").map_or("", |node| &self.text[node.byte_range()]);
        let value = part("value");
        let end = value.or(part("name")).map_or(field.end_byte(), |node| node.end_byte());
        let value = value.map_or("", |node| &self.text[node.byte_range()]).trim();
        let letter = name.trim_start_matches('[').chars().next().unwrap_or(' ');
        (letter, value, Span::new(field.start_byte(), end))
    }

    /// An inline field: the same as a field line, from here on.
    pub(crate) fn inline_field(&mut self, node: Node<'_>) {
        let (name, value, _) = self.parts(node);
        self.field(name, value, Span::new(node.start_byte(), node.end_byte()));
    }

    fn field(&mut self, name: char, value: &'a str, span: Span) {
        match name {
            'X' if !self.in_body => self.tune.reference = Some(value.to_owned()),
            'T' if !self.in_body => self.tune.titles.push(value.to_owned()),
            'K' => self.key(value, span),
            'M' => self.metre(value, span),
            'L' => self.unit_length(value, span),
            'V' => self.voice(value, span),
            'U' => self.file.take_letter(value),
            'I' => self.instruction(value, span),
            'w' if self.in_body => {
                let voice = self.voice_for_music();
                self.tune.voices[voice].lyrics.push(span);
            }
            _ => {}
        }
    }

    fn key(&mut self, value: &str, span: Span) {
        let KeyField { key, properties, unknown } = key_field(value);
        if let Some(word) = unknown {
            self.problem(span, format!("“{word}” in this key says nothing known; a key reads like K:Am, K:D dorian or K:none."));
        }
        let key = key.map(|key| intern(&mut self.tune.keys, key));
        if self.before_music() {
            self.key = key.unwrap_or(self.key);
            self.properties = properties;
            self.begin_body();
            return;
        }
        let voice = self.voice_for_music();
        let position = &mut self.positions[voice];
        position.key = key.unwrap_or(position.key);
        position.take(&properties);
        describe(&mut self.tune.voices[voice], &properties);
    }

    fn metre(&mut self, value: &str, span: Span) {
        let metre = match Metre::parse(value) {
            Ok(metre) => intern(&mut self.tune.metres, metre),
            Err(error) => return self.problem(span, error.to_string()),
        };
        if self.before_music() {
            self.metre = metre;
            return;
        }
        let voice = self.voice_for_music();
        let position = &mut self.positions[voice];
        position.metre = metre;
        position.metre_typed = Some(span);
    }

    fn unit_length(&mut self, value: &str, span: Span) {
        let Some(unit) = unit_length(value) else {
            return self.problem(
                span,
                format!("“{value}” is not a unit length; it is a fraction from 1 to 1/512, as in L:1/8."),
            );
        };
        if self.before_music() {
            self.unit = unit;
            return;
        }
        let voice = self.voice_for_music();
        self.positions[voice].unit = unit;
    }

    fn voice(&mut self, value: &str, span: Span) {
        let words = words(value);
        let Some(id) = words.first() else {
            return self.problem(span, "A voice needs a name, as in V:1.".to_owned());
        };
        // Twenty characters of an id count (7.1).
        let id: String = id.chars().take(20).collect();
        let properties = Properties::of(&words[1..]);
        let voice = self.voice_named(&id, &properties, span);
        if self.in_body {
            self.current = voice;
        }
    }

    fn voice_named(&mut self, id: &str, properties: &Properties, span: Span) -> usize {
        if let Some(known) = self.tune.voices.iter().position(|voice| voice.id == id) {
            describe(&mut self.tune.voices[known], properties);
            self.positions[known].take(properties);
            return known;
        }
        let mut voice = declare(id, &self.properties, span);
        describe(&mut voice, properties);
        self.tune.voices.push(voice);
        let mut position = self.fresh_position();
        position.take(properties);
        self.positions.push(position);
        self.tune.voices.len() - 1
    }

    fn fresh_position(&self) -> Position {
        let mut position =
            Position { unit: self.unit, metre: self.metre, key: self.key, ..Position::default() };
        position.take(&self.properties);
        position
    }

    /// Whether what a field says holds for every voice to come.
    fn before_music(&self) -> bool {
        !self.in_body || self.tune.voices.is_empty()
    }

    /// The voice that music goes to: the one switched to, the first declared, or a first one of its own.
    pub(crate) fn voice_for_music(&mut self) -> usize {
        if self.tune.voices.is_empty() {
            self.voice_named("1", &Properties::default(), Span::default());
        }
        self.current
    }

    /// The header is over: what it leaves open takes its default, in every voice it declared.
    fn begin_body(&mut self) {
        if std::mem::replace(&mut self.in_body, true) {
            return;
        }
        if self.unit.is_zero() {
            let metre = &self.tune.metres[self.metre as usize];
            self.unit = self.file.unit.unwrap_or_else(|| metre.default_unit_length());
        }
        let fresh = self.fresh_position();
        for (voice, position) in self.tune.voices.iter_mut().zip(&mut self.positions) {
            position.unit = fresh.unit;
            position.metre = fresh.metre;
            position.key = fresh.key;
            if voice.clef.name.is_empty() {
                position.clef_octaves = fresh.clef_octaves;
                let inherited =
                    Properties { name: None, subname: None, ..self.properties.clone() };
                let own = voice.transposes.then_some(voice.transpose);
                describe(voice, &Properties { transpose: own.or(inherited.transpose), ..inherited });
            }
            if !voice.transposes {
                position.transpose = fresh.transpose;
            }
            if position.octave == 0 {
                position.octave = fresh.octave;
            }
        }
    }

    fn directive(&mut self, node: Node<'_>) {
        let text = self.text[node.byte_range()].trim_start_matches('%').trim();
        self.instruction(text, Span::new(node.start_byte(), node.end_byte()));
    }

    /// `%%…`, `I:…`, `[I:…]`.
    fn instruction(&mut self, text: &str, span: Span) {
        let mut words = text.split_whitespace();
        if words.next() != Some("recte") {
            return self.file.take_instruction(text);
        }
        let verb = words.next().unwrap_or_default();
        if verb == "accept" {
            let rules = words.flat_map(|word| word.split(',')).filter(|rule| !rule.is_empty());
            let rules = rules.map(str::to_owned).collect();
            let scope = self.accept_scope();
            self.tune.accepts.push(Accept { rules, scope, span });
        } else if matches!(verb, "instrument" | "level") {
            let (voice, value) = voice_and_value(text, verb);
            self.tune.instructions.push(Instruction { what: verb.to_owned(), voice, value, span });
        } else {
            self.problem(
                span,
                format!("“recte {verb}” says nothing known; there are accept, instrument and level."),
            );
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

    pub(crate) fn problem(&mut self, span: Span, message: String) {
        self.problems.push(Problem { span, message });
    }
}

/// `VOICE NAME…` after the verb; quotation marks hold a voice of several words together.
fn voice_and_value(text: &str, verb: &str) -> (String, String) {
    let mut words = words(text.split_once(verb).map_or("", |(_, rest)| rest)).into_iter();
    let voice = words.next().unwrap_or_default();
    (voice, words.collect::<Vec<_>>().join(" "))
}

fn intern<T: PartialEq>(pool: &mut Vec<T>, value: T) -> u16 {
    let index = pool.iter().position(|known| *known == value).unwrap_or_else(|| {
        pool.push(value);
        pool.len() - 1
    });
    // A score with more than 65,535 different keys or metres keeps the last.
    u16::try_from(index).unwrap_or(u16::MAX)
}
