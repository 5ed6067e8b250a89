//! One bar of one part.

use super::around::Around;
use super::attributes;
use super::direction::{Spot, section, tempo};
use super::harmony::harmony;
use super::layout::{Layout, Part};
use super::notations::{Notations, fermata};
use super::note::Written;
use super::shape::Layer;
use super::signs::{BarSigns, style_name};
use super::xml::Xml;
use recte_score::{
    Bar, ClefChange, Event, EventKind, Mark, MarkKind, Meaning, Note, SectionMark, Tempo, Tune,
    Voice,
};
use recte_theory::pitch::usual_steps;
use recte_theory::{Pitch, Time};
use std::collections::{BTreeMap, BTreeSet};

/// The octaves a pitch can be written in.
const OCTAVES: std::ops::RangeInclusive<i8> = 0..=9;

/// A part while it is being written.
pub(super) struct Writer<'a, 'x> {
    pub(super) xml: &'x mut Xml,
    pub(super) tune: &'a Tune,
    pub(super) layout: &'x Layout<'a>,
    pub(super) part: &'x Part<'a>,
    /// Tempi and sections, if this part carries what is said once for all.
    pub(super) tempi: BTreeMap<u32, Vec<&'a Tempo>>,
    pub(super) sections: BTreeMap<u32, Vec<&'a SectionMark>>,
    pub(super) signs: &'x [BarSigns],
    pub(super) left_out: &'x mut Vec<String>,
    pub(super) around: Vec<Around<'a>>,
    pub(super) spots: Vec<Spot>,
    /// Whether a trill's line is open, voice by voice.
    pub(super) trills: Vec<bool>,
    /// What holds at the place being written.
    pub(super) key: Option<u16>,
    pub(super) metre: Option<u16>,
    /// How many bars without a number of their own there were.
    pub(super) numberless: usize,
}

