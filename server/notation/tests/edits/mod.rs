//! Edits of tunes as a composer makes them between two drafts.

use crate::real::Dice;
use recte_score::drafts::{Kind, Plan, Stretch, Transposition, Values};
use recte_score::{ClefChange, MarkPlace, Tune, Voice, soundings};
use recte_theory::{Letter, Pitch, Time};
use std::collections::BTreeSet;
use std::ops::Range;

/// Whether nothing is held or slurred over the line before a bar, in any voice.
pub(crate) fn is_clean_cut(tune: &Tune, bar: u32) -> bool {
    let start = tune.bars[bar as usize].start;
    let sounds = soundings(tune).iter().all(|row| row.onset >= start || row.end <= start);
    let free = |voice: &Voice| {
        let slurred = voice.slurs.iter().any(|slur| {
            let at = |event: u32| voice.events.get(event as usize).map(|event| event.bar);
            at(slur.from) < Some(bar) && Some(bar) <= at(slur.to)
        });
        let tied = voice.events.iter().any(|event| {
            let notes = voice.notes_of(event).iter();
            let mut ties = notes.map(|note| (note.tied_in, note.tied_out));
            event.bar + 1 == bar
                && event.end() >= tune.bars[event.bar as usize].length
                && ties.any(|(_, out)| out)
        });
        let late = voice.bars.get(bar as usize).is_some_and(|own| {
            voice
                .events_of(own)
                .iter()
                .any(|e| voice.notes_of(e).iter().any(|n| n.tied_in && e.offset.is_zero()))
        });
        voice.bars.len() == tune.bars.len() && !slurred && !tied && !late
    };
    sounds && tune.voices.iter().all(free)
}

/// How many sounds with a pitch begin in these bars.
pub(crate) fn sounds_in(tune: &Tune, bars: Range<u32>) -> usize {
    let start = tune.bars[bars.start as usize].start;
    let last = tune.bars[bars.end as usize - 1];
    let end = last.start + last.length;
    let drums = |row: &recte_score::Sounding| tune.voices[row.voice as usize].clef.is_percussion();
    soundings(tune)
        .iter()
        .filter(|row| start <= row.onset && row.onset < end && !drums(row))
        .count()
}

/// One tune after the other; both have the same voices.
pub(crate) fn joined(first: &Tune, second: &Tune) -> Tune {
    let mut tune = first.clone();
    let bars = first.bars.len() as u32;
    let end = first.bars.last().map_or(Time::ZERO, |bar| bar.start + bar.length);
    for bar in &second.bars {
        let mut bar = *bar;
        bar.start += end;
        tune.bars.push(bar);
    }
    tune.voices =
        first.voices.iter().zip(&second.voices).map(|(a, b)| follow(a, b, bars)).collect();
    tune
}

fn follow(a: &Voice, b: &Voice, bars: u32) -> Voice {
    let mut voice = a.clone();
    let (events, notes) = (a.events.len() as u32, a.notes.len() as u32);
    let tuplets = a.tuplets.len() as u32;
    let last = a.clef_changes.last();
    let now = last.map_or((&a.clef, a.transpose), |change| (&change.clef, change.transpose));
    if now != (&b.clef, b.transpose) {
        let change = ClefChange { event: events, clef: b.clef.clone(), transpose: b.transpose };
        voice.clef_changes.push(change);
    }
    let later = b.clef_changes.iter().cloned();
    voice.clef_changes.extend(later.map(|c| ClefChange { event: c.event + events, ..c }));
    for bar in &b.bars {
        let mut bar = bar.clone();
        bar.events = bar.events.start + events..bar.events.end + events;
        voice.bars.push(bar);
    }
    for event in &b.events {
        let mut event = event.clone();
        event.bar += bars;
        event.notes = event.notes.start + notes..event.notes.end + notes;
        event.tuplet = event.tuplet.map(|tuplet| tuplet + tuplets);
        voice.events.push(event);
    }
    for note in &b.notes {
        voice.notes.push(recte_score::Note { event: note.event + events, ..*note });
    }
    voice.tuplets.extend(&b.tuplets);
    for mark in &b.marks {
        let mut mark = mark.clone();
        mark.event += events;
        if let MarkPlace::BarLine(bar) = &mut mark.on {
            *bar += bars;
        }
        voice.marks.push(mark);
    }
    for syllable in &b.syllables {
        let mut syllable = syllable.clone();
        syllable.event += events;
        voice.syllables.push(syllable);
    }
    for slur in &b.slurs {
        let mut slur = *slur;
        (slur.from, slur.to) = (slur.from + events, slur.to + events);
        voice.slurs.push(slur);
    }
    voice
}

