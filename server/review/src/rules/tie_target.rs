//! # A tie that holds nothing
//!
//! A tie joins two notes of one pitch into one sound. Where the next note has another pitch, a slur was meant;
//! where a rest or nothing follows, there is nothing to hold. A tie between two names of one sound (F sharp,
//! G flat) works, and is only a hint. Where another voice goes on with the pitch, the tie has skipped to it: each
//! part is read alone. Ties over a repeat sign or into another ending are left alone.
//!
//! The player does not know whether to hold the note or play the next one.
//! The fix writes a slur, puts the tie right after its note, or gives both notes one name; it changes no sound.
//!
//! Source: abc standard v2.1, 4.11 (ties and slurs).
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! C2-D2|G4|
//! ```
//!
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! (C2D2)|G4|
//! ```
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! c4 -c4|
//! ```
//!
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! c4- c4|
//! ```
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! [V:1]C2G2-|C4|
//! [V:2]E4|G4|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! |:C2-C2-|[CE]2-[EG]2-|1G4-:|2G4|
//! ```

use super::unreadable::speak;
use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use crate::words;
use recte_notation::ProblemKind;
use recte_notation::write::{Respelling, TextEdit};
use recte_score::{Event, EventKind, LooseTie, MarkKind, Note, Span, Voice};
use recte_theory::{Pitch, Time};
use std::collections::HashMap;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Warning,
    summary: "a tie to another pitch, to a rest, or to nothing",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let apart = if context.tune.strict { Severity::Warning } else { Severity::Info };
    speak(context, findings, |kind| match kind {
        ProblemKind::DetachedTie => Some(apart),
        ProblemKind::TiedRest => Some(Severity::Hint),
        _ => None,
    });
    let beginnings = beginnings(context);
    for (index, voice) in context.voices() {
        let mut last = Span::default();
        for tie in &voice.loose_ties {
            // One sign after a chord is one remark.
            if std::mem::replace(&mut last, tie.span) != tie.span {
                findings.extend(loose(context, &beginnings, index, voice, tie));
            }
        }
        renamed(context, index, voice, findings);
    }
}

/// Which voices begin a note at a time: the first two are enough to find one that is another.
type Beginnings = HashMap<(Time, Pitch), [Option<u32>; 2]>;

/// Empty where no tie can skip to another voice.
fn beginnings(context: &Context<'_>) -> Beginnings {
    let mut found = Beginnings::new();
    let voices = &context.tune.voices;
    if voices.len() > 1 && voices.iter().any(|voice| !voice.loose_ties.is_empty()) {
        for sound in context.soundings() {
            let known = found.entry((sound.onset, sound.written)).or_default();
            match known {
                [None, _] => known[0] = Some(sound.voice),
                [Some(first), None] if *first != sound.voice => known[1] = Some(sound.voice),
                _ => {}
            }
        }
    }
    found
}

fn loose(
    context: &Context<'_>,
    beginnings: &Beginnings,
    index: usize,
    voice: &Voice,
    tie: &LooseTie,
) -> Option<Finding> {
    let note = &voice.notes[tie.note as usize];
    let event = &voice.events[note.event as usize];
    let next = tie.next.and_then(|next| voice.events.get(next as usize));
    if goes_elsewhere(voice, event, next) {
        return None;
    }
    let from = note.written.name.words();
    if let Some(other) = goes_on_in(context, beginnings, index, event, note) {
        let message = format!(
            "This tie leads from {from} in {} to {from} in {}; each part is read alone.",
            words::voice(voice),
            words::voice(other)
        );
        return Some(Finding { span: tie.span, ..context.at_event(index, event, message) });
    }
    let (severity, message, fix) = match next {
        None => (Severity::Hint, format!("This tie on {from} leads to no note."), None),
        Some(next) if next.kind != EventKind::Notes => {
            let message = format!("This tie on {from} leads to a rest.");
            (Severity::Info, message, Some(remove(context, tie)))
        }
        Some(next) => {
            let to = voice.notes_of(next).first()?;
            let name = if to.written.name == note.written.name {
                format!("another {}", to.written.name.words())
            } else {
                to.written.name.words()
            };
            let message = format!(
                "This tie leads from {from} to {name}; between two pitches a slur is meant."
            );
            (Severity::Warning, message, slur(context, voice, tie, event, next))
        }
    };
    let place = context.at_event(index, event, message);
    Some(Finding { severity, span: tie.span, fixes: fix.into_iter().collect(), ..place })
}

