//! What a misspelled note belongs to: a chord, a sound that another part writes by its right name, a scale, a
//! line by half steps; or only the note beside it.

use super::{Reading, distinct, event};
use crate::context::Context;
use crate::players::is_harp;
use recte_score::spelling::{Sound, Speller};
use recte_score::{Figure, FigureKind, NoteRef, broken_chords, slices};
use recte_theory::PitchName;
use recte_theory::chord::{Stack, thirds};
use recte_theory::tertian::reads_in_thirds;
use std::cell::OnceCell;
use std::cmp::Reverse;
use std::collections::{BTreeSet, HashMap};

/// Notes in a row that make a scale.
const RUN: usize = 4;
/// Notes in a row that are told of at most: each letter once.
const OCTAVE: usize = 7;

/// What misspelled notes belong to.
pub(crate) enum Kind {
    /// A chord in thirds.
    Chord(Shown),
    /// Another part has the same sound at the same time by its right name: this one.
    Doubled(usize),
    /// A scale: these sounds, in its order.
    Scale(Vec<usize>),
    /// A half step to this note, which comes next; the better name shows it.
    GoesOn(usize),
    /// A half step from this note, which came before.
    ComesFrom(usize),
    /// The interval to a note beside it or together with it, which the better name makes simpler.
    Interval(usize),
    /// A name that the key has.
    Key,
    /// Nothing that a reader would see.
    Unseen,
}

impl Kind {
    /// The other sounds it speaks of.
    pub(super) fn sounds(&self) -> &[usize] {
        match self {
            Kind::Chord(shown) => &shown.sounds,
            Kind::Scale(run) => run,
            Kind::Doubled(other)
            | Kind::GoesOn(other)
            | Kind::ComesFrom(other)
            | Kind::Interval(other) => std::slice::from_ref(other),
            Kind::Key | Kind::Unseen => &[],
        }
    }
}

/// A chord that reads in thirds once its notes are respelled.
#[derive(Clone)]
pub(crate) struct Shown {
    /// The sounds of the chord: in time, then upwards.
    pub(crate) sounds: Vec<usize>,
    /// Together or in turn.
    pub(crate) kind: FigureKind,
}

/// The chords of a tune, together and broken, and which of them each sound is part of. They are gathered when
/// first asked for: most tunes hide none.
pub(super) struct Figures<'a> {
    context: &'a Context<'a>,
    gathered: OnceCell<Gathered>,
}

struct Gathered {
    /// The sounds by the notes they begin with.
    places: HashMap<NoteRef, usize>,
    figures: Vec<Shown>,
    of: HashMap<usize, Vec<usize>>,
}

