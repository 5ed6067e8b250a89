//! A figure passed on: every other group of bars goes from the part that keeps it to a part that rests there.
//!
//! The bars are typed anew for those who read them, in their octave, and the part that gives them away rests instead. What
//! stands in such a bar that a figure does not need (dynamics, words, slurs or ties over the bar line, grace notes) leaves its
//! group where it is. The result is read again: every sound must be where it was, those that moved in the other part, and no
//! rule of playing, metre or spelling may have anything to say of the new bars.

use super::staying::{Staying, Taker};
use crate::check::stand;
use crate::context::Context;
use crate::finding::Fix;
use crate::idiom::Player;
use crate::rule::Family;
use crate::words::{and_texts, bars, voice as called};
use recte_notation::write::{TextEdit, length_text, pitch_text};
use recte_score::{Event, EventKind, Meaning, Span, Tune, Voice, soundings};
use recte_theory::{Pitch, Time};
use std::collections::{BTreeMap, BTreeSet};

/// Bars of a group, the usual length first.
const GROUPS: [u32; 2] = [4, 2];

/// Each place for relief that is tried has the whole tune read again.
const TRIES: usize = 4;

/// Some bars that go to another part.
struct Group {
    from: u32,
    to: u32,
    taker: Taker,
}

/// What to suggest for a figure that stays, if some group can go to a part that rests there. Where several parts keep the
/// figure together there is nothing: it would stay in the other.
pub(crate) fn passing(context: &Context<'_>, one: &Staying) -> Option<Fix> {
    let [run] = one.runs.as_slice() else { return None };
    GROUPS.into_iter().find_map(|length| {
        let mut groups: Vec<Group> = Vec::new();
        let mut from = run.from + length;
        while from + length <= run.to + 1 {
            let to = from + length - 1;
            // Those who had it last come last.
            let had = |taker: &Taker| groups.iter().filter(|g| g.taker.part == taker.part).count();
            let mut free: Vec<Taker> = one
                .takers
                .iter()
                .filter(|taker| (from..=to).all(|bar| rests(context.tune, taker.part, bar)))
                .copied()
                .collect();
            free.sort_by_key(had);
            if let Some(taker) = free.first().copied() {
                groups.push(Group { from, to, taker });
            }
            from += 2 * length;
        }
        groups.retain(|group| written(context, run.part, group).is_some());
        suggestion(context, run.part, &groups, "static-layer")
    })
}

/// What to suggest for a part that needs a rest: two bars, as near the middle of a stretch as may be, for another
/// player of the same instrument who rests there. `asks` is the rule that asks, which is not asked again.
pub(crate) fn relief(
    context: &Context<'_>,
    player: &Player<'_>,
    stretch: (u32, u32),
    asks: &str,
) -> Option<Fix> {
    let [staff] = player.staves.as_slice() else { return None };
    let part = staff.voice as u32;
    let same = |other: &&Player<'_>| {
        other.instrument.id == player.instrument.id && other.level == player.level
    };
    let others = context.idiom().players.iter().filter(same);
    let others = others.flat_map(|other| &other.staves).filter(|other| other.voice != staff.voice);
    let others: Vec<u32> = others.map(|other| other.voice as u32).collect();
    let (first, last) = stretch;
    let mut places: Vec<u32> = (first + 1..last.saturating_sub(1)).collect();
    let rests_there = |from: &u32| {
        let both = |to: &u32| (*from..=*from + 1).all(|bar| rests(context.tune, *to, bar));
        others.iter().any(both)
    };
    places.retain(rests_there);
    places.sort_by_key(|from| (2 * from + 1).abs_diff(first + last));
    places.truncate(TRIES);
    places.into_iter().find_map(|from| {
        others.iter().find_map(|&taker| {
            let taker = Taker { part: taker, octaves: 0, free: 2 };
            let group = Group { from, to: from + 1, taker };
            suggestion(context, part, &[group], asks)
        })
    })
}

fn suggestion(context: &Context<'_>, part: u32, groups: &[Group], asks: &str) -> Option<Fix> {
    if groups.is_empty() {
        return None;
    }
    let edits = edits(context, part, groups)?;
    let after = context.block.edited(&edits).ok()?;
    let read = after.lowered();
    let quiet = read.problems.len() <= context.lowered().problems.len();
    if !quiet || !only_passed(context.tune, &read.tune, part, groups) {
        return None;
    }
    let new: BTreeSet<(u32, u32)> = groups
        .iter()
        .flat_map(|group| (group.from..=group.to).map(|bar| (group.taker.part, bar)))
        .collect();
    let around = Context::new(&after, context.config, context.around);
    let families = [Family::Idiom, Family::Metre, Family::Spelling];
    let said = stand(&around, |rule| families.contains(&rule.family) && rule.id != asks).findings;
    if said.iter().any(|one| one.voice.zip(one.bar).is_some_and(|at| new.contains(&at))) {
        return None;
    }
    let mut by_taker: BTreeMap<u32, Vec<String>> = BTreeMap::new();
    for group in groups {
        let names = bars(context.tune, (group.from, group.to));
        by_taker.entry(group.taker.part).or_default().push(names);
    }
    let each: Vec<String> = by_taker
        .iter()
        .map(|(taker, groups)| {
            format!("{} to {}", and_texts(groups), called(&context.tune.voices[*taker as usize]))
        })
        .collect();
    let title = format!("Pass {} (changes the music)", and_texts(&each));
    context.suggestion(title, edits)
}

