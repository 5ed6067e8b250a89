//! Changes of the music, for suggestions alone: other pitches, a note more in a chord, a note in place of a rest.
//!
//! The new notes are typed first, then every note of the bars they stand in is given the accidental that it needs
//! there; the result is read again and must hold exactly what was asked for, and nothing else otherwise than before.

use super::pitch::pitch_text;
use super::rebar::length_text;
use super::respell::{between_lines, retyped_in, typed};
use super::{TextEdit, apply};
use crate::{Block, Lowered};
use recte_score::{Event, EventKind, Span, Tune, Voice};
use recte_theory::Pitch;
use std::collections::{BTreeMap, BTreeSet};

/// One change. Pitches are what the player reads.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Alteration {
    /// A note is another.
    Other {
        /// The voice, by index.
        voice: u32,
        /// The note, by index in its voice.
        note: u32,
        /// What is read now.
        pitch: Pitch,
    },
    /// A chord has a note more, or a note becomes a chord.
    More {
        /// The voice, by index.
        voice: u32,
        /// The event, by index in its voice.
        event: u32,
        /// The note that comes.
        pitch: Pitch,
    },
    /// A rest becomes a note.
    Instead {
        /// The voice, by index.
        voice: u32,
        /// The rest, by index in its voice.
        event: u32,
        /// The note that comes.
        pitch: Pitch,
        /// Whether a tie leads on to the next event.
        tied: bool,
    },
}

impl Alteration {
    fn voice(&self) -> u32 {
        match self {
            Alteration::Other { voice, .. }
            | Alteration::More { voice, .. }
            | Alteration::Instead { voice, .. } => *voice,
        }
    }
}

/// The edits that make these changes and no other; none where the text does not allow it (a rest that counts
/// several bars, a chord whose notes have lengths of their own, a name beyond double accidentals).
pub fn altered(block: &Block, changes: &[Alteration]) -> Option<Vec<TextEdit>> {
    let before = block.lowered();
    let first =
        changes.iter().map(|change| placed(&before.tune, change)).collect::<Option<Vec<_>>>()?;
    let first = first.concat();
    let between = block.edited(&first).ok()?;
    let read = between.lowered();
    let wanted = wanted(&before.tune, changes);
    if !same_events(before, read) {
        return None;
    }
    let mut edits = Vec::new();
    for (&number, events) in &wanted {
        let voice = read.tune.voices.get(number as usize)?;
        // Every note of the bars touched, so that those left keep their pitch.
        let touched: BTreeSet<u32> = events
            .keys()
            .filter_map(|event| voice.events.get(*event as usize))
            .flat_map(|event| {
                let (first, last) = between_lines(voice, event.bar);
                first..=last
            })
            .collect();
        let old = &before.tune.voices[number as usize];
        let mut names = BTreeMap::new();
        for (index, event) in voice.events.iter().enumerate() {
            if !touched.contains(&event.bar) {
                continue;
            }
            let own: Vec<Pitch> = match events.get(&(index as u32)) {
                Some(pitches) => pitches.clone(),
                None => old.notes_of(&old.events[index]).iter().map(|note| note.written).collect(),
            };
            if own.len() != event.notes.len() {
                return None;
            }
            names.extend(event.notes.clone().zip(own));
        }
        edits.extend(typed(&read.tune, &retyped_in(&read.tune, read.reach, number, &names)));
    }
    let after = apply(&between.text, &edits).ok()?;
    let edits = by_lines(&block.text, &after)?;
    let result = block.edited(&edits).ok()?;
    holds(before, result.lowered(), &wanted).then_some(edits)
}

/// By voice and event, all notes that are to stand there, in the order in which they are typed.
type Wanted = BTreeMap<u32, BTreeMap<u32, Vec<Pitch>>>;

