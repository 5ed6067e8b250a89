//! Signatures of seven sharps or flats and more.

use super::{Moved, fifths, move_of, other_name};
use crate::context::Context;
use crate::finding::Fix;
use crate::players::is_harp;
use recte_notation::write::TextEdit;
use recte_score::{MarkKind, NoteRef, Span};
use recte_theory::{Key, PitchName};
use std::ops::Range;

/// Music under one signature, from where it is typed until another is, in every voice that it is typed for there.
#[derive(Clone, Debug)]
pub(crate) struct Stretch {
    /// The key, by index in the tune.
    pub(crate) key: u16,
    /// Where it is typed.
    pub(crate) fields: Vec<Span>,
    /// The events under it: a voice by index, and its events.
    pub(crate) music: Vec<(usize, Range<u32>)>,
    /// The first and the last bar; none for the header's.
    pub(crate) bars: Option<(u32, u32)>,
    /// The key before it.
    pub(crate) before: Option<u16>,
}

/// The stretches of a tune, in the order typed.
pub(crate) fn stretches(context: &Context<'_>) -> Vec<Stretch> {
    let keys = &context.lowered().keys;
    let header = keys.iter().rev().find(|key| key.begins.is_none());
    let mut all: Vec<Stretch> = Vec::new();
    for (number, voice) in context.voices() {
        let mut own: Vec<Stretch> = Vec::new();
        if let Some(header) = header {
            own.push(new(header.key, header.span, (number, 0), None));
        }
        for typed in keys {
            let Some((_, event)) = typed.begins.filter(|(its, _)| *its as usize == number) else {
                continue;
            };
            if let Some(last) = own.last_mut() {
                if last.key == typed.key {
                    last.fields.push(typed.span);
                    continue;
                }
                last.music[0].1.end = event;
            }
            let before = own.last().map(|last| last.key);
            let bar = voice.events.get(event as usize).map_or(u32::MAX, |event| event.bar);
            own.push(Stretch {
                before,
                ..new(typed.key, typed.span, (number, event), Some((bar, bar)))
            });
        }
        if let Some(last) = own.last_mut() {
            last.music[0].1.end = voice.events.len() as u32;
        }
        for mut stretch in own {
            let (first, events) = (&stretch.music[0].1, &voice.events);
            let last = events.get((first.end.max(first.start + 1) - 1) as usize);
            if let (Some(bars), Some(last)) = (&mut stretch.bars, last) {
                bars.1 = last.bar.max(bars.0);
            }
            join(&mut all, stretch);
        }
    }
    all
}

fn new(key: u16, field: Span, (voice, event): (usize, u32), bars: Option<(u32, u32)>) -> Stretch {
    let music = vec![(voice, event..u32::MAX)];
    Stretch { key, fields: vec![field], music, bars, before: None }
}

/// The same signature at the same bar of several voices is one.
fn join(all: &mut Vec<Stretch>, stretch: Stretch) {
    let start = |bars: Option<(u32, u32)>| bars.map(|(first, _)| first);
    let same =
        |other: &&mut Stretch| other.key == stretch.key && start(other.bars) == start(stretch.bars);
    match all.iter_mut().find(same) {
        Some(other) => {
            other.fields.extend(&stretch.fields);
            other.fields.sort_unstable();
            other.fields.dedup();
            other.music.extend(stretch.music);
            other.bars = other.bars.zip(stretch.bars).map(|(a, b)| (a.0, a.1.max(b.1)));
        }
        None => all.push(stretch),
    }
}