/// The rests of a bar, if nothing else is in it.
fn resting(tune: &Tune, part: u32, bar: u32) -> Option<&[Event]> {
    let voice = tune.voices.get(part as usize)?;
    let own = voice.bars.get(bar as usize)?;
    let events = voice.events_of(own);
    let rests = events.iter().all(|event| event.kind != EventKind::Notes);
    let full = own.length == tune.bars.get(bar as usize)?.length;
    (own.layers == 1 && rests && full && !events.is_empty()).then_some(events)
}

fn rests(tune: &Tune, part: u32, bar: u32) -> bool {
    resting(tune, part, bar).is_some()
}

/// The text of each bar of a group, as the part that takes it reads it.
fn written(context: &Context<'_>, part: u32, group: &Group) -> Option<Vec<String>> {
    let bars = group.from..=group.to;
    bars.map(|bar| bar_text(context, part, group.taker, bar)).collect()
}

fn bar_text(context: &Context<'_>, part: u32, taker: Taker, bar: u32) -> Option<String> {
    let tune = context.tune;
    let (giver, reader) = (&tune.voices[part as usize], &tune.voices[taker.part as usize]);
    let own = giver.bars.get(bar as usize)?;
    let events = giver.events_of(own);
    let (first, last) = (own.events.start, own.events.end);
    let inside = |event: u32| (first..last).contains(&event);
    let slurs = giver.slurs.iter().all(|slur| inside(slur.from) == inside(slur.to));
    let words = giver.syllables.iter().all(|syllable| !inside(syllable.event));
    let marks =
        giver.marks.iter().filter(|mark| inside(mark.event)).all(|mark| is_light(mark.meaning));
    let notes = || events.iter().flat_map(|event| giver.notes_of(event));
    let ties = events.first().is_some_and(|event| giver.notes_of(event).iter().all(|n| !n.tied_in))
        && events.last().is_some_and(|event| giver.notes_of(event).iter().all(|n| !n.tied_out));
    let plain = own.layers == 1
        && events.iter().all(|event| !event.grace && event.tuplet.is_none())
        && notes().all(|note| note.tied_in || !note.tied_out || ties);
    if !(slurs && words && marks && ties && plain) {
        return None;
    }
    let rest = resting(tune, taker.part, bar)?.first()?;
    let key = tune.keys.get(rest.key as usize)?;
    let shift = reader.notes.first().map_or(0, |note| note.octave_shift);
    let mut typed: BTreeMap<(u8, i8), i8> = BTreeMap::new();
    let mut text = String::new();
    for (place, event) in (first..last).zip(events) {
        if place > first && !event.joined {
            text.push(' ');
        }
        let opens = giver.slurs.iter().filter(|slur| slur.from == place && inside(slur.to)).count();
        text.extend(std::iter::repeat_n('(', opens));
        for mark in giver.marks.iter().filter(|mark| mark.event == place) {
            text.push_str(&format!("!{}!", light_name(mark.meaning?)?));
        }
        let length = length_text(event.duration / rest.unit);
        if event.kind != EventKind::Notes {
            text.push_str(&format!("z{length}"));
        } else {
            let notes = giver.notes_of(event);
            let tie = if notes.iter().any(|note| note.tied_out) { "-" } else { "" };
            if notes.len() > 1 {
                text.push('[');
            }
            for note in notes {
                let pitch = as_read(reader, note.pitch.shifted_octaves(taker.octaves))?;
                let place = (pitch.name.letter.step(), pitch.octave);
                let now =
                    typed.get(&place).copied().unwrap_or(key.signature.alter(pitch.name.letter));
                let needed = now != pitch.name.alter;
                if needed {
                    typed.insert(place, pitch.name.alter);
                }
                text.push_str(&pitch_text(pitch.shifted_octaves(-shift), needed));
            }
            if notes.len() > 1 {
                text.push(']');
            }
            text.push_str(&format!("{length}{tie}"));
        }
        let closes =
            giver.slurs.iter().filter(|slur| slur.to == place && inside(slur.from)).count();
        text.extend(std::iter::repeat_n(')', closes));
    }
    Some(text)
}

/// What a part reads for a sound; none where that is not known, because it transposes and has no note.
fn as_read(reader: &Voice, sounding: Pitch) -> Option<Pitch> {
    match reader.notes.first() {
        Some(note) => Some(sounding.transposed(
            note.written.steps() - note.pitch.steps(),
            note.written.midi() - note.pitch.midi(),
        )),
        None if reader.transpose == 0 => Some(sounding.shifted_octaves(-reader.clef.octaves)),
        None => None,
    }
}