fn wanted(tune: &Tune, changes: &[Alteration]) -> Wanted {
    let mut all = Wanted::new();
    for change in changes {
        let number = change.voice();
        let Some(voice) = tune.voices.get(number as usize) else { continue };
        let event = match *change {
            Alteration::Other { note, .. } => voice.notes[note as usize].event,
            Alteration::More { event, .. } | Alteration::Instead { event, .. } => event,
        };
        let own = &voice.events[event as usize];
        let typed = || voice.notes_of(own).iter().map(|note| note.written).collect();
        let pitches: &mut Vec<Pitch> =
            all.entry(number).or_default().entry(event).or_insert_with(typed);
        match *change {
            Alteration::Other { note, pitch, .. } => {
                // Notes that came are after or between those that were there.
                let old = voice.notes[note as usize].written;
                if let Some(place) = pitches.iter().position(|known| *known == old) {
                    pitches[place] = pitch;
                }
            }
            Alteration::More { pitch, .. } => pitches.insert(place_in(pitches, pitch), pitch),
            Alteration::Instead { pitch, .. } => pitches.push(pitch),
        }
    }
    all
}

/// Before the first note that is higher.
fn place_in(pitches: &[Pitch], pitch: Pitch) -> usize {
    pitches.iter().position(|known| known.midi() > pitch.midi()).unwrap_or(pitches.len())
}

/// The edits that put a note where one comes, its accidental left for later.
fn placed(tune: &Tune, change: &Alteration) -> Option<Vec<TextEdit>> {
    let voice = tune.voices.get(change.voice() as usize)?;
    match *change {
        Alteration::Other { note, .. } => voice.notes.get(note as usize).map(|_| Vec::new()),
        Alteration::More { event, pitch, .. } => {
            more(voice, voice.events.get(event as usize)?, pitch)
        }
        Alteration::Instead { event, pitch, tied, .. } => {
            let event = voice.events.get(event as usize)?;
            let whole = matches!(event.kind, EventKind::BarRest(1));
            if !matches!(event.kind, EventKind::Rest) && !whole
                || event.notes.start != event.notes.end
            {
                return None;
            }
            let length = length_text(event.duration / event.unit);
            let tie = if tied { "-" } else { "" };
            let shift = voice.notes.first().map_or(0, |note| note.octave_shift);
            let text = bare(pitch, shift);
            Some(vec![TextEdit { span: event.span, text: format!("{text}{length}{tie}") }])
        }
    }
}

fn bare(pitch: Pitch, shift: i8) -> String {
    pitch_text(pitch.shifted_octaves(-shift), false)
}

fn more(voice: &Voice, event: &Event, pitch: Pitch) -> Option<Vec<TextEdit>> {
    let notes = voice.notes_of(event);
    let (first, last) = (notes.first()?, notes.last()?);
    let text = bare(pitch, first.octave_shift);
    let at = |at: u32, text: String| TextEdit { span: Span { start: at, end: at }, text };
    let pitches: Vec<Pitch> = notes.iter().map(|note| note.written).collect();
    let next = notes.get(place_in(&pitches, pitch));
    if event.span.start == first.span.start {
        let (before, after) = match next {
            Some(_) => (format!("[{text}"), "]".to_owned()),
            None => ("[".to_owned(), format!("{text}]")),
        };
        return Some(vec![at(first.span.start, before), at(last.span.end, after)]);
    }
    // A chord whose notes have lengths or ties of their own would ask for those too.
    let plain = notes.windows(2).all(|pair| pair[0].span.end == pair[1].span.start);
    plain.then(|| vec![at(next.map_or(last.span.end, |next| next.span.start), text)])
}

/// Whether each event is where it was.
fn same_events(before: &Lowered, after: &Lowered) -> bool {
    let place = |event: &Event| (event.offset, event.duration, event.bar, event.layer);
    let (old, new) = (&before.tune.voices, &after.tune.voices);
    old.len() == new.len()
        && old.iter().zip(new).all(|(old, new)| {
            old.bars.len() == new.bars.len()
                && old.events.iter().map(place).eq(new.events.iter().map(place))
        })
}

