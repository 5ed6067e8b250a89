//! Grace notes: `{ga}`, `{/g}` (abc standard v2.1, 4.12).

use super::body::Reader;
use crate::problem::ProblemKind;
use crate::syntax::{Kind, kind};
use crate::write::TextEdit;
use recte_score::{Event, EventKind, Span};
use tree_sitter::Node;

impl Reader<'_> {
    /// Grace notes take no time; their accidentals count for the bar. Where their end is missing they end at
    /// the first space, and what follows is music.
    pub(super) fn grace(&mut self, node: Node<'_>) {
        self.lead(node);
        let lead = self.positions[self.current].lead;
        let slashed = self.text[node.byte_range()].starts_with("{/");
        let first = self.tune.voices[self.current].events.len();
        let mut cursor = node.walk();
        let children: Vec<Node<'_>> = node.children(&mut cursor).collect();
        let closed = children.iter().any(|child| kind(*child) == Kind::GraceEnd);
        let gap = children.windows(2).position(|pair| {
            self.text[pair[0].end_byte()..pair[1].start_byte()].contains([' ', '\t'])
        });
        let count = gap.filter(|_| !closed).map_or(children.len(), |gap| gap + 1);
        let (inside, after) = children.split_at(count);
        inside.iter().for_each(|child| self.grace_item(*child));
        self.tune.voices[self.current].events[first..]
            .iter_mut()
            .for_each(|event| event.slashed = slashed);
        if !closed {
            let end = inside.last().map_or(node.end_byte(), Node::end_byte);
            let span = Span::new(node.start_byte(), end);
            let message = "These grace notes are not closed; a “}” ends them.";
            let fix = vec![TextEdit { span: Span::new(end, end), text: "}".to_owned() }];
            self.report(ProblemKind::Unclosed, span, message).fix =
                Some(("Close the grace notes".to_owned(), fix));
        }
        self.positions[self.current].lead = lead;
        after.iter().for_each(|child| self.item(*child, kind(*child)));
    }

    fn grace_item(&mut self, node: Node<'_>) {
        match kind(node) {
            Kind::Note => self.grace_notes(node, &[node]),
            Kind::Chord => {
                let mut inner = node.walk();
                let notes = node.children(&mut inner).filter(|c| kind(*c) == Kind::Note);
                self.grace_notes(node, &notes.collect::<Vec<_>>());
            }
            Kind::Decoration | Kind::Quoted => self.mark(node),
            Kind::SlurOpen => self.slur_open(node),
            Kind::SlurClose => {
                let last = (self.tune.voices[self.current].events.len() as u32).checked_sub(1);
                self.slur_close(node, last);
            }
            Kind::Unknown => self.unknown(node),
            _ => {}
        }
    }

    /// A grace note, or several at once.
    fn grace_notes(&mut self, node: Node<'_>, notes: &[Node<'_>]) {
        let joined = self.positions[self.current].joined;
        let first = self.tune.voices[self.current].notes.len() as u32;
        let mut event = Event { grace: true, ..self.event(node, EventKind::Notes) };
        for &note in notes {
            let (note, length, typed) = self.read_note(note);
            event.length = typed;
            event.grace_length = length * self.positions[self.current].unit;
            self.tune.voices[self.current].notes.push(note);
        }
        event.notes = first..self.tune.voices[self.current].notes.len() as u32;
        if event.notes.is_empty() {
            return;
        }
        self.place(event);
        // Grace notes are transparent: the beam before them goes on.
        self.positions[self.current].joined = joined;
    }
}
