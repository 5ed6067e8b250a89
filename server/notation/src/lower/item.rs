//! The items of a music line: notes, rests, chords, bar lines and the signs between them.

use super::accidentals::Reach;
use super::body::Reader;
use super::voice::OpenTie;
use crate::problem::ProblemKind;
use crate::syntax::{Kind, kind};
use crate::write::TextEdit;
use recte_score::{Event, EventKind, MarkPlace, Note, Span, Tuplet};
use recte_theory::{Letter, Pitch, Time};
use tree_sitter::Node;

/// The longest length that is read as one: more is a slip of the finger.
const LONGEST: i64 = 4096;
/// More bars of rest than any piece has.
const MOST_BARS: u32 = 1000;
/// Whole-bar rests are counted out up to this bar of a voice.
const LAST_BAR: u32 = 20_000;

impl Reader<'_> {
    pub(crate) fn item(&mut self, node: Node<'_>, what: Kind) {
        if what == Kind::InlineField {
            return self.inline_field(node);
        }
        let voice = self.voice_for_music();
        let begin = self.tune.voices[voice].events.len() as u32;
        let position = &mut self.positions[voice];
        if position.line != self.line {
            (position.line, position.line_begin) = (self.line, begin);
        }
        match what {
            Kind::Note => self.note_event(node),
            Kind::Rest => self.rest(node),
            Kind::Chord => self.chord(node),
            Kind::Grace => self.grace(node),
            Kind::Tuplet => self.tuplet(node),
            Kind::Broken => self.broken(node),
            Kind::Tie => self.tie(node),
            Kind::Decoration | Kind::Quoted => self.mark(node),
            Kind::SlurOpen => self.slur_open(node),
            Kind::SlurClose => self.slur_close(node, begin.checked_sub(1)),
            Kind::Bar => self.bar(node),
            Kind::Ending => self.ending(&self.text[node.byte_range()]),
            Kind::Spacer => self.settle_marks(MarkPlace::Space),
            Kind::LineBreak => self.line_break(node),
            Kind::Reserved => self.reserved(node),
            Kind::Overlay => self.overlay(node),
            Kind::Unknown => self.unknown(node),
            _ => {}
        }
    }

    /// What begins here belongs to the next event.
    pub(crate) fn lead(&mut self, node: Node<'_>) {
        let position = &mut self.positions[self.current];
        position.lead.get_or_insert(node.start_byte() as u32);
    }

    fn reserved(&mut self, node: Node<'_>) {
        // Old files are full of them, and they do no harm.
        if !self.file.strict {
            return;
        }
        let span = Span::new(node.start_byte(), node.end_byte());
        let message = format!(
            "“{}” has no meaning in music yet; it is passed over.",
            &self.text[node.byte_range()]
        );
        self.report(ProblemKind::Reserved, span, message);
    }

    pub(super) fn unknown(&mut self, node: Node<'_>) {
        let text = &self.text[node.byte_range()];
        let span = Span::new(node.start_byte(), node.end_byte());
        let accidental = text.starts_with(['^', '_', '=']);
        if accidental && self.text[node.end_byte()..].starts_with(['^', '_', '=']) {
            let message = "Two accidentals stand before one note; only the second is read.";
            let same = self.text[node.end_byte()..].starts_with(text);
            let fix = vec![TextEdit { span, text: String::new() }];
            self.report(ProblemKind::AccidentalTwice, span, message).fix =
                same.then(|| ("Write the accidental once".to_owned(), fix));
            return;
        }
        let (kind, message) = match text {
            _ if accidental => {
                let message = "This accidental stands before no note; write the note right after it, as in ^F.";
                (ProblemKind::Unreadable, message.to_owned())
            }
            "[" | "{" => {
                (ProblemKind::Unclosed, format!("“{text}” opens something that holds no note."))
            }
            "]" | "}" => {
                (ProblemKind::Unreadable, format!("“{text}” closes something that was not opened."))
            }
            _ if text.len() > 2 && text.starts_with('[') => {
                let field: String = text.split_whitespace().collect();
                let message = format!(
                    "“{text}” is not read; a field has no space after its bracket, as in {field}."
                );
                (ProblemKind::Unreadable, message)
            }
            _ => (
                ProblemKind::Unreadable,
                format!("“{text}” means nothing at this place in a line of music."),
            ),
        };
        self.report(kind, span, message);
    }

    /// A length: `2`, `3/2`, `/`, `//`, `/4`; one when nothing is typed.
    fn length(&mut self, text: &str, start: usize) -> Time {
        let length = read_length(text);
        length.unwrap_or_else(|| {
            let span = Span::new(start, start + text.len());
            self.report(
                ProblemKind::Length,
                span,
                format!("“{text}” is no length a note can have; it counts as 1."),
            );
            Time::WHOLE
        })
    }

    /// Reads a note; `tied` looks for the alteration a tie brings.
    pub(super) fn read_note(&mut self, node: Node<'_>) -> (Note, Time, Span) {
        let (start, text) = (node.start_byte(), &self.text[node.byte_range()]);
        let typed = TypedNote::read(text);
        let length = self.length(&text[typed.head..], start + typed.head);
        let voice = &self.tune.voices[self.current];
        let position = &mut self.positions[self.current];
        let octave = typed.octave.saturating_add(position.octave);
        let bare = Pitch::new(typed.letter, 0, octave);
        let reach = self.file.reach;
        let key = &self.tune.keys[position.key as usize].signature;
        let alter = match typed.accidental {
            Some(alter) => {
                if reach != Reach::Not {
                    position.accidentals.record(typed.letter, octave, alter);
                }
                alter
            }
            None => position
                .tied_alter(voice, bare)
                .unwrap_or_else(|| position.accidentals.alter(typed.letter, octave, reach, key)),
        };
        let written = Pitch::new(typed.letter, alter, octave);
        let note = Note {
            written,
            pitch: position.sounding(written),
            octave_shift: position.octave,
            accidental: typed.accidental,
            span: Span::new(start, start + typed.head),
            tied_in: false,
            tied_out: false,
            tie_dotted: false,
            event: voice.events.len() as u32,
        };
        (note, length, Span::new(start + typed.head, node.end_byte()))
    }

    fn note_event(&mut self, node: Node<'_>) {
        let (note, length, length_span) = self.read_note(node);
        let index = self.tune.voices[self.current].notes.len() as u32;
        self.tune.voices[self.current].notes.push(note);
        let event = Event {
            duration: length * self.positions[self.current].unit,
            notes: index..index + 1,
            length: length_span,
            ..self.event(node, EventKind::Notes)
        };
        self.place_notes(event);
    }

    pub(super) fn event(&self, node: Node<'_>, kind: EventKind) -> Event {
        let end = node.end_byte();
        Event {
            kind,
            span: Span::new(node.start_byte(), end),
            full: Span::default(),
            offset: Time::ZERO,
            duration: Time::ZERO,
            bar: 0,
            layer: 0,
            notes: 0..0,
            key: 0,
            grace: false,
            slashed: false,
            joined: false,
            hidden: false,
            tuplet: None,
            broken: false,
            length: Span::new(end, end),
            unit: Time::ZERO,
            grace_length: Time::ZERO,
        }
    }

    fn place_notes(&mut self, event: Event) {
        let voice = &mut self.tune.voices[self.current];
        let position = &mut self.positions[self.current];
        if !event.grace {
            position.join_ties(voice, &event);
        }
        position.place(voice, event);
        self.check_uneven();
    }

    fn check_uneven(&mut self) {
        if let Some(span) = self.positions[self.current].uneven.take() {
            let message = "Broken rhythm belongs between notes of one length; each of these is changed by its own.";
            self.report(ProblemKind::BrokenUneven, span, message);
        }
    }

    fn rest(&mut self, node: Node<'_>) {
        let text = &self.text[node.byte_range()];
        let start = node.start_byte();
        let typed_length = &text[1..];
        let length = Span::new(start + 1, node.end_byte());
        if text.starts_with(['Z', 'X']) {
            return self.bar_rest(node, typed_length);
        }
        let kind = if text.starts_with('x') { EventKind::InvisibleRest } else { EventKind::Rest };
        let duration = self.length(typed_length, start + 1) * self.positions[self.current].unit;
        let event = Event { duration, length, ..self.event(node, kind) };
        self.place(event);
    }

    pub(super) fn place(&mut self, event: Event) {
        let voice = &mut self.tune.voices[self.current];
        let position = &mut self.positions[self.current];
        if event.kind != EventKind::Notes {
            position.drop_ties(voice);
        }
        position.place(voice, event);
        self.check_uneven();
    }

    /// `Zn`: n whole bars (4.5). In free time a bar is taken as a whole note.
    fn bar_rest(&mut self, node: Node<'_>, typed: &str) {
        let count = if typed.is_empty() { Ok(1) } else { typed.parse::<u32>() };
        let room = LAST_BAR.saturating_sub(self.positions[self.current].bar);
        let count = match count {
            Ok(1) => 1,
            Ok(count) if (1..=MOST_BARS.min(room)).contains(&count) => count,
            _ => {
                let span = Span::new(node.start_byte(), node.end_byte());
                let message = format!("“{typed}” is no number of bars to rest; it counts as 1.");
                self.report(ProblemKind::Length, span, message);
                1
            }
        };
        let span = Span::new(node.start_byte(), node.end_byte());
        if self.tune.metres[self.positions[self.current].metre as usize].length().is_none() {
            let message = "A whole-bar rest has no length where there is no metre; it is taken as a whole note.";
            self.report(ProblemKind::FreeRest, span, message);
        }
        for number in 0..count {
            let metre = self.positions[self.current].metre;
            let duration = self.tune.metres[metre as usize].length().unwrap_or(Time::WHOLE);
            let length = Span::new(node.start_byte() + 1, node.end_byte());
            let kind = EventKind::BarRest(count);
            let hidden = self.text[node.byte_range()].starts_with('X');
            self.place(Event { duration, length, hidden, ..self.event(node, kind) });
            if number + 1 < count {
                let position = &mut self.positions[self.current];
                position.close_bar(&mut self.tune.voices[self.current], span, false);
            }
        }
    }

    /// A chord lasts as long as its first note, times the length after it (4.17).
    fn chord(&mut self, node: Node<'_>) {
        let mut cursor = node.walk();
        let children: Vec<Node<'_>> = node.children(&mut cursor).collect();
        let closed = children.iter().any(|child| kind(*child) == Kind::ChordEnd);
        if !closed && children.get(1).is_some_and(|child| kind(*child) == Kind::Quoted) {
            return self.text_ending(&children[1..]);
        }
        let first = self.tune.voices[self.current].notes.len() as u32;
        let mut inner = None;
        let mut outer = (Time::WHOLE, Span::new(node.end_byte(), node.end_byte()));
        let mut rest = None;
        for &child in &children {
            match kind(child) {
                Kind::Note => {
                    let (note, length, _) = self.read_note(child);
                    inner.get_or_insert(length);
                    self.tune.voices[self.current].notes.push(note);
                }
                Kind::Rest => rest = rest.or(Some(child)),
                Kind::Tie => self.tie_last_note(child),
                Kind::Decoration | Kind::Quoted => self.mark(child),
                Kind::SlurOpen => self.slur_open(child),
                Kind::SlurClose => {
                    let here = self.tune.voices[self.current].events.len() as u32;
                    self.slur_close(child, Some(here));
                }
                Kind::Unknown => self.unknown(child),
                Kind::Length => {
                    let text = &self.text[child.byte_range()];
                    let span = Span::new(child.start_byte(), child.end_byte());
                    outer = (self.length(text, child.start_byte()), span);
                }
                _ => {}
            }
        }
        if !closed {
            let span = Span::new(node.start_byte(), node.end_byte());
            let end = Span::new(node.end_byte(), node.end_byte());
            let fix = vec![TextEdit { span: end, text: "]".to_owned() }];
            self.report(ProblemKind::Unclosed, span, "This chord is not closed; a “]” ends it.")
                .fix = Some(("Close the chord".to_owned(), fix));
        }
        let last = self.tune.voices[self.current].notes.len() as u32;
        let kind = match (first == last, rest) {
            (false, _) => EventKind::Notes,
            (true, Some(_)) => EventKind::Rest,
            (true, None) if closed => {
                let span = Span::new(node.start_byte(), node.end_byte());
                self.report(ProblemKind::Unreadable, span, "These brackets hold no note.");
                return;
            }
            (true, None) => {
                let span = Span::new(node.start_byte(), node.start_byte() + 1);
                self.report(
                    ProblemKind::Unclosed,
                    span,
                    "This bracket opens neither a chord nor a field.",
                );
                return;
            }
        };
        let duration = inner.unwrap_or(Time::WHOLE) * outer.0 * self.positions[self.current].unit;
        let event =
            Event { duration, notes: first..last, length: outer.1, ..self.event(node, kind) };
        self.place_notes(event);
    }

    /// `["last time"` at an ending: outside the standard, and met. What follows it is music.
    fn text_ending(&mut self, items: &[Node<'_>]) {
        let text = items.first().map_or("", |item| &self.text[item.byte_range()]);
        self.ending(text);
        for &item in &items[1..] {
            self.item(item, kind(item));
        }
    }

    /// `(p:q:r` (4.13).
    fn tuplet(&mut self, node: Node<'_>) {
        self.lead(node);
        let span = Span::new(node.start_byte(), node.end_byte());
        let text = &self.text[node.byte_range()];
        let mut parts = text[1..].split(':').map(|part| part.parse::<u32>().ok());
        let (actual, normal, count) =
            (parts.next().flatten(), parts.next().flatten(), parts.next().flatten());
        let actual = actual.unwrap_or(0);
        let position = &mut self.positions[self.current];
        let metre = &self.tune.metres[position.metre as usize];
        let usual = match actual {
            2 | 4 | 8 => Some(3),
            3 | 6 => Some(2),
            5 | 7 | 9 => Some(if metre.is_compound() { 3 } else { 2 }),
            _ => None,
        };
        let limit = 1..=128;
        let Some(normal) =
            normal.or(usual).filter(|n| limit.contains(n) && limit.contains(&actual))
        else {
            let message = format!(
                "“{text}” does not say how many notes go in the time of how many, as (3:2 does."
            );
            self.report(ProblemKind::Unreadable, span, message);
            return;
        };
        let count = count.filter(|count| *count > 0).unwrap_or(actual);
        if let Some((tuplet, left)) = self.positions[self.current].tuplet.take() {
            self.short_tuplet(tuplet, left);
        }
        let position = &mut self.positions[self.current];
        let tuplets = &mut self.tune.voices[self.current].tuplets;
        tuplets.push(Tuplet { actual, normal, span });
        position.tuplet = Some((tuplets.len() as u32 - 1, count));
    }

    fn broken(&mut self, node: Node<'_>) {
        let text = &self.text[node.byte_range()];
        let span = Span::new(node.start_byte(), node.end_byte());
        let count = text.len() as u32;
        let position = &mut self.positions[self.current];
        if count > 3 {
            let message = format!(
                "“{text}” is longer than the longest sign of broken rhythm, three in a row."
            );
            self.report(ProblemKind::BrokenAlone, span, message);
            return;
        }
        if position.last.is_none() {
            let message = format!(
                "“{text}” lengthens one note and shortens the next; it needs a note on both sides within the bar."
            );
            self.report(ProblemKind::BrokenAlone, span, message);
            return;
        }
        let before = position.broken.replace((count, text.starts_with('>'), span));
        if before.is_some() {
            let message =
                "Two signs of broken rhythm stand between the same notes; the last one counts.";
            self.report(ProblemKind::BrokenAlone, span, message);
        }
    }

    /// A tie after an event: each of its notes waits for the same pitch.
    fn tie(&mut self, node: Node<'_>) {
        let span = Span::new(node.start_byte(), node.end_byte());
        let voice = &self.tune.voices[self.current];
        let position = &mut self.positions[self.current];
        let last = position.last.map(|last| &voice.events[last as usize]);
        // A tie typed after the bar line, or before the note, still means the last event.
        let last = last.or_else(|| voice.events.iter().rev().find(|event| !event.grace));
        let Some(event) = last.filter(|event| event.kind == EventKind::Notes) else {
            let message =
                "This tie leaves no note; it stands right after the note it holds, as in c-c.";
            let kind =
                if last.is_some() { ProblemKind::TiedRest } else { ProblemKind::DetachedTie };
            let edits = vec![TextEdit { span, text: String::new() }];
            self.report(kind, span, message).fix = Some(("Remove the tie".to_owned(), edits));
            return;
        };
        let layer = position.layer;
        for note in event.notes.clone() {
            if !position.ties.iter().any(|tie| tie.note == note) {
                position.ties.push(OpenTie { note, layer, span });
            }
        }
        let end = event.span.end;
        let between = self.text.get(end as usize..node.start_byte()).unwrap_or_default();
        if between.contains([' ', '\t', '|']) {
            let typed = self.text[node.byte_range()].to_owned();
            let edits = vec![
                TextEdit { span: Span { start: end, end }, text: typed },
                TextEdit { span, text: String::new() },
            ];
            // Over a repeat or into an ending the note before it in playing may be another one.
            let sure = !between.contains(|c: char| ":[]".contains(c) || c.is_ascii_digit());
            let message =
                "A tie stands right after the note it holds, before any space or bar line.";
            self.report(ProblemKind::DetachedTie, span, message).fix =
                sure.then(|| ("Put the tie after its note".to_owned(), edits));
        }
    }

    fn tie_last_note(&mut self, node: Node<'_>) {
        let voice = &self.tune.voices[self.current];
        let position = &mut self.positions[self.current];
        // The chord these notes belong to is not placed yet, so earlier ties still wait for it.
        if let Some(last) = voice.notes.len().checked_sub(1) {
            let span = Span::new(node.start_byte(), node.end_byte());
            position.chord_ties.push((last as u32, span));
        }
    }
}

