//! What is typed of a note, chord or rest before its length, and how it is typed again where it is tied on.

use super::Refusal;
use crate::lower::read_length;
use crate::write::pitch::accidental_text;
use recte_score::{Event, EventKind, Voice};
use recte_theory::Time;
use std::collections::BTreeMap;

/// The accidentals that notes are to have instead of those typed, by the note's index in its voice.
pub(super) type Signed = BTreeMap<u32, Option<i8>>;

/// A note, chord or rest, its length taken off.
pub(super) struct Head<'a> {
    parts: Vec<Part<'a>>,
    /// How long it is, in unit lengths.
    units: Time,
    /// What is typed after it, in unit lengths.
    outer: Time,
    /// Whether its length is typed with every note of the chord.
    inside: bool,
}

#[derive(Clone, Copy)]
enum Part<'a> {
    Sign(&'a str),
    Tie,
    Note { index: u32, accidental: &'a str, name: &'a str },
}

impl<'a> Head<'a> {
    /// Reads an event.
    ///
    /// # Errors
    /// When it is typed in an unusual way: by a macro, or a chord with signs or unequal lengths inside.
    pub(super) fn of(text: &'a str, voice: &Voice, event: &Event) -> Result<Head<'a>, Refusal> {
        let unusual = || Refusal::new("A note over a bar line is typed in an unusual way.");
        let typed = text.get(event.length.range()).ok_or_else(unusual)?;
        let outer = read_length(typed).ok_or_else(unusual)?;
        let (start, end) = (event.span.start as usize, event.length.start as usize);
        let head = text.get(start..end).ok_or_else(unusual)?;
        if event.kind != EventKind::Notes {
            if head.len() != 1 {
                return Err(Refusal::new("A rest in brackets lies over a bar line."));
            }
            return Ok(Head { parts: vec![Part::Sign(head)], units: outer, outer, inside: false });
        }
        let mut parts = Vec::new();
        let mut at = start;
        let mut inner: Vec<Time> = Vec::new();
        for index in event.notes.clone() {
            let span = voice.notes[index as usize].span.range();
            let between = text.get(at..span.start).ok_or_else(unusual)?;
            inner.extend(signs(between, &mut parts)?);
            let typed = text.get(span.clone()).filter(|_| span.end <= end).ok_or_else(unusual)?;
            let name = typed.trim_start_matches(['^', '_', '=']);
            if !name.starts_with(|c: char| matches!(c, 'A'..='G' | 'a'..='g')) {
                return Err(unusual());
            }
            let accidental = &typed[..typed.len() - name.len()];
            parts.push(Part::Note { index, accidental, name });
            at = span.end;
        }
        inner.extend(signs(text.get(at..end).ok_or_else(unusual)?, &mut parts)?);
        let chord = head.starts_with('[');
        let mut units = outer;
        if let Some(first) = inner.first().filter(|_| chord) {
            let all = inner.len() == event.notes.len() && inner.iter().all(|one| one == first);
            if !all {
                return Err(Refusal::new("A chord of unequal lengths lies over a bar line."));
            }
            units = units * *first;
        }
        let bare = chord && typed.is_empty() && inner.is_empty();
        let inside = units != outer && typed.is_empty() || bare && lengths_inside(text, voice);
        Ok(Head { parts, units, outer, inside })
    }

    /// Its length, in unit lengths.
    pub(super) fn units(&self) -> Time {
        self.units
    }

    /// What is typed after it, in unit lengths.
    pub(super) fn outer(&self) -> Time {
        self.outer
    }

    /// With a length: as the first of tied notes, under its accidentals, or as one that a tie brings them.
    pub(super) fn typed(&self, first: bool, ties: bool, signed: &Signed, length: &str) -> String {
        let inner = if self.inside { length } else { "" };
        let mut text = String::new();
        for part in &self.parts {
            match part {
                Part::Sign(sign) => text.push_str(sign),
                Part::Tie if ties => text.push('-'),
                Part::Tie => {}
                Part::Note { index, accidental, name } => {
                    if first {
                        match signed.get(index) {
                            Some(alter) => text.push_str(alter.map_or("", accidental_text)),
                            None => text.push_str(accidental),
                        }
                    }
                    text.push_str(name);
                    text.push_str(inner);
                }
            }
        }
        text + if self.inside { "" } else { length }
    }

    /// The notes of this one under the ties of another, which is alike.
    pub(super) fn tied_as(&self, other: &Head<'a>) -> Head<'a> {
        let mut notes = self.parts.iter().filter(|part| matches!(part, Part::Note { .. })).copied();
        let part = |part: &Part<'a>| match part {
            Part::Note { .. } => notes.next().unwrap_or(*part),
            _ => *part,
        };
        let parts = other.parts.iter().map(part).collect();
        Head { parts, ..*self }
    }

    /// Whether a bare letter of it could mean two notes, so that its accidentals cannot be left to a tie.
    pub(super) fn is_doubtful(&self) -> bool {
        let notes = self.parts.iter().filter_map(|part| match part {
            Part::Note { accidental, name, .. } => Some((accidental, name.as_bytes()[0])),
            _ => None,
        });
        let mut letters: Vec<u8> =
            notes.clone().map(|(_, name)| name.to_ascii_uppercase()).collect();
        letters.sort_unstable();
        let doubled = letters.windows(2).any(|pair| pair[0] == pair[1]);
        doubled && notes.into_iter().any(|(accidental, _)| !accidental.is_empty())
    }

    /// Whether the two are the same notes, whatever accidentals they have.
    pub(super) fn is_like(&self, other: &Head<'_>) -> bool {
        let none = Signed::new();
        self.typed(false, false, &none, "") == other.typed(false, false, &none, "")
    }
}

/// Whether the chords of a voice mostly have their lengths typed with their notes.
fn lengths_inside(text: &str, voice: &Voice) -> bool {
    let (mut inside, mut outside) = (0, 0);
    for event in voice.events.iter().filter(|event| event.notes.len() > 1 && !event.grace) {
        let first = voice.notes[event.notes.start as usize].span.end as usize;
        let digit = |c: char| c.is_ascii_digit() || c == '/';
        inside += usize::from(text.get(first..).is_some_and(|rest| rest.starts_with(digit)));
        outside += usize::from(event.length.start != event.length.end);
    }
    inside > outside
}

/// The signs between the notes of a chord: brackets, ties and lengths; the lengths are given back.
fn signs<'a>(between: &'a str, parts: &mut Vec<Part<'a>>) -> Result<Vec<Time>, Refusal> {
    let refusal = || Refusal::new("A chord with signs of its own lies over a bar line.");
    let mut lengths = Vec::new();
    let mut rest = between;
    while let Some(c) = rest.chars().next() {
        let number = rest.find(|c: char| !c.is_ascii_digit() && c != '/').unwrap_or(rest.len());
        match c {
            '[' | ']' => parts.push(Part::Sign(&rest[..1])),
            '-' => parts.push(Part::Tie),
            _ if number > 0 => {
                lengths.push(read_length(&rest[..number]).ok_or_else(refusal)?);
                rest = &rest[number..];
                continue;
            }
            _ => return Err(refusal()),
        }
        rest = &rest[1..];
    }
    Ok(lengths)
}
