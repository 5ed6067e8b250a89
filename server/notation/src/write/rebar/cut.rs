//! Cutting one layer of one bar at a moment.

use super::Refusal;
use super::length::{length_text, values};
use crate::lower::read_length;
use crate::write::TextEdit;
use recte_score::{Event, EventKind, Span, Voice};
use recte_theory::{Metre, Time};

/// How a layer falls apart.
pub(super) struct Cut {
    /// Edits of the note that is cut through.
    pub(super) edits: Vec<TextEdit>,
    /// The byte where the bar line comes.
    pub(super) line: usize,
    /// The byte where the second bar begins; what lies between is neither's.
    pub(super) start: usize,
    /// What the first bar still needs before its line.
    pub(super) before: String,
    /// What the second bar begins with.
    pub(super) after: String,
}

/// One layer of one bar, and the two signatures it is cut under.
pub(super) struct Layer<'a> {
    pub(super) text: &'a str,
    pub(super) voice: &'a Voice,
    /// Its events, grace notes too.
    pub(super) events: &'a [Event],
    pub(super) at: Time,
    pub(super) signatures: [&'a Metre; 2],
}

impl Layer<'_> {
    pub(super) fn cut(&self) -> Result<Cut, Refusal> {
        let timed = || self.events.iter().filter(|event| !event.grace);
        if let Some(event) = timed().find(|event| event.offset < self.at && self.at < event.end()) {
            return self.cut_through(event);
        }
        let before = timed().rfind(|event| event.end() <= self.at);
        let after = timed().find(|event| event.offset >= self.at);
        match (before, after) {
            (Some(before), Some(after)) => self.cut_between(before, after),
            _ => Err(Refusal::new("A layer of this bar does not fill it.")),
        }
    }

    fn cut_between(&self, before: &Event, after: &Event) -> Result<Cut, Refusal> {
        if before.tuplet.is_some() && before.tuplet == after.tuplet {
            return Err(Refusal::new("A tuplet lies over the place where the bar would be split."));
        }
        let start = self.start_of(after);
        let gap = self.text.get(before.span.end as usize..start).unwrap_or_default();
        if before.broken && after.broken && gap.contains(['<', '>']) {
            return Err(Refusal::new(
                "A broken rhythm lies over the place where the bar would be split.",
            ));
        }
        let plain = gap.trim_start_matches(['-', ')', '.']);
        let line = if plain.chars().all(|c| matches!(c, ' ' | '\t' | '`')) {
            start
        } else {
            before.span.end as usize + gap.len() - plain.len()
        };
        Ok(Cut { edits: Vec::new(), line, start, before: String::new(), after: String::new() })
    }

    /// Where an event begins with its grace notes and signs.
    fn start_of(&self, event: &Event) -> usize {
        let graces = self.events.iter().filter(|grace| grace.grace && grace.offset == event.offset);
        let first = graces.map(|grace| grace.full.start).min().unwrap_or(event.full.start);
        first.min(event.full.start) as usize
    }

    fn cut_through(&self, event: &Event) -> Result<Cut, Refusal> {
        if event.tuplet.is_some() {
            return Err(Refusal::new("A tuplet lies over the place where the bar would be split."));
        }
        if event.broken {
            return Err(Refusal::new(
                "A broken rhythm lies over the place where the bar would be split.",
            ));
        }
        let end = event.span.end as usize;
        let whole = |after: &str| Cut {
            edits: Vec::new(),
            line: end,
            start: end,
            before: String::new(),
            after: after.to_owned(),
        };
        let head = self.text.get(event.span.start as usize..event.length.start as usize);
        let head = head.ok_or_else(|| Refusal::new("This note is typed in an unusual way."))?;
        match event.kind {
            EventKind::BarRest(_) => Ok(whole(head)),
            EventKind::Rest | EventKind::InvisibleRest if head.starts_with('[') => {
                Err(Refusal::new(
                    "A rest in brackets lies over the place where the bar would be split.",
                ))
            }
            EventKind::Rest | EventKind::InvisibleRest => self.spread(event, head, head, ""),
            EventKind::Notes => {
                let [first, next] = tied_heads(head)?;
                self.spread(event, &first, &next, "-")
            }
        }
    }

    /// Writes an event as several on both sides of the cut, joined by `tie`.
    fn spread(&self, event: &Event, first: &str, next: &str, tie: &str) -> Result<Cut, Refusal> {
        let typed = typed_length(self.text, event)?;
        let text = |value: Time| length_text(typed * value / event.duration);
        let left = values(event.offset, self.at - event.offset, self.signatures[0]);
        let right = values(Time::ZERO, event.end() - self.at, self.signatures[1]);
        let joint = format!("{tie} ");
        let write = |values: &[Time], head: &str| -> String {
            let notes: Vec<_> = values.iter().map(|v| format!("{head}{}", text(*v))).collect();
            notes.join(&joint)
        };
        let middle = typed_without_ties(first, next);
        let mut before = match left.split_first() {
            Some((value, [])) => text(*value),
            Some((value, rest)) => format!("{}{joint}{}", text(*value), write(rest, &middle)),
            None => String::new(),
        };
        before.push_str(tie);
        // All but the last of the second part are plain too: the event's own ties leave from the last.
        let after = match right.split_last() {
            Some((value, [])) => format!("{next}{}", text(*value)),
            Some((value, rest)) => {
                format!("{}{joint}{next}{}", write(rest, &middle), text(*value))
            }
            None => String::new(),
        };
        let end = event.span.end as usize;
        let head = Span::new(event.span.start as usize, event.length.start as usize);
        let mut edits = Vec::new();
        if self.text.get(head.range()) != Some(first) {
            edits.push(TextEdit { span: head, text: first.to_owned() });
        }
        edits.push(TextEdit { span: event.length, text: String::new() });
        Ok(Cut { edits, line: end, start: end, before, after })
    }

    /// Whether a note, not a rest, is cut through.
    pub(super) fn ties(&self) -> bool {
        self.events
            .iter()
            .any(|event| event.sounds() && event.offset < self.at && self.at < event.end())
    }

    /// The notes of the second half.
    pub(super) fn notes_after(&self) -> impl Iterator<Item = (&Event, u32)> {
        let later = self.events.iter().filter(|event| event.offset >= self.at);
        later.flat_map(|event| event.notes.clone().map(move |note| (event, note)))
    }
}