impl<'a> Figures<'a> {
    pub(super) fn of(context: &'a Context<'a>) -> Figures<'a> {
        Figures { context, gathered: OnceCell::new() }
    }

    fn gathered(&self, speller: &Speller) -> &Gathered {
        self.gathered.get_or_init(|| {
            let context = self.context;
            let sounds = speller.sounds().iter().zip(0..);
            let places: HashMap<NoteRef, usize> =
                sounds.map(|(sound, at)| (sound.at, at)).collect();
            let together = slices(context.soundings()).into_iter();
            let broken = context.voices().flat_map(|(at, voice)| broken_chords(voice, at as u32));
            let shown = |figure: Figure| {
                let sounds = figure.notes.iter().filter_map(|note| places.get(note).copied());
                Shown { sounds: sounds.collect(), kind: figure.kind }
            };
            let figures: Vec<Shown> = together.chain(broken).map(shown).collect();
            let mut of: HashMap<usize, Vec<usize>> = HashMap::new();
            for (number, figure) in figures.iter().enumerate() {
                figure.sounds.iter().for_each(|&at| of.entry(at).or_default().push(number));
            }
            Gathered { places, figures, of }
        })
    }

    fn with(&self, speller: &Speller, sounds: &[usize]) -> Vec<&Shown> {
        let gathered = self.gathered(speller);
        let numbers = sounds.iter().filter_map(|at| gathered.of.get(at)).flatten();
        numbers.map(|&number| &gathered.figures[number]).collect()
    }

    /// Whether a harpist plays a sound.
    pub(super) fn on_harp(&self, sound: &Sound) -> bool {
        is_harp(self.context, sound.at.voice as usize)
    }

    /// The clearest chord with one of these sounds that these names show.
    pub(super) fn clear(
        &self,
        speller: &Speller,
        sounds: &[usize],
        names: &[PitchName],
    ) -> Option<Clear> {
        let all = self.with(speller, sounds).into_iter();
        all.filter_map(|figure| clear(&figure.names(names))).max()
    }

    /// The chord with one of these sounds that reads in thirds under the names after and not before: rather together
    /// than broken, one of the usual, with the most notes, told in the fewest, from its root if it can be.
    pub(super) fn shown(
        &self,
        speller: &Speller,
        sounds: &[usize],
        before: &[PitchName],
        after: &[PitchName],
    ) -> Option<&Shown> {
        let figures = self.with(speller, sounds).into_iter();
        let shown = figures.filter_map(|figure| {
            let names = figure.names(after);
            let stack = in_thirds(&names).filter(|_| !reads(&figure.names(before)))?;
            let first = figure.sounds.first().copied()?;
            let meant = sounds.iter().filter(|at| figure.sounds.contains(at)).count();
            let rank = (
                figure.kind == FigureKind::Block,
                USUAL.contains(&stack.quality.name.as_str()),
                names.len(),
                meant,
                Reverse(figure.sounds.len()),
                after[first] == stack.root,
                Reverse(first),
            );
            Some((rank, figure))
        });
        shown.max_by_key(|(rank, _)| *rank).map(|(_, figure)| figure)
    }
}

impl Shown {
    /// Its different names, in its order.
    pub(crate) fn names(&self, names: &[PitchName]) -> Vec<PitchName> {
        distinct(self.sounds.iter().map(|&at| names[at]))
    }
}

/// The chords that most music is made of.
const USUAL: [&str; 10] = [
    "major triad",
    "minor triad",
    "diminished triad",
    "augmented triad",
    "dominant seventh",
    "major seventh",
    "minor seventh",
    "minor-major seventh",
    "half-diminished seventh",
    "diminished seventh",
];

/// The triad or seventh chord in thirds that these names are, complete.
pub(crate) fn in_thirds(names: &[PitchName]) -> Option<Stack> {
    let classes: Vec<u8> = names.iter().map(|name| name.pitch_class()).collect();
    let spells = |stack: &Stack| names.iter().all(|name| stack.names.contains(name));
    (3..=4).contains(&names.len()).then(|| thirds(&classes)).into_iter().flatten().find(spells)
}

/// A chord that its names show; the last is the clearest. Three notes of equal distances may be part of another.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Clear {
    /// A seventh chord or an augmented sixth.
    Chord,
    /// A major or minor triad.
    Triad,
}

/// Whether names read as a chord, some tones of it perhaps left out, whatever else they could be.
fn reads(names: &[PitchName]) -> bool {
    let classes: BTreeSet<u8> = names.iter().map(|name| name.pitch_class()).collect();
    classes.len() == names.len() && (reads_in_thirds(names) || is_augmented_sixth(names))
}

fn clear(names: &[PitchName]) -> Option<Clear> {
    match in_thirds(names) {
        Some(stack) if names.len() == 3 => ["major triad", "minor triad"]
            .contains(&stack.quality.name.as_str())
            .then_some(Clear::Triad),
        Some(_) => Some(Clear::Chord),
        None => is_augmented_sixth(names).then_some(Clear::Chord),
    }
}

/// Whether some name is the bass of an Italian, French or German sixth that holds all the others: a major third,
/// an augmented sixth, and a fourth or fifth, whichever of them is lowest.
fn is_augmented_sixth(names: &[PitchName]) -> bool {
    const MEMBERS: [i32; 5] = [0, 4, 10, 6, 1];
    names.iter().any(|bass| {
        let above: Vec<i32> = names.iter().map(|name| name.fifths() - bass.fifths()).collect();
        above.contains(&4) && above.contains(&10) && above.iter().all(|one| MEMBERS.contains(one))
    })
}