/// Whether the result has the notes wanted where they were wanted, and all others as they were.
fn holds(before: &Lowered, after: &Lowered, wanted: &Wanted) -> bool {
    let pairs = before.tune.voices.iter().zip(&after.tune.voices).zip(0u32..);
    let none = BTreeMap::new();
    same_events(before, after)
        && after.problems.len() <= before.problems.len()
        && pairs.into_iter().all(|((old, new), number)| {
            let own = wanted.get(&number).unwrap_or(&none);
            old.events.iter().zip(&new.events).zip(0u32..).all(|((a, b), index)| {
                let now: Vec<Pitch> = new.notes_of(b).iter().map(|note| note.written).collect();
                match own.get(&index) {
                    Some(pitches) => now == *pitches,
                    None => {
                        let was = old.notes_of(a).iter();
                        let ties = |voice: &Voice, event: &Event| {
                            voice.notes_of(event).iter().map(|n| n.tied_out).collect::<Vec<_>>()
                        };
                        was.map(|note| note.written).eq(now) && ties(old, a) == ties(new, b)
                    }
                }
            })
        })
}

/// The edits, line by line, from one text to another of as many lines.
fn by_lines(before: &str, after: &str) -> Option<Vec<TextEdit>> {
    let (old, new): (Vec<&str>, Vec<&str>) =
        (before.split('\n').collect(), after.split('\n').collect());
    if old.len() != new.len() {
        return None;
    }
    let mut edits = Vec::new();
    let mut at = 0;
    for (old, new) in old.into_iter().zip(new) {
        if old != new {
            let same = |a: &mut dyn Iterator<Item = (char, char)>| -> usize {
                a.take_while(|(a, b)| a == b).map(|(a, _)| a.len_utf8()).sum()
            };
            let head = same(&mut old.chars().zip(new.chars()));
            let tail = same(&mut old[head..].chars().rev().zip(new[head..].chars().rev()));
            edits.push(TextEdit {
                span: Span::new(at + head, at + old.len() - tail),
                text: new[head..new.len() - tail].to_owned(),
            });
        }
        at += old.len() + 1;
    }
    Some(edits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Document;

    /// The music after some changes.
    fn after(music: &str, changes: &[Alteration]) -> Option<String> {
        let head = "X:1\nM:4/4\nL:1/4\nK:C\n";
        let document = Document::new(&format!("{head}{music}\n"));
        let (_, block) = document.blocks().next().unwrap();
        let edits = altered(block, changes)?;
        let text = apply(&block.text, &edits).unwrap();
        Some(text.strip_prefix(head).unwrap().trim_end().to_owned())
    }

    fn pitch(text: &str) -> Pitch {
        text.parse().unwrap()
    }

    fn more(event: u32, text: &str) -> Alteration {
        Alteration::More { voice: 0, event, pitch: pitch(text) }
    }

    #[test]
    fn a_note_more() {
        assert_eq!(after("[CEG]2 C2|", &[more(0, "B4")]).unwrap(), "[CEGB]2 C2|");
        assert_eq!(after("[CEG]2 C2|", &[more(0, "Bb4")]).unwrap(), "[CEG_B]2 C2|");
        assert_eq!(after("(C2 \"G\"!f!G2)|", &[more(1, "D4")]).unwrap(), "(C2 \"G\"!f![DG]2)|");
        assert_eq!(after("C2- C2|", &[more(0, "E4"), more(1, "E4")]).unwrap(), "[CE]2- [CE]2|");
    }

    #[test]
    fn what_stands_after_keeps_its_pitch() {
        assert_eq!(after("[CEG]2 B2|B4|", &[more(0, "Bb4")]).unwrap(), "[CEG_B]2 =B2|B4|");
        assert_eq!(after("_B2 B2|", &[more(0, "B5")]).unwrap(), "[_B=b]2 _B2|");
        let other = Alteration::Other { voice: 0, note: 0, pitch: pitch("F#4") };
        assert_eq!(after("G F G F|", &[other]).unwrap(), "^F =F G F|");
    }

    #[test]
    fn a_note_in_place_of_a_rest() {
        let one = |event, tied| Alteration::Instead { voice: 0, event, pitch: pitch("C3"), tied };
        assert_eq!(
            after("z4|Z|z2 E2|", &[one(0, true), one(1, true), one(2, false)]).unwrap(),
            "C,4-|C,4-|C,2 E2|"
        );
        assert_eq!(after("Z2|", &[one(0, false)]), None);
    }

    #[test]
    fn what_the_text_does_not_allow() {
        assert_eq!(after("[C2E3]|", &[more(0, "B4")]), None);
    }
}
