//! A part of a tune: some of its bars, some of its voices.

use crate::meaning::Meaning;
use crate::page::Tempo;
use crate::tune::{Bar, LineStyle, Mark, MarkPlace, Tune, Voice};
use recte_theory::Time;
use std::ops::RangeInclusive;

/// The tune with only these bars (counted from 0) and voices (by index), as a tune of its own.
///
/// What holds from before (key, metre, clef, tempo) holds in it; ties and slurs that lead out of it or into
/// it end at its edges. Bars keep their numbers. Repeats and returns that only other voices have go to the first
/// voice that stays. Bars and voices that the tune does not have are passed over.
pub fn excerpt(tune: &Tune, bars: RangeInclusive<u32>, voices: &[usize]) -> Tune {
    let (first, last) = (*bars.start(), *bars.end());
    let mut part = tune.clone();
    let mut kept: Vec<Voice> =
        voices.iter().filter_map(|&voice| tune.voices.get(voice)).cloned().collect();
    if let Some(voice) = kept.first_mut() {
        let others = (0..tune.voices.len()).filter(|index| !voices.contains(index));
        others.for_each(|other| take_signs(voice, &tune.voices[other]));
    }
    part.voices = kept.iter().map(|voice| of_voice(voice, first, last)).collect();
    part.bars = within(&tune.bars, first, last).to_vec();
    let mut start = Time::ZERO;
    for bar in &mut part.bars {
        bar.start = start;
        start += bar.length;
    }
    part.tempi = tempi(&tune.tempi, first, last);
    part.margin.retain(|note| note.bar.is_none_or(|bar| bars.contains(&bar)));
    for bar in part.margin.iter_mut().filter_map(|note| note.bar.as_mut()) {
        *bar -= first;
    }
    part.sections.retain(|section| bars.contains(&section.bar));
    part.sections.iter_mut().for_each(|section| section.bar -= first);
    if first > 0 || (last as usize) + 1 < tune.bars.len() {
        part.part_order = None;
    }
    part
}

fn within<T>(all: &[T], first: u32, last: u32) -> &[T] {
    let end = (last as usize).saturating_add(1).min(all.len());
    all.get(first as usize..end).unwrap_or_default()
}

/// The tempi inside, with the last one of each kind from before at the beginning.
fn tempi(all: &[Tempo], first: u32, last: u32) -> Vec<Tempo> {
    let begins = |tempo: &Tempo| tempo.bar == first && tempo.offset.is_zero();
    let before = all.iter().rfind(|tempo| tempo.bar < first);
    let held = before.filter(|_| !all.iter().any(begins));
    let held = held.map(|tempo| Tempo { bar: first, offset: Time::ZERO, ..tempo.clone() });
    let inside = all.iter().filter(|tempo| (first..=last).contains(&tempo.bar)).cloned();
    let moved = |tempo: Tempo| Tempo { bar: tempo.bar - first, ..tempo };
    held.into_iter().chain(inside).map(moved).collect()
}

/// Whether a sign tells players where to go.
fn sends(meaning: Option<Meaning>) -> bool {
    use Meaning::{Coda, DaCapo, DalSegno, Fine, Segno, ToCoda};
    matches!(meaning, Some(Coda | DaCapo | DalSegno | Fine | Segno | ToCoda))
}

/// Gives a voice what only `other` says of the order of play.
fn take_signs(voice: &mut Voice, other: &Voice) {
    for (bar, said) in voice.bars.iter_mut().zip(&other.bars) {
        bar.repeat_opens = bar.repeat_opens.max(said.repeat_opens);
        bar.repeat_closes = bar.repeat_closes.max(said.repeat_closes);
        bar.section_ends |= said.section_ends;
        if !bar.ending {
            (bar.ending, bar.endings) = (said.ending, said.endings.clone());
        }
        if bar.style == LineStyle::Plain {
            bar.style = said.style;
        }
    }
    for mark in other.marks.iter().filter(|mark| sends(mark.meaning)) {
        if voice.marks.iter().any(|own| own.meaning == mark.meaning) {
            continue;
        }
        let event = match other.events.get(mark.event as usize) {
            Some(event) => place_of(voice, event.bar, event.offset),
            None => voice.events.len() as u32,
        };
        voice.marks.push(Mark { event, ..mark.clone() });
    }
}

