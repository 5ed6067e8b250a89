//! A bar as text: fields, tuplets, beams, notes with all that stands at them.

use super::Voice;
use super::items::Item;
use super::marks::stands_at;
use super::pitch::Spelling;
use super::settings::Settings;
use crate::sheet::{Beam, Event, Kind, Note, Notice, Sheet};
use recte_notation::write::length_text;
use recte_theory::{Metre, Time};

/// Says which notes share a beam: as the source has it; by the metre where it has no beams at all.
pub(super) fn join(
    sheet: &Sheet,
    settings: &Settings,
    voices: &mut [Voice<'_>],
    notices: &mut Vec<Notice>,
) {
    let beamed = sheet.beamed || sheet.parts.iter().any(|part| part.beamed);
    for voice in voices {
        let part = voice.part;
        for (number, bar) in voice.bars.iter_mut().enumerate() {
            let spans = if beamed { Vec::new() } else { spans(&settings.metre(part, number)) };
            for items in bar {
                if !beamed {
                    join_by_metre(items, &spans);
                    continue;
                }
                join_as_written(items);
                let first = items.iter().find(|item| item.is_note()).and_then(|item| item.event);
                if first.is_some_and(|event| event.beam == Beam::GoesOn) {
                    let part = u16::try_from(part).ok();
                    let what = "a beam over a bar line is broken there".to_owned();
                    notices.push(Notice { part, measure: Some(number as u32), what });
                }
            }
        }
    }
}

fn join_as_written(items: &mut [Item<'_>]) {
    let mut joined = vec![false; items.len()];
    let mut inside = false;
    // From the end, so that a rest knows whether its beam goes on.
    for (index, item) in items.iter().enumerate().rev() {
        if item.is_grace() {
            continue;
        }
        let beam = item.event.filter(|_| item.is_note()).map(|event| event.beam);
        inside = match beam {
            Some(Beam::GoesOn) => true,
            Some(Beam::Begins | Beam::None) => false,
            None => inside,
        };
        if let Some(slot) = joined.get_mut(index) {
            *slot = inside && !item.continues;
        }
    }
    for (item, joined) in items.iter_mut().zip(joined) {
        item.joined = joined;
    }
}

/// Where the spans that a beam may fill begin, but for the first.
fn spans(metre: &Metre) -> Vec<Time> {
    let grouping = metre.groupings().into_iter().next().unwrap_or_default();
    let mut offset = Time::ZERO;
    let ends = metre.beam_spans(&grouping).into_iter().map(|span| {
        offset += span;
        offset
    });
    ends.collect()
}

fn join_by_metre(items: &mut [Item<'_>], spans: &[Time]) {
    let quarter = Time::new(1, 4);
    let span = |onset: Time| spans.iter().filter(|end| **end <= onset).count();
    let mut before: Option<usize> = None;
    for item in items.iter_mut().filter(|item| !item.is_grace()) {
        let short = item.is_note() && item.written() < quarter;
        let here = short.then(|| span(item.onset));
        item.joined = !spans.is_empty() && here.is_some() && here == before;
        before = here;
    }
}

/// What is in force while the bars of a voice are written.
pub(super) struct BarWriter {
    pub(super) unit: Time,
    pub(super) metre: Metre,
    pub(super) spelling: Spelling,
}

impl BarWriter {
    /// The text of one layer. `fields` are to stand before the first item at or after their onset; those
    /// that find none are left in the list.
    pub(super) fn layer(
        &mut self,
        layer: usize,
        items: &[Item<'_>],
        fields: &mut Vec<(Time, Field)>,
    ) -> String {
        self.spelling.forget();
        let tuplets = tuplets(items);
        let mut text = String::new();
        let mut graces: Vec<&Item<'_>> = Vec::new();
        for (item, tuplet) in items.iter().zip(tuplets) {
            if item.is_grace() {
                graces.push(item);
                continue;
            }
            if !text.is_empty() && !item.joined {
                text.push(' ');
            }
            let due = fields.iter().take_while(|(onset, _)| *onset <= item.onset).count();
            let mut due: Vec<Field> = fields.drain(..due).map(|(_, field)| field).collect();
            // Clefs that came and went while the voice was silent are not seen.
            let last_clef = due.iter().rposition(|field| field.clef_only);
            let mut place = 0;
            due.retain(|field| {
                place += 1;
                !field.clef_only || Some(place - 1) == last_clef
            });
            for field in due {
                text.push_str(&field.text);
                field.set(self);
            }
            if let Some(tuplet) = tuplet {
                text.push_str(&self.tuplet(tuplet));
            }
            text.push_str(&self.graces(layer, &graces));
            graces.clear();
            self.item(layer, item, &mut text);
        }
        if !graces.is_empty() {
            text.push(' ');
            text.push_str(&self.graces(layer, &graces));
        }
        text
    }

    /// `(3`, and more only where the standard's defaults (4.13) do not say it.
    fn tuplet(&self, (actual, normal, count): (u32, u32, usize)) -> String {
        let usual = match actual {
            2 | 4 | 8 => Some(3),
            3 | 6 => Some(2),
            _ => None,
        };
        match (usual == Some(normal), count == actual as usize) {
            (true, true) => format!("({actual}"),
            (true, false) => format!("({actual}::{count}"),
            (false, true) => format!("({actual}:{normal}"),
            (false, false) => format!("({actual}:{normal}:{count}"),
        }
    }

    fn graces(&mut self, layer: usize, graces: &[&Item<'_>]) -> String {
        let Some(first) = graces.first() else { return String::new() };
        let sign = |item: &Item<'_>| match item.event.map(|event| event.kind) {
            Some(Kind::Grace { sign, .. }) => sign,
            _ => Time::new(1, 8),
        };
        let slashed =
            matches!(first.event.map(|e| e.kind), Some(Kind::Grace { slashed: true, .. }));
        let shortest = graces.iter().map(|item| sign(item)).min().unwrap_or(Time::new(1, 8));
        let mut text = String::from(if slashed { "{/" } else { "{" });
        for item in graces {
            stands_at(item, &mut text);
            let notes = self.notes(layer, item.notes(), &[]);
            text.push_str(&notes);
            text.push_str(&length_text(sign(item) / shortest));
            text.extend(std::iter::repeat_n(')', item.closes.into()));
        }
        text.push('}');
        text
    }

    fn item(&mut self, layer: usize, item: &Item<'_>, text: &mut String) {
        stands_at(item, text);
        if !item.is_note() {
            self.spelling.tie(layer, std::iter::empty());
            self.rest(item, text);
        } else {
            let dotted = item.notes().first().is_some_and(|note| note.dotted) && !item.continued;
            let all = !item.ties.is_empty()
                && item.ties.iter().all(|tie| *tie)
                && item.notes().iter().all(|note| note.dotted == dotted || item.continued);
            let single: &[bool] = if all { &[] } else { &item.ties };
            let notes = self.notes(layer, item.notes(), single);
            text.push_str(&notes);
            text.push_str(&length_text(item.written() / self.unit));
            if all {
                text.push_str(if dotted { ".-" } else { "-" });
            }
            let tied = item.notes().iter().zip(&item.ties).filter(|(_, tie)| **tie);
            self.spelling.tie(layer, tied.map(|(note, _)| note.pitch));
        }
        text.extend(std::iter::repeat_n(')', item.closes.into()));
    }

    fn rest(&self, item: &Item<'_>, text: &mut String) {
        let whole = item.whole_bar && self.metre.length() == Some(item.duration);
        text.push(match (item.hidden(), whole) {
            (false, false) => 'z',
            (false, true) => 'Z',
            (true, false) => 'x',
            (true, true) => 'X',
        });
        if !whole {
            let written = if item.whole_bar { item.duration } else { item.written() };
            text.push_str(&length_text(written / self.unit));
        }
    }

    /// One note, or a chord from the lowest up; `ties` says which are tied each by itself.
    fn notes(&mut self, layer: usize, notes: &[Note], ties: &[bool]) -> String {
        let tie = |index: usize| match ties.get(index) {
            Some(true) if notes.get(index).is_some_and(|note| note.dotted) => ".-",
            Some(true) => "-",
            _ => "",
        };
        if let [note] = notes {
            return self.spelling.note(layer, note.pitch, note.courtesy);
        }
        let mut order: Vec<(usize, &Note)> = notes.iter().enumerate().collect();
        order.sort_by_key(|(_, note)| (note.pitch.steps(), note.pitch.midi()));
        let mut text = String::from("[");
        for (index, note) in order {
            text.push_str(&self.spelling.note(layer, note.pitch, note.courtesy));
            text.push_str(tie(index));
        }
        text.push(']');
        text
    }
}

/// A field inside a line, and what it changes.
pub(super) struct Field {
    pub(super) text: String,
    pub(super) clef_only: bool,
    pub(super) signature: Option<recte_theory::key::Signature>,
    pub(super) octaves: Option<i8>,
    pub(super) metre: Option<Metre>,
}

impl Field {
    fn set(self, writer: &mut BarWriter) {
        if let Some(signature) = self.signature {
            writer.spelling.signature = signature;
        }
        if let Some(octaves) = self.octaves {
            writer.spelling.octaves = octaves;
        }
        if let Some(metre) = self.metre {
            writer.metre = metre;
        }
    }
}

/// Where tuplets begin: so many in the time of so many, for so many notes and rests.
fn tuplets(items: &[Item<'_>]) -> Vec<Option<(u32, u32, usize)>> {
    let mut found = vec![None; items.len()];
    let own = |item: &Item<'_>| !item.is_grace() && !item.whole_bar && item.ratio != (1, 1);
    let mut index = 0;
    while let Some(first) = items.get(index) {
        if !own(first) {
            index += 1;
            continue;
        }
        let says = |item: &Item<'_>, what: fn(&Event) -> bool| item.event.is_some_and(what);
        let bracketed = says(first, |event| event.tuplet_starts);
        let (mut count, mut length, mut end) = (0, Time::ZERO, index);
        for item in items.get(index..).unwrap_or_default() {
            let begins = count > 0 && says(item, |event| event.tuplet_starts) && !item.continues;
            if !item.is_grace() && (!own(item) || item.ratio != first.ratio || begins) {
                break;
            }
            end += 1;
            if item.is_grace() {
                continue;
            }
            count += 1;
            length += item.duration;
            let closed = match bracketed {
                true => says(item, |event| event.tuplet_ends) && !item.continued,
                false => length.denominator().count_ones() == 1,
            };
            if closed {
                break;
            }
        }
        if let Some(slot) = found.get_mut(index) {
            *slot = Some((first.ratio.0, first.ratio.1, count));
        }
        index = end.max(index + 1);
    }
    found
}