impl Stretch {
    /// The voices with notes that have a pitch, by index.
    fn voices<'a>(&'a self, context: &'a Context<'_>) -> impl Iterator<Item = usize> + 'a {
        let tune = context.tune;
        let pitched = move |(at, events): &(usize, Range<u32>)| {
            let voice = &tune.voices[*at];
            let events = voice.events.get(events.start as usize..events.end as usize);
            let notes = events.unwrap_or(&[]).iter().any(|event| !event.notes.is_empty());
            (notes && !voice.clef.is_percussion()).then_some(*at)
        };
        self.music.iter().filter_map(pitched)
    }

    /// Whether harps play all of it, and whether they play some of it. Its pedals make C flat the harp's own key.
    fn harps(&self, context: &Context<'_>) -> (bool, bool) {
        let harp = |voice| is_harp(context, voice);
        let (mut all, mut some) = (true, false);
        for harp in self.voices(context).map(harp) {
            all &= harp;
            some |= harp;
        }
        (all && some, some)
    }

    /// How far it should be moved along the line of fifths to be read with ease, if it should.
    pub(crate) fn moves(&self, context: &Context<'_>) -> Option<i32> {
        self.voices(context).next()?;
        let fifths = fifths(&context.tune.keys[self.key as usize])?;
        match self.harps(context) {
            (true, _) if fifths == 5 => Some(-12),
            (true, _) if fifths == -7 => None,
            _ => move_of(fifths),
        }
    }

    /// Whether it is for harps alone.
    pub(crate) fn is_for_harp(&self, context: &Context<'_>) -> bool {
        self.harps(context).0
    }

    /// The fix that writes it, and every note and chord symbol under it, in the other key.
    pub(crate) fn fix(&self, context: &Context<'_>, by: i32) -> Option<Fix> {
        let (all, some) = self.harps(context);
        if some && !all {
            return None; // One field is for harps and for others.
        }
        let other = other_name(&context.tune.keys[self.key as usize], by);
        let mut tune = context.tune.clone();
        let number = u16::try_from(tune.keys.len()).ok()?;
        tune.keys.push(other);
        let mut notes = Vec::new();
        for (voice, events) in &self.music {
            let own = &mut tune.voices[*voice];
            let events = own.events.get_mut(events.start as usize..events.end as usize)?;
            for event in events.iter_mut().filter(|event| event.key == self.key) {
                event.key = number;
                let voice = *voice as u32;
                notes.extend(event.notes.clone().map(|note| NoteRef { voice, note }));
            }
        }
        notes.retain(|at| !tune.voices[at.voice as usize].clef.is_percussion());
        let moved =
            Moved { context, tune: &tune, key: other, signature_moves: true, notes: &notes, by };
        let mut edits = moved.edits()?;
        for field in &self.fields {
            edits.push(self.field(context, *field, &other)?);
        }
        edits.extend(self.chord_symbols(context, by));
        Some(context.fix(format!("Write in {}", words(&other)), edits))
    }

    /// The new tonic in place of the old; its mode stays as it is typed.
    fn field(&self, context: &Context<'_>, field: Span, other: &Key) -> Option<TextEdit> {
        let typed = context.block.text.get(field.range())?;
        let tonic = root(typed)?;
        let span = Span::new(field.start as usize, field.start as usize + tonic);
        Some(TextEdit { span, text: other.tonic?.to_string() })
    }

    fn chord_symbols(&self, context: &Context<'_>, by: i32) -> Vec<TextEdit> {
        let mut edits = Vec::new();
        for (voice, events) in &self.music {
            let marks = context.tune.voices[*voice].marks.iter();
            let symbols = marks
                .filter(|mark| mark.kind == MarkKind::ChordSymbol && events.contains(&mark.event));
            for mark in symbols {
                let typed = context.block.text.get(mark.span.range()).unwrap_or_default();
                let renamed = renamed(typed, by);
                if renamed != typed {
                    edits.push(TextEdit { span: mark.span, text: renamed });
                }
            }
        }
        edits
    }
}

/// How long the root is that a text begins with.
fn root(text: &str) -> Option<usize> {
    let mut chars = text.chars();
    chars.next().filter(|c| ('A'..='G').contains(c))?;
    let sign = chars.next().filter(|c| "#b♯♭".contains(*c));
    Some(1 + sign.map_or(0, char::len_utf8))
}

/// A chord symbol in its quotation marks with other names for its root and its bass.
fn renamed(symbol: &str, by: i32) -> String {
    let mut text = String::with_capacity(symbol.len());
    let mut rest = symbol;
    while let Some(c) = rest.chars().next() {
        let begins = text.ends_with(['"', '/', '(']);
        let length = root(rest).filter(|_| begins);
        let name = length.and_then(|length| {
            let plain = rest[..length].replace('♯', "#").replace('♭', "b");
            let name: PitchName = plain.parse().ok()?;
            let name = PitchName::from_fifths(name.fifths() + by);
            (name.alter.abs() < 2).then_some((length, name.to_string()))
        });
        let (length, written) = name.unwrap_or_else(|| (c.len_utf8(), c.to_string()));
        text.push_str(&written);
        rest = &rest[length..];
    }
    text
}

/// "D flat major".
pub(crate) fn words(key: &Key) -> String {
    let tonic = key.tonic.map(PitchName::words).unwrap_or_default();
    format!("{tonic} {}", key.mode.name())
}

#[cfg(test)]
mod tests {
    use super::renamed;

    #[test]
    fn chord_symbols_follow_the_key() {
        for (typed, by, other) in [
            ("\"C#\"", -12, "\"Db\""),
            ("\"G#7/B#\"", -12, "\"Ab7/C\""),
            ("\"A#m\"", -12, "\"Bbm\""),
            ("\"Fbmaj7\"", 12, "\"Emaj7\""),
            ("\"A\"", -12, "\"A\""),
            ("\"Bass\"", 12, "\"Bass\""),
            ("\"D♯m(E♯)\"", -12, "\"Ebm(F)\""),
        ] {
            assert_eq!(renamed(typed, by), other);
        }
    }
}