/// The length typed for an event, in unit lengths.
pub(super) fn typed_length(text: &str, event: &Event) -> Result<Time, Refusal> {
    let typed = text.get(event.length.range()).unwrap_or_default();
    read_length(typed).ok_or_else(|| Refusal::new("A note here has a length that cannot be read."))
}

/// A note or chord as it is before the cut (its ties taken out: all of it is tied) and after (its
/// accidentals taken out: the tie carries them).
fn tied_heads(head: &str) -> Result<[String; 2], Refusal> {
    let accidental = |c: char| matches!(c, '^' | '_' | '=');
    if !head.starts_with('[') {
        let bare = head.trim_start_matches(accidental);
        if !bare.starts_with(|c: char| c.is_ascii_alphabetic()) {
            return Err(Refusal::new("This note is typed in an unusual way."));
        }
        return Ok([head.to_owned(), head.trim_start_matches(accidental).to_owned()]);
    }
    let simple = |c: char| c.is_ascii_alphanumeric() || "[]^_=,'/-".contains(c);
    let letters = head.chars().filter(|c| c.is_ascii_alphabetic());
    let mut letters: Vec<char> = letters.map(|c| c.to_ascii_uppercase()).collect();
    letters.sort_unstable();
    let doubled = letters.windows(2).any(|pair| pair[0] == pair[1]);
    if !head.chars().all(simple)
        || letters.iter().any(|c| *c > 'G')
        || (doubled && head.contains(accidental))
    {
        return Err(Refusal::new(
            "A chord with signs of its own lies over the place where the bar would be split.",
        ));
    }
    Ok([head.replace('-', ""), head.chars().filter(|c| !accidental(*c)).collect()])
}

/// What stands between the first and the last of a row of tied values.
fn typed_without_ties(first: &str, next: &str) -> String {
    if first.starts_with('[') { next.replace('-', "") } else { next.to_owned() }
}
