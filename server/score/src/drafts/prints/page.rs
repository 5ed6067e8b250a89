//! What stands on the page: a number for each bar of a voice, and of what stands over all voices. White space
//! between notes does not count, nor where anything is typed.

use crate::drafts::parts::hash;
use crate::tune::{Bar, Event, EventKind, MarkPlace, Note, Tune, Voice};
use recte_theory::Time;
use std::hash::Hash;

/// The bars of one voice.
pub(super) fn of_voice(tune: &Tune, index: usize) -> Vec<u64> {
    let voice = &tune.voices[index];
    let keys: Vec<u64> = tune.keys.iter().map(shown).collect();
    let metres: Vec<u64> = tune.metres.iter().map(shown).collect();
    let mut signs = signs(voice);
    let mut clef = hash(&(shown(&voice.clef), voice.transpose));
    let mut changes = voice.clef_changes.iter().peekable();
    let mut pages = Vec::with_capacity(voice.bars.len());
    for (number, bar) in voice.bars.iter().enumerate() {
        while let Some(change) = changes.next_if(|change| change.event < bar.events.end) {
            let at = voice.events.get(change.event as usize).map(|event| event.offset);
            clef = hash(&(shown(&change.clef), change.transpose, at.filter(|at| !at.is_zero())));
        }
        let key = |event: &Event| keys.get(event.key as usize).copied();
        let events: Vec<_> =
            voice.events_of(bar).iter().map(|event| (written(voice, event), key(event))).collect();
        let signatures = (keys.get(bar.key as usize), metres.get(bar.metre as usize));
        let signs = std::mem::take(&mut signs[number]);
        pages.push(hash(&(line(bar), signatures, clef, events, signs)));
    }
    pages
}

/// What stands over all voices: tempi, and the names of parts and sections.
pub(super) fn of_system(tune: &Tune) -> Vec<u64> {
    let mut signs = vec![Vec::new(); tune.bars.len()];
    let mut add = |bar: u32, sign: u64| {
        if let Some(signs) = signs.get_mut(bar as usize) {
            signs.push(sign);
        }
    };
    for tempo in &tune.tempi {
        let sign = (tempo.offset, &tempo.beats, tempo.per_minute, &tempo.text);
        add(tempo.bar, hash(&sign));
    }
    for section in &tune.sections {
        add(section.bar, hash(&(&section.label, section.part)));
    }
    signs.iter().map(hash).collect()
}

fn shown(value: &impl std::fmt::Debug) -> u64 {
    hash(&format!("{value:?}"))
}

fn line(bar: &Bar) -> impl Hash + '_ {
    let repeats = (bar.repeat_opens, bar.repeat_closes, &bar.endings, bar.ending);
    (shown(&bar.style), bar.section_ends, repeats, &bar.ending_words, bar.layers)
}

fn written(voice: &Voice, event: &Event) -> impl Hash {
    let kind = match event.kind {
        EventKind::Notes => 0,
        EventKind::Rest => 1,
        EventKind::InvisibleRest => 2,
        EventKind::BarRest(_) if event.hidden => 3,
        EventKind::BarRest(_) => 4,
    };
    let tuplet = event.tuplet.and_then(|index| voice.tuplets.get(index as usize));
    let tuplet = tuplet.map(|tuplet| (tuplet.actual, tuplet.normal));
    let grace = (event.grace, event.slashed, event.grace_length);
    let note = |note: &Note| {
        let ties = (note.tied_in, note.tied_out, note.tie_dotted);
        (note.written, note.pitch, note.accidental, ties)
    };
    let notes: Vec<_> = voice.notes_of(event).iter().map(note).collect();
    let time = (event.offset, event.duration, event.layer);
    (kind, time, grace, event.joined && event.sounds(), tuplet, notes)
}

/// What hangs on the notes of each bar: marks, words, slurs.
fn signs(voice: &Voice) -> Vec<Vec<u64>> {
    let mut signs = vec![Vec::new(); voice.bars.len()];
    let place =
        |event: u32| voice.events.get(event as usize).map(|event| (event.bar, event.offset));
    let mut add = |place: Option<(u32, Time)>, sign: u64| {
        let bar = place.map_or(voice.bars.len().saturating_sub(1), |(bar, _)| bar as usize);
        if let Some(signs) = signs.get_mut(bar) {
            signs.push(hash(&(place.map(|(_, offset)| offset), sign)));
        }
    };
    for mark in &voice.marks {
        let place = match mark.on {
            MarkPlace::BarLine(bar) => Some((bar, Time::new(-1, 1))),
            _ => place(mark.event),
        };
        add(place, hash(&(mark.kind as u8, &mark.text)));
    }
    for syllable in &voice.syllables {
        let said = (syllable.verse, &syllable.text, syllable.joined, syllable.held);
        add(place(syllable.event), hash(&said));
    }
    for slur in &voice.slurs {
        add(place(slur.from), hash(&("from", slur.dotted)));
        add(place(slur.to), hash(&("to", slur.dotted)));
    }
    signs
}