/// Whether a sign belongs to the notes of a figure, and goes with them.
fn is_light(meaning: Option<Meaning>) -> bool {
    meaning.and_then(light_name).is_some()
}

/// The standard's name of a light sign (4.14).
fn light_name(meaning: Meaning) -> Option<&'static str> {
    Some(match meaning {
        Meaning::Staccato => ".",
        Meaning::Staccatissimo => "wedge",
        Meaning::Accent => "accent",
        Meaning::Tenuto => "tenuto",
        _ => return None,
    })
}

fn edits(context: &Context<'_>, part: u32, groups: &[Group]) -> Option<Vec<TextEdit>> {
    let tune = context.tune;
    let giver = &tune.voices[part as usize];
    let mut edits = Vec::new();
    // By taker, what each of its bars becomes.
    let mut given: BTreeMap<u32, BTreeMap<u32, String>> = BTreeMap::new();
    for group in groups {
        let texts = written(context, part, group)?;
        given.entry(group.taker.part).or_default().extend((group.from..).zip(texts));
        for bar in group.from..=group.to {
            let own = giver.bars.get(bar as usize)?;
            let events = giver.events_of(own);
            let span = Span { start: events.first()?.full.start, end: whole_end(context, events)? };
            if !is_music(context.block.text.get(span.range())?) {
                return None;
            }
            let length = length_text(own.length / events.first()?.unit);
            let full = tune.metre(own).length() == Some(own.length);
            let text = if full { "Z".to_owned() } else { format!("z{length}") };
            edits.push(TextEdit { span, text });
        }
    }
    for (taker, texts) in given {
        let voice = &tune.voices[taker as usize];
        let mut signs: BTreeMap<Span, Vec<u32>> = BTreeMap::new();
        for bar in 0..voice.bars.len() as u32 {
            if let Some(events) = resting(tune, taker, bar) {
                let span = Span { start: events.first()?.full.start, end: events.last()?.span.end };
                signs.entry(span).or_default().push(bar);
            }
        }
        for (span, bars) in
            signs.into_iter().filter(|(_, bars)| bars.iter().any(|b| texts.contains_key(b)))
        {
            let typed = context.block.text.get(span.range())?;
            if !is_music(typed) {
                return None;
            }
            edits.push(TextEdit { span, text: filled(&bars, &texts) });
        }
    }
    edits.sort_by_key(|edit| edit.span);
    Some(edits)
}

/// Where the last event of a bar ends, with the slurs that close on it.
fn whole_end(context: &Context<'_>, events: &[Event]) -> Option<u32> {
    let end = events.last()?.span.end;
    let rest = context.block.text.get(end as usize..)?;
    let closing = rest.chars().take_while(|c| *c == ')').count();
    Some(end + closing as u32)
}

/// Whether a stretch of text is notes and rests on one line, and nothing that says more.
fn is_music(text: &str) -> bool {
    let field = text
        .as_bytes()
        .windows(3)
        .any(|w| w[0] == b'[' && w[1].is_ascii_alphabetic() && w[2] == b':');
    !field && !text.contains(['\n', '\r', '%', '"', '|', '&', '{', '\\'])
}

/// The bars of one sign of rest, some of them filled.
fn filled(bars: &[u32], texts: &BTreeMap<u32, String>) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut silent = 0;
    for bar in bars {
        match texts.get(bar) {
            Some(text) => {
                parts.extend(rest_of(&mut silent));
                parts.push(text.clone());
            }
            None => silent += 1,
        }
    }
    parts.extend(rest_of(&mut silent));
    parts.join("|")
}

fn rest_of(silent: &mut u32) -> Option<String> {
    match std::mem::take(silent) {
        0 => None,
        1 => Some("Z".to_owned()),
        count => Some(format!("Z{count}")),
    }
}

/// Whether every sound is where it was, but for those of the passed bars, which are in the other part and in its octave.
fn only_passed(before: &Tune, after: &Tune, part: u32, groups: &[Group]) -> bool {
    let sounds = |tune: &Tune| -> Vec<(u32, Time, Time, i32)> {
        let all = soundings(tune);
        all.iter().map(|row| (row.voice, row.onset, row.end, row.pitch.midi())).collect()
    };
    let bar_of =
        |moment: Time| before.bars.partition_point(|bar| bar.start <= moment).saturating_sub(1);
    let moved = |(voice, onset, end, midi): (u32, Time, Time, i32)| {
        let bar = bar_of(onset) as u32;
        let group = groups.iter().find(|group| (group.from..=group.to).contains(&bar));
        match group.filter(|_| voice == part) {
            Some(group) => {
                (group.taker.part, onset, end, midi + 12 * i32::from(group.taker.octaves))
            }
            None => (voice, onset, end, midi),
        }
    };
    let mut wanted: Vec<_> = sounds(before).into_iter().map(moved).collect();
    let mut found = sounds(after);
    wanted.sort_unstable();
    found.sort_unstable();
    wanted == found && before.bars == after.bars
}