pub(super) fn kind(
    context: &Context<'_>,
    reading: &Reading,
    figures: &Figures<'_>,
    sounds: &[usize],
) -> Kind {
    let shown = figures.shown(&reading.speller, sounds, &reading.typed, &reading.better);
    if let Some(shown) = shown {
        return Kind::Chord(shown.clone());
    }
    if let Some(other) = doubled(reading, sounds) {
        return Kind::Doubled(other);
    }
    let places = &figures.gathered(&reading.speller).places;
    let line = Line::of(context, reading, places, sounds[0]);
    if let Some(run) = line.scale(reading) {
        return Kind::Scale(run);
    }
    let at = sounds[0];
    let beside: Vec<usize> = reading.beside(at).collect();
    let half_step = |&other: &usize| {
        (midi(reading, other) - midi(reading, at)).abs() == 1 && simpler(reading, at, other) > 0
    };
    let mut half_steps = beside.iter().copied().filter(half_step);
    let after = |other: &usize| reading.sound(*other).follows(reading.sound(at));
    if let Some(other) = half_steps.clone().find(after).or_else(|| half_steps.next()) {
        return if after(&other) { Kind::GoesOn(other) } else { Kind::ComesFrom(other) };
    }
    if reading.sound(at).in_signature(reading.better[at]) {
        return Kind::Key;
    }
    let others = beside.into_iter().chain(together(reading, at));
    let others = others.filter(|&other| reading.typed[other] == reading.better[other]);
    match others.map(|other| (simpler(reading, at, other), other)).max_by_key(|one| one.0) {
        Some((simpler, other)) if simpler > 0 => Kind::Interval(other),
        _ => Kind::Unseen,
    }
}

/// How many fifths nearer the better name is to that of another sound; below zero it is farther.
fn simpler(reading: &Reading, at: usize, other: usize) -> i32 {
    let far = |name: PitchName| (name.fifths() - reading.better[other].fifths()).abs();
    far(reading.typed[at]) - far(reading.better[at])
}

fn midi(reading: &Reading, at: usize) -> i32 {
    reading.sound(at).midi()
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

/// The other sounds at the same time.
fn together(reading: &Reading, at: usize) -> impl Iterator<Item = usize> {
    let sounds =
        move |other: &usize| *other != at && reading.sound(*other).overlaps(reading.sound(at));
    reading.in_bar(at).filter(sounds)
}

/// The single notes of a line around a sound, grace notes left out.
struct Line {
    sounds: Vec<usize>,
    /// Where the sound stands in it.
    at: usize,
}

impl Line {
    fn of(
        context: &Context<'_>,
        reading: &Reading,
        places: &HashMap<NoteRef, usize>,
        at: usize,
    ) -> Line {
        let own = reading.sound(at);
        let layer = event(context.tune, own).layer;
        let voice = &context.tune.voices[own.at.voice as usize];
        let mut sounds = Vec::new();
        // The bar before and the bar after: longer runs are rare, and the words would not end.
        let bars = own.bar.saturating_sub(1) as usize..voice.bars.len().min(own.bar as usize + 2);
        let events = voice.bars[bars].iter().flat_map(|bar| voice.events_of(bar));
        for number in events.flat_map(|event| event.notes.clone()) {
            let event = voice.event_of(number);
            let single = event.notes.len() == 1 && !event.grace && event.layer == layer;
            let note = NoteRef { voice: own.at.voice, note: number };
            if let Some(&sound) = places.get(&note)
                && (single || sound == at)
            {
                sounds.push(sound);
            }
        }
        let at = sounds.iter().position(|&sound| sound == at).unwrap_or(0);
        Line { sounds, at }
    }

    /// The run by steps around the sound that uses each letter once under its better names.
    fn scale(&self, reading: &Reading) -> Option<Vec<usize>> {
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
            let from = from.max((self.at + 1).saturating_sub(OCTAVE));
            let run = &self.sounds[from..to.min(from + OCTAVE)];
            if run.len() >= RUN {
                return Some(run.to_vec());
            }
        }
        None
    }
}