/// The same rhythm with every note mirrored at F#4, so that no bar of the tune has it.
pub(crate) fn inverted(tune: &Tune) -> Tune {
    let mut tune = tune.clone();
    for voice in &mut tune.voices {
        for note in &mut voice.notes {
            let other = |pitch: Pitch| {
                let steps = 2 * (31 - pitch.steps());
                pitch.transposed(steps, 2 * (66 - pitch.midi()))
            };
            (note.pitch, note.written) = (other(note.pitch), other(note.written));
        }
    }
    tune
}

/// With these bars of all voices transposed; percussion stays.
pub(crate) fn transposed(tune: &Tune, bars: Range<u32>, by: Transposition) -> Tune {
    let mut tune = tune.clone();
    for voice in tune.voices.iter_mut().filter(|voice| !voice.clef.is_percussion()) {
        for note in &mut voice.notes {
            if bars.contains(&voice.events[note.event as usize].bar) {
                note.pitch = note.pitch.transposed(by.steps, by.semitones);
                note.written = note.written.transposed(by.steps, by.semitones);
            }
        }
    }
    tune
}

/// Whether the plan says that just these bars are transposed, as far as they have pitches.
pub(crate) fn is_transposed_only(
    tune: &Tune,
    plan: &Plan,
    bars: Range<u32>,
    by: Transposition,
) -> bool {
    plan.stretches.iter().all(|stretch| {
        let mut own = stretch.old.clone();
        stretch.old == stretch.new
            && match stretch.kind {
                Kind::Same => own.all(|bar| !bars.contains(&bar) || !has_pitch(tune, bar)),
                Kind::Transposed(found) => found == by && own.all(|bar| bars.contains(&bar)),
                _ => false,
            }
    })
}

/// With these bars of all voices so many letter steps higher, every note altered against the signature as it was; percussion
/// stays.
pub(crate) fn by_degrees(tune: &Tune, bars: Range<u32>, steps: i32) -> Tune {
    let mut tune = tune.clone();
    let keys = tune.keys.clone();
    for voice in tune.voices.iter_mut().filter(|voice| !voice.clef.is_percussion()) {
        for note in &mut voice.notes {
            let bar = voice.events[note.event as usize].bar;
            if !bars.contains(&bar) {
                continue;
            }
            let key = voice.bars[bar as usize].key as usize;
            let signature = keys.get(key).map(|key| key.signature).unwrap_or_default();
            let letter = note.written.name.letter;
            let altered = note.written.name.alter - signature.alter(letter);
            let target = note.written.steps() + steps;
            let letter = Letter::from_step(target);
            let natural = Pitch::new(letter, 0, target.div_euclid(7) as i8).midi();
            let semitones =
                natural + i32::from(signature.alter(letter) + altered) - note.written.midi();
            note.pitch = note.pitch.transposed(steps, semitones);
            note.written = note.written.transposed(steps, semitones);
        }
    }
    tune
}

/// Whether the plan says that just these bars are so much higher within the key, as far as they have pitches. Where every note
/// of a bar goes by one interval, that may be told instead.
pub(crate) fn is_by_degrees_only(tune: &Tune, plan: &Plan, bars: Range<u32>, steps: i32) -> bool {
    plan.stretches.iter().all(|stretch| {
        let mut own = stretch.old.clone();
        stretch.old == stretch.new
            && match stretch.kind {
                Kind::Same => own.all(|bar| !bars.contains(&bar) || !has_pitch(tune, bar)),
                Kind::ByDegrees(found) => found == steps && own.all(|bar| bars.contains(&bar)),
                Kind::Transposed(by) => by.steps == steps && own.all(|bar| bars.contains(&bar)),
                _ => false,
            }
    })
}