/// The event of a voice at this place, else the last one of the bar.
fn place_of(voice: &Voice, bar: u32, offset: Time) -> u32 {
    let Some(own) = voice.bars.get(bar as usize) else { return voice.events.len() as u32 };
    let events = voice.events_of(own);
    let place = events.iter().position(|event| event.offset >= offset);
    own.events.start + place.unwrap_or(events.len().saturating_sub(1)) as u32
}

fn of_voice(voice: &Voice, first: u32, last: u32) -> Voice {
    let bars = within(&voice.bars, first, last);
    let from = bars.first().map_or(voice.events.len() as u32, |bar| bar.events.start);
    let to = bars.last().map_or(from, |bar| bar.events.end).max(from);
    let mut part = voice.clone();
    part.bars = bars.to_vec();
    move_bars(&mut part.bars, from);
    let changes = std::mem::take(&mut part.clef_changes);
    for change in changes.into_iter().filter(|change| change.event < to) {
        if change.event <= from {
            (part.clef, part.transpose) = (change.clef, change.transpose);
        } else {
            part.clef_changes.push(change);
        }
    }
    part.clef_changes.iter_mut().for_each(|change| change.event -= from);
    part.events = voice.events[from as usize..to as usize].to_vec();
    part.notes.clear();
    for event in &mut part.events {
        let start = part.notes.len() as u32;
        part.notes.extend_from_slice(voice.notes_of(event));
        (event.bar, event.notes) = (event.bar - first, start..part.notes.len() as u32);
    }
    part.notes.iter_mut().for_each(|note| note.event -= from);
    end_ties(&mut part);
    let inside = |event: u32| (from..to).contains(&event);
    part.marks.retain(|mark| keeps(mark, from, to, first, last));
    for mark in &mut part.marks {
        mark.event = mark.event.saturating_sub(from).min(to - from);
        if let MarkPlace::BarLine(bar) = &mut mark.on {
            *bar = bar.saturating_sub(first);
        }
    }
    part.syllables.retain(|syllable| inside(syllable.event));
    part.syllables.iter_mut().for_each(|syllable| syllable.event -= from);
    part.slurs.retain(|slur| slur.from < to && slur.to >= from);
    for slur in &mut part.slurs {
        slur.from = slur.from.max(from) - from;
        slur.to = slur.to.min(to.saturating_sub(1)) - from;
    }
    part.loose_ties.clear();
    part
}

fn keeps(mark: &Mark, from: u32, to: u32, first: u32, last: u32) -> bool {
    match mark.on {
        MarkPlace::BarLine(bar) => (first..=last).contains(&bar),
        _ => (from..to).contains(&mark.event),
    }
}

fn move_bars(bars: &mut [Bar], from: u32) {
    let mut start = Time::ZERO;
    for bar in bars {
        bar.events = bar.events.start - from..bar.events.end - from;
        bar.start = start;
        start += bar.length;
    }
}

/// A tie has both its notes inside, or is none.
fn end_ties(part: &mut Voice) {
    let mut open: Vec<(u32, u8, i32)> = Vec::new(); // note, layer, sound
    for index in 0..part.events.len() {
        let event = part.events[index].clone();
        for number in event.notes.clone().filter(|_| !event.grace) {
            let note = &mut part.notes[number as usize];
            let sound = note.pitch.midi();
            if note.tied_in {
                let from = open.iter().position(|o| o.1 == event.layer && o.2 == sound);
                note.tied_in = from.map(|from| open.swap_remove(from)).is_some();
            }
            if part.notes[number as usize].tied_out {
                open.push((number, event.layer, sound));
            }
        }
    }
    for (note, ..) in open {
        part.notes[note as usize].tied_out = false;
    }
}