impl<'a> Writer<'a, '_> {
    pub(super) fn measure(&mut self, bar: usize) {
        let number = match self.signs.get(bar).and_then(|signs| signs.number) {
            Some(number) => number.to_string(),
            None => {
                self.numberless += 1;
                format!("X{}", self.numberless)
            }
        };
        let mut head = vec![("number", number.as_str())];
        if number.starts_with('X') || bar == 0 && number == "0" {
            head.push(("implicit", "yes"));
        }
        self.xml.open("measure", &head);
        self.left_line(bar);
        self.attributes(bar);
        let sections = self.sections.get(&(bar as u32)).into_iter().flatten();
        sections.for_each(|mark| section(self.xml, mark));
        let length = self.ticks(self.length(bar));
        let mut begun = false;
        for place in 0..self.part.voices.len() {
            let own = self.voice(place).bars.get(bar);
            for layer in 0..own.map_or(1, |bar| bar.layers.max(1)) {
                if std::mem::replace(&mut begun, true) && length > 0 {
                    self.xml.within("backup", &[], |xml| xml.number("duration", length));
                }
                match own {
                    Some(own) => self.layer(bar, own, place, layer),
                    None => self.silence(bar, place, length),
                }
            }
        }
        self.end_of_bar(bar);
        self.right_line(bar);
        self.xml.close("measure");
    }

    pub(super) fn voice(&self, place: usize) -> &'a Voice {
        self.part.voices[place].voice
    }

    pub(super) fn length(&self, bar: usize) -> Time {
        self.tune.bars.get(bar).map_or(Time::ZERO, |bar| bar.length)
    }

    pub(super) fn ticks(&self, time: Time) -> i64 {
        self.layout.ticks(time)
    }

    fn left_line(&mut self, bar: usize) {
        let Some(signs) = self.signs.get(bar) else { return };
        if !signs.opens && signs.ending.is_none() {
            return;
        }
        self.xml.within("barline", &[("location", "left")], |xml| {
            if signs.opens {
                xml.text("bar-style", &[], "heavy-light");
            }
            if let Some((times, words)) = &signs.ending {
                let attributes = [("number", times.as_str()), ("type", "start")];
                match words.as_str() {
                    "" => xml.empty("ending", &attributes),
                    words => xml.text("ending", &attributes, words),
                }
            }
            if signs.opens {
                xml.empty("repeat", &[("direction", "forward")]);
            }
        });
    }

    fn right_line(&mut self, bar: usize) {
        let Some(signs) = self.signs.get(bar) else { return };
        let on_line = |around: &Around<'a>| around.on_line(bar as u32).to_vec();
        let marks: Vec<&Mark> = self.around.iter().flat_map(on_line).collect();
        let held = marks.into_iter().find(|mark| mark.meaning == Some(Meaning::Fermata));
        let style = if signs.closes > 0 { Some("light-heavy") } else { style_name(signs.style) };
        if style.is_none() && signs.ended.is_none() && held.is_none() {
            return;
        }
        self.xml.within("barline", &[("location", "right")], |xml| {
            if let Some(style) = style {
                xml.text("bar-style", &[], style);
            }
            if let Some(mark) = held {
                xml.empty("fermata", &[("type", fermata(&mark.text))]);
            }
            if let Some((times, closed)) = &signs.ended {
                let kind = if *closed { "stop" } else { "discontinue" };
                xml.empty("ending", &[("number", times), ("type", kind)]);
            }
            if signs.closes > 0 {
                let times = signs.closes.to_string();
                let mut repeat = vec![("direction", "backward")];
                if signs.closes > 2 {
                    repeat.push(("times", &times));
                }
                xml.empty("repeat", &repeat);
            }
        });
    }

    /// What holds from this bar on.
    fn attributes(&mut self, bar: usize) {
        let voice = self.voice(0);
        let own = voice.bars.get(bar);
        let key = own.map(|bar| bar.key).filter(|key| self.key != Some(*key));
        let metre = own.map(|bar| bar.metre).filter(|metre| self.metre != Some(*metre));
        let rests = self.bars_of_rest(bar);
        let begins = bar == 0;
        if !begins && key.is_none() && metre.is_none() && rests.is_none() {
            return;
        }
        (self.key, self.metre) = (key.or(self.key), metre.or(self.metre));
        let (tune, divisions) = (self.tune, self.layout.divisions);
        self.xml.within("attributes", &[], |xml| {
            if begins {
                xml.number("divisions", divisions);
            }
            if let Some(key) = key.and_then(|key| tune.keys.get(usize::from(key))) {
                attributes::key(xml, key);
            }
            if let Some(metre) = metre.and_then(|metre| tune.metres.get(usize::from(metre))) {
                attributes::metre(xml, metre);
            }
            if begins {
                attributes::clef(xml, &voice.clef);
            }
            if begins && voice.transpose != 0 {
                attributes::transpose(xml, voice.transpose);
            }
            if let Some(count) = rests {
                let write = |xml: &mut Xml| xml.number("multiple-rest", count);
                xml.within("measure-style", &[], write);
            }
        });
    }

    /// How many bars the rest counts that begins here, in a part of one voice; none if it is one alone.
    fn bars_of_rest(&self, bar: usize) -> Option<i64> {
        if self.part.voices.len() > 1 {
            return None;
        }
        let voice = self.voice(0);
        let rest = |bar: usize| match voice.bars.get(bar).map(|bar| voice.events_of(bar)) {
            Some([event]) if matches!(event.kind, EventKind::BarRest(_)) => Some(event.span),
            _ => None,
        };
        let here = rest(bar)?;
        if bar.checked_sub(1).and_then(rest) == Some(here) {
            return None;
        }
        let count = (bar..).take_while(|bar| rest(*bar) == Some(here)).count();
        (count > 1).then_some(count as i64)
    }

    /// A voice that has no such bar.
    fn silence(&mut self, bar: usize, place: usize, length: i64) {
        if length <= 0 {
            return;
        }
        if place > 0 {
            return self.forward(length);
        }
        for said in self.tempi.get(&(bar as u32)).cloned().unwrap_or_default() {
            tempo(self.xml, said, self.ticks(said.offset));
        }
        let number = self.part.voices[place].number;
        self.xml.within("note", &[("print-object", "no")], |xml| {
            xml.empty("rest", &[("measure", "yes")]);
            xml.number("duration", length);
            xml.number("voice", number as i64);
        });
    }

    fn forward(&mut self, length: i64) {
        if length > 0 {
            self.xml.within("forward", &[], |xml| xml.number("duration", length));
        }
    }

    fn layer(&mut self, bar: usize, own: &Bar, place: usize, layer: u8) {
        let voice = self.voice(place);
        let events: Vec<_> = (own.events.start..)
            .zip(voice.events_of(own))
            .filter(|(_, event)| event.layer == layer)
            .collect();
        let layer = self.shaped(bar, place, layer, events);
        self.spots[place].number = self.part.voices[place].number + usize::from(layer.layer);
        let leads = place == 0 && layer.layer == 0;
        let tempi = self.tempi.get(&(bar as u32)).filter(|_| leads).cloned().unwrap_or_default();
        let mut tempi = tempi.as_slice();
        let mut cursor = Time::ZERO;
        for at in 0..layer.events.len() {
            let (index, event) = layer.events[at];
            if !event.grace {
                self.forward(self.ticks(event.offset) - self.ticks(cursor));
                cursor = event.end();
            }
            self.changes(&layer, index, event);
            while let Some((next, rest)) =
                tempi.split_first().filter(|(t, _)| t.offset <= event.offset)
            {
                tempo(self.xml, next, self.ticks(next.offset) - self.ticks(event.offset));
                tempi = rest;
            }
            self.directions(place, index);
            self.event(&layer, at);
        }
        let end = self.length(bar);
        self.forward(self.ticks(end) - self.ticks(cursor));
        for next in tempi {
            tempo(self.xml, next, self.ticks(next.offset) - self.ticks(end));
        }
    }

    /// A key, clef or transposition that takes over at an event.
    fn changes(&mut self, layer: &Layer<'_>, index: u32, event: &Event) {
        let voice = self.voice(layer.place);
        let place = voice.clef_changes.binary_search_by_key(&index, |change| change.event);
        let change = place.ok().and_then(|place| voice.clef_changes.get(place));
        if layer.place > 0 {
            if change.is_some() {
                self.left_out.push(format!(
                    "Voice {} shares a staff, so its own change of clef in bar {} is left out.",
                    voice.id,
                    self.tune.bar_number(event.bar)
                ));
            }
            return;
        }
        let key = Some(event.key).filter(|key| layer.layer == 0 && self.key != Some(*key));
        if key.is_none() && change.is_none() {
            return;
        }
        self.key = key.or(self.key);
        let tune = self.tune;
        self.xml.within("attributes", &[], |xml| {
            if let Some(key) = key.and_then(|key| tune.keys.get(usize::from(key))) {
                attributes::key(xml, key);
            }
            if let Some(change) = change {
                attributes::clef(xml, &change.clef);
                attributes::transpose(xml, change.transpose);
            }
        });
    }

    /// The transposition of the part at a place: that of its first voice.
    fn transposition(&self, event: &Event) -> i32 {
        let voice = self.voice(0);
        let from = |change: &ClefChange| voice.events.get(change.event as usize);
        let begun = voice
            .clef_changes
            .partition_point(|change| from(change).is_some_and(|from| from.bar <= event.bar));
        // Layers of a bar begin again at its first beat.
        let holds = |change: &&ClefChange| {
            from(change).is_some_and(|from| (from.bar, from.offset) <= (event.bar, event.offset))
        };
        let last = voice.clef_changes.iter().take(begun).rfind(holds);
        last.map_or(voice.transpose, |change| change.transpose)
    }

    /// Chord symbols and directions before an event.
    fn directions(&mut self, place: usize, index: u32) {
        for mark in self.around[place].marks(index).to_vec() {
            self.direction(place, mark);
        }
    }

    /// Whether a mark was written as a chord symbol or a direction.
    fn direction(&mut self, place: usize, mark: &Mark) -> bool {
        let chord = mark.kind == MarkKind::ChordSymbol && harmony(self.xml, &mark.text);
        let unknown = mark.kind == MarkKind::Decoration && mark.meaning.is_none();
        if unknown && !mark.text.is_empty() {
            self.left_out.push(format!("“!{}!” is no sign that MusicXML has.", mark.text));
        }
        chord || self.spots[place].mark(self.xml, mark)
    }

    /// What stands on the line after a bar, or after the last note of all.
    fn end_of_bar(&mut self, bar: usize) {
        let last = bar + 1 == self.tune.bars.len();
        for place in 0..self.part.voices.len() {
            let mut marks = self.around[place].on_line(bar as u32).to_vec();
            if last {
                let end = self.voice(place).events.len() as u32;
                marks.extend(self.around[place].marks(end));
            }
            for mark in marks {
                let written = self.direction(place, mark);
                let on_line = mark.meaning == Some(Meaning::Fermata);
                if !written && !on_line && mark.meaning.is_some() {
                    self.left_out.push(format!(
                        "“{}” after bar {} stands on no note, so it is left out.",
                        mark.text,
                        self.tune.bar_number(bar as u32)
                    ));
                }
            }
            if last {
                self.spots[place].close_all(self.xml);
                if self.spots[place].unpaired {
                    self.left_out.push(format!(
                        "A hairpin of voice {} has no end, or no beginning; it ends with the last note, or is left out.",
                        self.voice(place).id
                    ));
                }
            }
        }
    }

    fn event(&mut self, layer: &Layer<'a>, at: usize) {
        let (index, event) = layer.events[at];
        let voice = self.voice(layer.place);
        let notes = self.pitches(voice, event);
        if notes.is_empty() && event.grace {
            return;
        }
        let around = &self.around[layer.place];
        let marks = around.marks(index);
        let list = |of: &BTreeMap<u32, _>| of.get(&index).cloned();
        let slurs = list(&around.slurs).unwrap_or_default();
        let tuplet = event.tuplet.and_then(|tuplet| voice.tuplets.get(tuplet as usize)).copied();
        let tuplet = tuplet.filter(|_| !event.grace).map(|tuplet| {
            let here = |of: &BTreeSet<u32>| of.contains(&index);
            (tuplet, here(&around.tuplet_first), here(&around.tuplet_last))
        });
        let written = Written {
            event,
            notes,
            pieces: &layer.pieces[at],
            voice: self.part.voices[layer.place].number + usize::from(layer.layer),
            beams: &layer.beams[at],
            tuplet,
            slurs: &slurs,
            sung: around.syllables.get(&index).map_or(&[], Vec::as_slice),
            notations: Notations::of(marks, &mut self.trills[layer.place]),
            unpitched: voice.clef.is_percussion(),
            hidden: event.hidden || event.kind == EventKind::InvisibleRest,
            whole_bar: self.is_whole_bar(layer.bar, event),
        };
        written.write(self.xml);
    }

    /// The notes of an event with the pitches they are written at.
    fn pitches(&mut self, voice: &'a Voice, event: &Event) -> Vec<(&'a Note, Pitch)> {
        let semitones = self.transposition(event);
        let written =
            |note: &'a Note| (note, note.pitch.transposed(-usual_steps(semitones), -semitones));
        let mut all: Vec<_> = voice.notes_of(event).iter().map(written).collect();
        let count = all.len();
        all.retain(|(_, pitch)| OCTAVES.contains(&pitch.octave));
        if all.len() < count {
            self.left_out.push(format!(
                "A note in bar {} lies beyond the octaves that MusicXML counts, 0 to 9.",
                self.tune.bar_number(event.bar)
            ));
        }
        all
    }
}