/// In values so many times as long, bars and all.
pub(crate) fn scaled(tune: &Tune, times: Time) -> Tune {
    let mut tune = tune.clone();
    for bar in &mut tune.bars {
        (bar.start, bar.length) = (bar.start * times, bar.length * times);
    }
    for voice in &mut tune.voices {
        for bar in &mut voice.bars {
            (bar.start, bar.length) = (bar.start * times, bar.length * times);
        }
        for event in &mut voice.events {
            (event.offset, event.duration) = (event.offset * times, event.duration * times);
        }
    }
    tune
}

/// Whether the plan says that just these bars are in other values, as far as anything sounds in them.
pub(crate) fn is_scaled_only(plan: &Plan, bars: Range<u32>, values: Values) -> bool {
    let right = |stretch: &Stretch| match stretch.kind {
        Kind::Same => stretch.old.clone().all(|bar| !bars.contains(&bar)),
        Kind::Scaled(found) => found == values && stretch.touched.is_empty() && stretch.old == bars,
        _ => false,
    };
    plan.stretches.iter().all(|stretch| stretch.old == stretch.new && right(stretch))
}

/// How many sounds begin in these bars, those of percussion too.
pub(crate) fn begun_in(tune: &Tune, bars: Range<u32>) -> usize {
    let start = tune.bars[bars.start as usize].start;
    let last = tune.bars[bars.end as usize - 1];
    let end = last.start + last.length;
    soundings(tune).iter().filter(|row| start <= row.onset && row.onset < end).count()
}

fn has_pitch(tune: &Tune, bar: u32) -> bool {
    let voices = tune.voices.iter().filter(|voice| !voice.clef.is_percussion());
    voices.flat_map(|voice| &voice.events).any(|event| event.bar == bar && !event.notes.is_empty())
}

/// One note a step higher; the voice and the bar it is in.
pub(crate) fn one_note_changed(tune: &Tune, dice: &mut Dice) -> Option<(u32, u32, Tune)> {
    let free = |voice: &Voice, note: usize| {
        let note = &voice.notes[note];
        let event = &voice.events[note.event as usize];
        let alone = voice
            .notes_of(event)
            .iter()
            .all(|other| other.span == note.span || other.pitch.steps() != note.pitch.steps() + 1);
        !note.tied_in && !note.tied_out && event.sounds() && alone
    };
    for _ in 0..20 {
        let voice = dice.roll(tune.voices.len());
        let of = &tune.voices[voice];
        let note = dice.roll(of.notes.len());
        if of.notes.is_empty() || !free(of, note) {
            continue;
        }
        let bar = of.events[of.notes[note].event as usize].bar;
        let mut tune = tune.clone();
        let note = &mut tune.voices[voice].notes[note];
        (note.pitch, note.written) = (note.pitch.transposed(1, 2), note.written.transposed(1, 2));
        return Some((voice as u32, bar, tune));
    }
    None
}

/// The voices in another order, all under other ids, and half of them under other names; for each new one the old.
pub(crate) fn renamed_and_reordered(tune: &Tune, dice: &mut Dice) -> (Tune, Vec<u32>) {
    let mut order: Vec<u32> = (0..tune.voices.len() as u32).collect();
    let by = 1 + dice.roll(order.len() - 1);
    order.rotate_left(by);
    let mut other = tune.clone();
    other.voices = order.iter().map(|index| tune.voices[*index as usize].clone()).collect();
    for (index, voice) in other.voices.iter_mut().enumerate() {
        voice.id = format!("New{index}");
        if index % 2 == 0 {
            voice.name = format!("Part {index}");
        }
    }
    (other, order)
}

/// Whether two voices of a tune sound the same; then either may be meant.
pub(crate) fn play_alike(tune: &Tune, a: usize, b: usize) -> bool {
    let rows = soundings(tune);
    let of = |voice: usize| -> BTreeSet<(Time, Time, i32)> {
        let own = rows.iter().filter(|row| row.voice as usize == voice);
        own.map(|row| (row.onset, row.end, row.pitch.midi())).collect()
    };
    a == b || of(a) == of(b)
}

/// Whether every voice is paired with the one it was, or with one that sounds the same.
pub(crate) fn is_paired(tune: &Tune, plan: &Plan, order: &[u32]) -> bool {
    plan.parts.len() == order.len()
        && plan.parts.iter().all(|part| {
            let (Some(old), Some(new)) = (part.old, part.new) else { return false };
            part.renamed && play_alike(tune, old as usize, order[new as usize] as usize)
        })
}
