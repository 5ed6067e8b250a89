//! What stands around the notes of one staff: slurs, words, chord symbols, texts, decorations.

use recte_score::{Event, Mark, MarkKind, MarkPlace, Meaning, Tune, Voice};
use recte_theory::chord::Chord;
use std::collections::HashSet;

pub(super) fn facts(tune: &Tune, staff: usize, voices: &[&Voice], all: &mut Vec<String>) {
    let _ = tune;
    for voice in voices {
        slurs(staff, voice, all);
        words(staff, voice, all);
        marks(staff, voice, all);
    }
}

/// Where an event stands; grace notes by their number from the left.
fn place(voice: &Voice, index: u32) -> String {
    let Some(event) = voice.events.get(index as usize) else { return "the end".to_owned() };
    let grace = |event: &&Event| event.grace;
    let before = voice.events.get(..index as usize).unwrap_or_default();
    let graces = before.iter().rev().take_while(grace).count();
    match event.grace {
        true => format!("{}+{} grace {graces}", event.bar, event.offset),
        false => format!("{}+{}", event.bar, event.offset),
    }
}

fn slurs(staff: usize, voice: &Voice, all: &mut Vec<String>) {
    for slur in voice.slurs.iter().filter(|slur| slur.from < slur.to) {
        let dotted = if slur.dotted { ", dotted" } else { "" };
        let from = place(voice, slur.from);
        // A length that no sign has is several tied notes, and its slur ends with the last.
        let to = match voice.events.get(slur.to as usize).filter(|event| !event.grace) {
            Some(event) => format!("the end of {}+{}", event.bar, event.end()),
            None => place(voice, slur.to),
        };
        all.push(format!("staff {staff}: slur {from} to {to}{dotted}"));
    }
}

fn words(staff: usize, voice: &Voice, all: &mut Vec<String>) {
    let mut sung: Vec<_> = voice.syllables.iter().collect();
    sung.sort_by_key(|syllable| (syllable.verse, syllable.event));
    let mut inside = (0, false);
    for syllable in sung {
        // Inside a word a note without a syllable holds the one before, typed or not.
        if !syllable.held {
            inside = (syllable.verse, syllable.joined);
        } else if inside == (syllable.verse, true) {
            continue;
        }
        // What is sung to a note is held as long as its tie.
        let tied = voice.events.get(syllable.event as usize).is_some_and(|event| {
            let notes = voice.notes_of(event);
            !notes.is_empty() && notes.iter().all(|note| note.tied_in)
        });
        if tied && syllable.held {
            continue;
        }
        let place = place(voice, syllable.event);
        let text = if syllable.held { "(held)" } else { &syllable.text };
        let joined = if syllable.joined { "-" } else { "" };
        all.push(format!("staff {staff}: words {} at {place}: {text}{joined}", syllable.verse));
    }
}

fn marks(staff: usize, voice: &Voice, all: &mut Vec<String>) {
    let mut seen = HashSet::new();
    for mark in &voice.marks {
        let next = voice.events.get(mark.event as usize);
        let line = match mark.on {
            // A sign before the line that opens a bar stands before its first note.
            MarkPlace::BarLine(bar) => Some(bar).filter(|bar| next.is_none_or(|e| e.bar > *bar)),
            // After the last note comes the last line.
            _ if next.is_none() => (voice.bars.len() as u32).checked_sub(1),
            _ => None,
        };
        let place = match line {
            Some(bar) => format!("line after {bar}"),
            None => at(voice, mark),
        };
        // A hold on a bar line is the whole score's.
        if line.is_some() && mark.meaning == Some(Meaning::Fermata) {
            let fact = format!("fermata on the {place}");
            if !all.contains(&fact) {
                all.push(fact);
            }
            continue;
        }
        let what = match mark.kind {
            MarkKind::Decoration => match mark.meaning {
                // What only a note can have is left out on a bar line; the export says so.
                Some(meaning) if line.is_some() && hangs_on_a_note(meaning) => continue,
                Some(meaning) => format!("sign {}", sign(meaning, &mark.text)),
                // The export says that it has no place for it.
                None => continue,
            },
            MarkKind::ChordSymbol if Chord::from_symbol(&mark.text).is_some() => {
                format!("chord symbol {}", mark.text)
            }
            // What names no chord is a text above.
            MarkKind::ChordSymbol => text(&format!("^{}", mark.text.trim())),
            MarkKind::Annotation => text(&mark.text),
        };
        // The same sign twice at a note is one.
        if !what.is_empty() && seen.insert((mark.event, line, what.clone())) {
            all.push(format!("staff {staff} at {place}: {what}"));
        }
    }
}

/// Where a mark stands. Words and signs over grace notes belong to the note after them: they are typed after
/// grace notes (abc standard v2.1, 4.20), and MusicXML has both before them.
fn at(voice: &Voice, mark: &Mark) -> String {
    let direction = mark.kind != MarkKind::Decoration
        || mark.meaning.is_some_and(|meaning| !hangs_on_a_note(meaning));
    let event = voice.events.get(mark.event as usize);
    match event.filter(|event| direction && event.grace) {
        Some(event) => format!("{}+{}", event.bar, event.offset),
        None => place(voice, mark.event),
    }
}

/// A text; a return in words is that return, which MusicXML has in words only, and no words say nothing.
fn text(typed: &str) -> String {
    let words = typed.trim_start_matches(['^', '_', '<', '>', '@']).trim();
    match words.to_lowercase().trim_end_matches('.') {
        "" => String::new(),
        "d.c" => "sign DaCapo".to_owned(),
        "d.s" => "sign DalSegno".to_owned(),
        "fine" => "sign Fine".to_owned(),
        "to coda" => "sign ToCoda".to_owned(),
        // A place left open is above.
        _ => format!("text {}", typed.replacen('@', "^", usize::from(typed.starts_with('@')))),
    }
}

fn hangs_on_a_note(meaning: Meaning) -> bool {
    use Meaning::*;
    !matches!(
        meaning,
        Dynamic(_)
            | Sforzato
            | CrescendoStart
            | CrescendoEnd
            | DiminuendoStart
            | DiminuendoEnd
            | Segno
            | Coda
            | DalSegno
            | DaCapo
            | ToCoda
            | Fine
    )
}

/// The sign, whichever of its names was typed.
fn sign(meaning: Meaning, text: &str) -> String {
    match (meaning, text) {
        (Meaning::Mordent, "uppermordent" | "pralltriller") => "short trill".to_owned(),
        (Meaning::Fermata, "invertedfermata") => "fermata below".to_owned(),
        (Meaning::Turn | Meaning::Phrase, text) => text.to_owned(),
        (meaning, _) => format!("{meaning:?}"),
    }
}