/// Another voice that takes up the pitch as this note ends.
fn goes_on_in<'a>(
    context: &Context<'a>,
    beginnings: &Beginnings,
    index: usize,
    event: &Event,
    note: &Note,
) -> Option<&'a Voice> {
    let end = context.tune.onset(event) + event.duration;
    let voices = beginnings.get(&(end, note.written))?.iter().flatten();
    let other = voices.map(|voice| *voice as usize).find(|voice| *voice != index)?;
    context.tune.voices.get(other)
}

/// Whether the note that follows on the page is not the one that follows in playing: at a repeat or an ending.
fn goes_elsewhere(voice: &Voice, event: &Event, next: Option<&Event>) -> bool {
    let bar = &voice.bars[event.bar as usize];
    let Some(next) = next else { return bar.repeat_closes > 0 };
    let parted = next.bar != event.bar;
    parted && (bar.section_ends || voice.bars[next.bar as usize].ending)
}

/// The same with a slur, opened before the decorations of its first note.
fn slur(
    context: &Context<'_>,
    voice: &Voice,
    tie: &LooseTie,
    event: &Event,
    next: &Event,
) -> Option<Fix> {
    if event.notes.len() != 1 || next.notes.len() != 1 {
        return None;
    }
    let first = voice.notes_of(event).first()?.event;
    let decorations =
        voice.marks.iter().filter(|mark| mark.event == first && mark.kind == MarkKind::Decoration);
    let own = decorations.map(|mark| mark.span.start).filter(|start| *start >= event.full.start);
    let start = own.min().unwrap_or(event.span.start).min(event.span.start);
    let at = |place: u32, text: &str| TextEdit {
        span: Span { start: place, end: place },
        text: text.to_owned(),
    };
    let edits = vec![
        at(start, "("),
        TextEdit { span: tie.span, text: String::new() },
        at(next.span.end, ")"),
    ];
    Some(context.fix("Write a slur".to_owned(), edits))
}

fn remove(context: &Context<'_>, tie: &LooseTie) -> Fix {
    let edits = vec![TextEdit { span: tie.span, text: String::new() }];
    context.fix("Remove the tie".to_owned(), edits)
}

/// Ties between two names of one sound.
fn renamed(context: &Context<'_>, index: usize, voice: &Voice, findings: &mut Vec<Finding>) {
    let mut last: Vec<(u8, &Event)> = Vec::new();
    for event in voice.events.iter().filter(|event| event.sounds()) {
        let place = last.iter().position(|(layer, _)| *layer == event.layer);
        if let Some(place) = place {
            for from in voice.notes_of(last[place].1).iter().filter(|note| note.tied_out) {
                let to = event.notes.clone().zip(voice.notes_of(event)).find(|(_, to)| {
                    to.tied_in
                        && to.pitch.midi() == from.pitch.midi()
                        && to.written.name != from.written.name
                });
                if let Some((number, to)) = to {
                    let name = from.written.name;
                    let wanted = [Respelling { voice: index as u32, note: number, name }];
                    let title = format!("Respell as {}", name.symbol());
                    let message = format!(
                        "This note is tied from {} to {}: one sound with two names.",
                        from.written.name.words(),
                        to.written.name.words()
                    );
                    findings.push(Finding {
                        severity: Severity::Hint,
                        fixes: context.respelling(title, &wanted).into_iter().collect(),
                        ..context.at_note(index, to, message)
                    });
                }
            }
            last[place].1 = event;
        } else {
            last.push((event.layer, event));
        }
    }
}

#[cfg(test)]
#[path = "../rule_tests/tie_target.rs"]
mod tests;