/// The head of a note: accidental, letter, octave signs; `head` is where its length begins.
struct TypedNote {
    accidental: Option<i8>,
    letter: Letter,
    octave: i8,
    head: usize,
}

impl TypedNote {
    fn read(text: &str) -> TypedNote {
        let signs = text.len() - text.trim_start_matches(['^', '_', '=']).len();
        let accidental = match &text[..signs] {
            "^" => Some(1),
            "^^" => Some(2),
            "_" => Some(-1),
            "__" => Some(-2),
            "=" => Some(0),
            _ => None,
        };
        let rest = &text[signs..];
        let typed = rest.chars().next().unwrap_or('C');
        let letter = Letter::from_char(typed).unwrap_or(Letter::C);
        let mut octave: i8 = if typed.is_ascii_lowercase() { 5 } else { 4 };
        let mut head = signs + 1;
        for byte in rest.bytes().skip(1).take_while(|byte| matches!(byte, b'\'' | b',')) {
            octave =
                if byte == b'\'' { octave.saturating_add(1) } else { octave.saturating_sub(1) };
            head += 1;
        }
        // Beyond nine octaves either way nothing sounds; clamped so that arithmetic stays small.
        TypedNote { accidental, letter, octave: octave.clamp(-9, 18), head }
    }
}

