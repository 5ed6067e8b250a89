//! Key, metre, unit length, tempo and voices: what fields set (abc standard v2.1, 3.1 and 7).

use super::body::Reader;
use super::tempo::{TempoField, tempo_field};
use super::voice::{Position, declare, describe};
use crate::document::TypedKey;
use crate::fields::{KeyField, Properties, key_field, unit_length, words};
use crate::problem::ProblemKind;
use crate::write::TextEdit;
use recte_score::{Span, Tempo};
use recte_theory::{Metre, Time};

impl Reader<'_> {
    pub(crate) fn key(&mut self, value: &str, span: Span) {
        let KeyField { key, properties, pipes, unknown } = key_field(value);
        self.tune.pipes |= pipes;
        if let Some(word) = unknown {
            self.report(ProblemKind::Unreadable, span, format!("“{word}” in this key says nothing known; a key reads like K:Am, K:D dorian or K:none."));
        }
        let key = key.map(|key| intern(&mut self.tune.keys, key));
        // Where it stands: a field that goes on over several lines has no one place.
        let place = self.text[span.range()].rfind(value).map(|at| span.start as usize + at);
        let typed = key.zip(place).map(|(key, at)| {
            let span = Span::new(at, at + value.len());
            TypedKey { key, span, begins: None }
        });
        if self.before_music() {
            self.typed_keys.extend(typed);
            self.key = key.unwrap_or(self.key);
            self.properties = properties;
            self.begin_body();
            return;
        }
        let voice = self.voice_for_music();
        let event = self.tune.voices[voice].events.len() as u32;
        let begins = Some((voice as u32, event));
        self.typed_keys.extend(typed.map(|typed| TypedKey { begins, ..typed }));
        let position = &mut self.positions[voice];
        position.key = key.unwrap_or(position.key);
        position.take(&properties);
        describe(&mut self.tune.voices[voice], &properties);
    }

    pub(crate) fn metre(&mut self, value: &str, span: Span) {
        let metre = match Metre::parse(value) {
            Ok(metre) => self.told_metre(metre),
            Err(error) => {
                self.report(ProblemKind::Unreadable, span, error.to_string());
                return;
            }
        };
        if self.before_music() {
            self.metre = metre;
            return;
        }
        let voice = self.voice_for_music();
        let position = &mut self.positions[voice];
        position.metre = metre;
        position.metre_typed = Some(span);
    }

    pub(crate) fn unit_length(&mut self, value: &str, span: Span) {
        let Some(unit) = unit_length(value) else {
            let message = format!(
                "“{value}” is not a unit length; it is a fraction from 1 to 1/512, as in L:1/8."
            );
            self.report(ProblemKind::Length, span, message);
            return;
        };
        if self.before_music() {
            self.unit = unit;
            return;
        }
        let voice = self.voice_for_music();
        self.positions[voice].unit = unit;
    }

    pub(crate) fn voice(&mut self, value: &str, span: Span) {
        let words = words(value);
        let Some(id) = words.first() else {
            self.report(ProblemKind::Unreadable, span, "A voice needs a name, as in V:1.");
            return;
        };
        let typed = id;
        // Twenty characters of an id count (7.1).
        let id: String = typed.chars().take(20).collect();
        if id.len() < typed.len() {
            self.long_id(typed, span);
        }
        let properties = Properties::of(&words[1..]);
        let voice = self.voice_named(&id, &properties, span);
        if self.in_body {
            self.current = voice;
        }
    }

    /// An id of more than twenty characters, where only those count.
    fn long_id(&mut self, typed: &str, span: Span) {
        let alike = |known: &&String| known.chars().take(20).eq(typed.chars().take(20));
        match self.long_ids.iter().find(alike) {
            Some(known) if known == typed => {}
            Some(known) => {
                let message = format!(
                    "“{typed}” and “{known}” differ only after twenty characters, and are one voice."
                );
                self.report(ProblemKind::VoicesAlike, span, message);
            }
            None => self.long_ids.push(typed.to_owned()),
        }
    }

    fn voice_named(&mut self, id: &str, properties: &Properties, span: Span) -> usize {
        if let Some(known) = self.tune.voices.iter().position(|voice| voice.id == id) {
            describe(&mut self.tune.voices[known], properties);
            self.positions[known].take(properties);
            return known;
        }
        let mut voice = declare(id, &self.properties, span);
        describe(&mut voice, properties);
        self.tune.voices.push(voice);
        let mut position = self.fresh_position();
        position.take(properties);
        self.positions.push(position);
        self.tune.voices.len() - 1
    }

    fn fresh_position(&self) -> Position {
        let mut position =
            Position { unit: self.unit, metre: self.metre, key: self.key, ..Position::default() };
        position.take(&self.properties);
        position
    }

    /// Whether what a field says holds for every voice to come.
    pub(crate) fn before_music(&self) -> bool {
        !self.in_body || self.tune.voices.is_empty()
    }

    /// The voice that music goes to: the one switched to, the first declared, or a first one of its own.
    pub(crate) fn voice_for_music(&mut self) -> usize {
        if self.tune.voices.is_empty() {
            self.voice_named("1", &Properties::default(), Span::default());
        }
        self.current
    }

    /// The header is over: what it leaves open takes its default, in every voice it declared.
    pub(crate) fn begin_body(&mut self) {
        if std::mem::replace(&mut self.in_body, true) {
            return;
        }
        if self.unit.is_zero() {
            let metre = &self.tune.metres[self.metre as usize];
            self.unit = self.file.unit.unwrap_or_else(|| metre.default_unit_length());
        }
        for (value, span) in std::mem::take(&mut self.header_tempi) {
            self.tempo(&value, span);
        }
        let fresh = self.fresh_position();
        for (voice, position) in self.tune.voices.iter_mut().zip(&mut self.positions) {
            position.unit = fresh.unit;
            position.metre = fresh.metre;
            position.key = fresh.key;
            if voice.clef.name.is_empty() {
                let octaves = Some(voice.clef.octaves).filter(|octaves| *octaves != 0);
                position.clef_octaves = octaves.unwrap_or(fresh.clef_octaves);
                let inherited = Properties { name: None, subname: None, ..self.properties.clone() };
                let own = voice.transposes.then_some(voice.transpose);
                let transpose = own.or(inherited.transpose);
                let clef_octaves = octaves.or(inherited.clef_octaves);
                describe(voice, &Properties { transpose, clef_octaves, ..inherited });
            }
            if !voice.transposes {
                position.transpose = fresh.transpose;
            }
            if position.octave == 0 {
                position.octave = fresh.octave;
            }
        }
    }

    /// `Q:`; in the header it waits until the unit length is known.
    pub(crate) fn tempo(&mut self, value: &str, span: Span) {
        if !self.in_body {
            self.header_tempi.push((value.to_owned(), span));
            return;
        }
        let position = self.positions.get(self.current);
        let unit = position.map_or(self.unit, |position| position.unit);
        let (bar, offset) =
            position.map_or((0, Time::ZERO), |position| (position.bar, position.cursor));
        let Some(TempoField { beats, per_minute, text, in_units }) = tempo_field(value, unit)
        else {
            let message =
                format!("“{value}” says no tempo; it reads like Q:1/4=96 or Q:\"Lively\" 1/4=96.");
            self.report(ProblemKind::Unreadable, span, message);
            return;
        };
        if in_units && self.file.strict {
            let beat = beats.first().map_or_else(String::new, Time::to_string);
            let message = format!(
                "A tempo that counts unit lengths is out of use; “{value}” is {beat}={} now.",
                per_minute.unwrap_or(0)
            );
            let now = format!("{beat}={}", per_minute.unwrap_or(0));
            let edits = vec![TextEdit { span, text: now.clone() }];
            self.report(ProblemKind::Deprecated, span, message).fix =
                Some((format!("Write {now}"), edits));
        }
        if !beats.is_empty() || text.is_some() {
            self.tune.tempi.push(Tempo { bar, offset, beats, per_minute, text, span });
        }
    }
}

pub(crate) fn intern<T: PartialEq>(pool: &mut Vec<T>, value: T) -> u16 {
    let index = pool.iter().position(|known| *known == value).unwrap_or_else(|| {
        pool.push(value);
        pool.len() - 1
    });
    // A score with more than 65,535 different keys or metres keeps the last.
    u16::try_from(index).unwrap_or(u16::MAX)
}
