//! What a misspelled note belongs to: a chord, a sound that another part writes by its right name, a scale, a
//! line by half steps; or only the note beside it.

use super::{Reading, distinct, event};
use crate::context::Context;
use recte_score::{Figure, NoteRef, broken_chords, slices};
use recte_theory::PitchName;
use recte_theory::chord::{Stack, thirds};
use std::collections::HashMap;

/// Notes in a row that make a scale.
const RUN: usize = 4;

/// What misspelled notes belong to.
pub(crate) enum Kind {
    /// A chord in thirds, together or broken: `chord-spelling` speaks of it.
    Chord,
    /// Another part has the same sound at the same time by its right name: this one.
    Doubled(usize),
    /// A scale: these sounds, in its order.
    Scale(Vec<usize>),
    /// A half step from the note before or to the note after.
    HalfStep {
        /// The note before.
        before: Option<usize>,
        /// The note after.
        after: Option<usize>,
    },
    /// The interval to a note beside it or together with it.
    Interval(Option<usize>),
}

impl Kind {
    /// The other sounds it speaks of.
    pub(super) fn sounds(&self) -> impl Iterator<Item = &usize> {
        let (run, before, after) = match self {
            Kind::Chord => (&[][..], None, None),
            Kind::Scale(run) => (&run[..], None, None),
            Kind::Doubled(other) => (&[][..], Some(other), None),
            Kind::HalfStep { before, after } => (&[][..], before.as_ref(), after.as_ref()),
            Kind::Interval(other) => (&[][..], other.as_ref(), None),
        };
        run.iter().chain(before).chain(after)
    }
}

/// The chords of a tune, together and broken, and which of them each sound is part of.
pub(super) struct Figures {
    figures: Vec<Vec<usize>>,
    of: HashMap<usize, Vec<usize>>,
}

impl Figures {
    pub(super) fn of(context: &Context<'_>, reading: &Reading) -> Figures {
        let together = slices(context.soundings()).into_iter();
        let broken = context.voices().flat_map(|(at, voice)| broken_chords(voice, at as u32));
        let sounds = |figure: Figure| -> Vec<usize> {
            figure.notes.iter().filter_map(|note| reading.place(*note)).collect()
        };
        let figures: Vec<Vec<usize>> = together.chain(broken).map(sounds).collect();
        let mut of: HashMap<usize, Vec<usize>> = HashMap::new();
        for (number, figure) in figures.iter().enumerate() {
            figure.iter().for_each(|&sound| of.entry(sound).or_default().push(number));
        }
        Figures { figures, of }
    }

    /// Whether a chord with one of these sounds reads in thirds under the better names and does not as typed.
    fn show_a_chord(&self, reading: &Reading, sounds: &[usize]) -> bool {
        let all = sounds.iter().filter_map(|sound| self.of.get(sound)).flatten();
        all.map(|&number| &self.figures[number]).any(|figure| {
            let names = |names: &[PitchName]| distinct(figure.iter().map(|&at| names[at]));
            in_thirds(&names(&reading.better)) && !in_thirds(&names(&reading.typed))
        })
    }
}

pub(super) fn kind(
    context: &Context<'_>,
    reading: &Reading,
    figures: &Figures,
    sounds: &[usize],
) -> Kind {
    if figures.show_a_chord(reading, sounds) {
        return Kind::Chord;
    }
    if let Some(other) = doubled(reading, sounds) {
        return Kind::Doubled(other);
    }
    let line = Line::of(context, reading, sounds[0]);
    if let Some(run) = line.scale(reading, sounds) {
        return Kind::Scale(run);
    }
    let half_step = |other: Option<usize>| {
        other.filter(|&other| (midi(reading, other) - midi(reading, sounds[0])).abs() == 1)
    };
    let (before, after) = (half_step(line.before()), half_step(line.after()));
    if before.is_some() || after.is_some() {
        return Kind::HalfStep { before, after };
    }
    let other = line.before().or(line.after()).or_else(|| together(reading, sounds[0]));
    Kind::Interval(other)
}

fn midi(reading: &Reading, at: usize) -> i32 {
    reading.sound(at).midi()
}

fn in_thirds(names: &[PitchName]) -> bool {
    let classes: Vec<u8> = names.iter().map(|name| name.pitch_class()).collect();
    let spells = |stack: &Stack| names.iter().all(|name| stack.names.contains(name));
    (3..=5).contains(&names.len()) && thirds(&classes).iter().any(spells)
}

/// Another sound of the same pitch class at the same time whose typed name is the better one.
fn doubled(reading: &Reading, sounds: &[usize]) -> Option<usize> {
    let at = sounds[0];
    let same = |other: &usize| {
        (midi(reading, *other) - midi(reading, at)) % 12 == 0
            && reading.typed[*other] == reading.better[at]
            && reading.sound(*other).overlaps(reading.sound(at))
    };
    reading.in_bar(at).find(same)
}

/// Another sound at the same time.
fn together(reading: &Reading, at: usize) -> Option<usize> {
    let sounds = |other: &usize| *other != at && reading.sound(*other).overlaps(reading.sound(at));
    reading.in_bar(at).find(sounds)
}

/// The single notes of a line around a sound, grace notes left out.
struct Line {
    sounds: Vec<usize>,
    /// Where the sound stands in it.
    at: usize,
}

impl Line {
    fn of(context: &Context<'_>, reading: &Reading, at: usize) -> Line {
        let own = reading.sound(at);
        let layer = event(context.tune, own).layer;
        let voice = &context.tune.voices[own.at.voice as usize];
        let mut sounds = Vec::new();
        // The bar before and the bar after: longer runs are rare, and the words would not end.
        let bars = own.bar.saturating_sub(1) as usize..voice.bars.len().min(own.bar as usize + 2);
        let events = voice.bars[bars].iter().flat_map(|bar| voice.events_of(bar));
        for number in events.flat_map(|event| event.notes.clone()) {
            let event = &voice.events[voice.notes[number as usize].event as usize];
            let single = event.notes.len() == 1 && !event.grace && event.layer == layer;
            let note = NoteRef { voice: own.at.voice, note: number };
            if let Some(sound) = reading.place(note)
                && (single || sound == at)
            {
                sounds.push(sound);
            }
        }
        let at = sounds.iter().position(|&sound| sound == at).unwrap_or(0);
        Line { sounds, at }
    }

    fn before(&self) -> Option<usize> {
        self.at.checked_sub(1).map(|before| self.sounds[before])
    }

    fn after(&self) -> Option<usize> {
        self.sounds.get(self.at + 1).copied()
    }

    /// The run by steps around the sound that uses each letter once under its better names.
    fn scale(&self, reading: &Reading, wanted: &[usize]) -> Option<Vec<usize>> {
        let step = |at: usize| i32::from(reading.better[at].letter.step());
        let next = |pair: &[usize], up: bool| {
            let (from, to) = if up { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
            let moved = midi(reading, to) - midi(reading, from);
            (1..=3).contains(&moved) && (step(to) - step(from)).rem_euclid(7) == 1
        };
        for up in [true, false] {
            let mut from = self.at;
            while from > 0 && next(&self.sounds[from - 1..=from], up) {
                from -= 1;
            }
            let mut to = self.at + 1;
            while to < self.sounds.len() && next(&self.sounds[to - 1..=to], up) {
                to += 1;
            }
            let run = &self.sounds[from..to];
            if run.len() >= RUN && run.iter().any(|at| wanted.contains(at)) {
                return Some(run.to_vec());
            }
        }
        None
    }
}