/// `None` for a length of zero or beyond all bounds.
pub(crate) fn read_length(text: &str) -> Option<Time> {
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    let (above, below) = text.split_at(digits);
    let above = if above.is_empty() { 1 } else { above.parse::<i64>().ok()? };
    let slashes = below.bytes().take_while(|byte| *byte == b'/').count();
    let number = &below[slashes..];
    let below = match (slashes, number.is_empty()) {
        (0, _) => 1,
        (1, false) => number.parse::<i64>().ok()?,
        (_, true) if slashes <= 12 => 1 << slashes,
        (_, false) if slashes <= 12 => {
            number.parse::<i64>().ok()?.checked_mul(1 << (slashes - 1))?
        }
        _ => return None,
    };
    let bounds = 1..=LONGEST;
    (bounds.contains(&above) && bounds.contains(&below)).then(|| Time::new(above, below))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths() {
        for (text, above, below) in [
            ("", 1, 1),
            ("2", 2, 1),
            ("3/2", 3, 2),
            ("/", 1, 2),
            ("//", 1, 4),
            ("/4", 1, 4),
            ("3/", 3, 2),
            ("7//", 7, 4),
        ] {
            assert_eq!(read_length(text), Some(Time::new(above, below)), "{text}");
        }
        assert_eq!(read_length("0"), None);
        assert_eq!(read_length("/0"), None);
        assert_eq!(read_length("99999999999999999999"), None);
    }

    #[test]
    fn octave_signs_in_any_mixture() {
        assert_eq!(TypedNote::read("C,',").octave, 3);
        assert_eq!(TypedNote::read("^^c'3/2").octave, 6);
        assert_eq!(TypedNote::read("^^c'3/2").head, 4);
    }
}
