//! Triads made richer: the seventh, the ninth, the fourth in place of the third.
//!
//! A note comes into a chord that is written as one, or takes the place of a root that another voice doubles, a step
//! away (doublings give way first: Open Music Theory, "Seventh chords", voice leading). Where triads of one kind move
//! in parallel, each gets the same note.

use super::{Becomes, How, Idea, Scene, above};
use crate::harmony::Told;
use recte_notation::write::Alteration;
use recte_score::Sounding;
use recte_score::harmony::planing;
use recte_theory::chord::{Chord, Family, quality_named};
use recte_theory::{Interval, Key, Time};
use std::collections::BTreeSet;

/// So many semitones one hand holds (a tenth): common practice, no source.
const HAND: i32 = 16;

/// What a triad becomes: by its own kind, what comes and what that makes of it.
type Step = (&'static str, Interval, &'static str);

const MINOR_SEVENTH: Interval = Interval { steps: 6, semitones: 10 };
const MAJOR_SEVENTH: Interval = Interval { steps: 6, semitones: 11 };
const FOURTH: Interval = Interval { steps: 3, semitones: 5 };
const NINTH: Interval = Interval { steps: 8, semitones: 14 };

const MINOR_SEVENTHS: [Step; 4] = [
    ("minor triad", MINOR_SEVENTH, "minor seventh"),
    ("major triad", MINOR_SEVENTH, "dominant seventh"),
    ("diminished triad", MINOR_SEVENTH, "half-diminished seventh"),
    ("augmented triad", MINOR_SEVENTH, "augmented seventh"),
];
const MAJOR_SEVENTHS: [Step; 3] = [
    ("minor triad", MAJOR_SEVENTH, "minor-major seventh"),
    ("major triad", MAJOR_SEVENTH, "major seventh"),
    ("augmented triad", MAJOR_SEVENTH, "augmented major seventh"),
];
const DIMINISHED: Step =
    ("diminished triad", Interval { steps: 6, semitones: 9 }, "diminished seventh");
const NINTHS: [Step; 2] =
    [("major triad", NINTH, "added ninth"), ("minor triad", NINTH, "minor added ninth")];

/// A triad to be made richer.
struct Triad {
    onset: Time,
    end: Time,
    bar: u32,
    chord: Chord,
    /// Its key, where it stands alone; chords that move in parallel have none.
    key: Option<Key>,
    /// Whether a fourth is at home in it.
    dominant: bool,
}

pub(super) fn ideas(scene: &Scene<'_>) -> Vec<Idea> {
    let parallel = parallel(scene);
    let mut found = Vec::new();
    if parallel.is_empty() {
        let triads: Vec<Triad> = told(scene);
        let own = |triad: &Triad| {
            let key = triad.key?;
            let mut all = MAJOR_SEVENTHS.iter().chain(&MINOR_SEVENTHS).chain([&DIMINISHED]);
            all.find(|step| {
                triad.chord.quality.name == step.0
                    && key.signature.contains(above_root(&triad.chord, step.1))
            })
        };
        found.extend(added(scene, &triads, "sevenths of the key", &own));
        let own = |triad: &Triad| {
            let step = NINTHS.iter().find(|step| triad.chord.quality.name == step.0)?;
            let name = above_root(&triad.chord, step.1);
            triad.key.is_some_and(|key| key.signature.contains(name)).then_some(step)
        };
        found.extend(added(scene, &triads, "ninths", &own));
        found.extend(suspended(scene, &triads));
        return found;
    }
    for (what, steps) in [
        ("minor sevenths", &MINOR_SEVENTHS[..]),
        ("major sevenths", &MAJOR_SEVENTHS),
        ("ninths", &NINTHS),
    ] {
        let step = |triad: &Triad| steps.iter().find(|step| triad.chord.quality.name == step.0);
        found.extend(added(scene, &parallel, what, &step));
    }
    found.extend(suspended(scene, &parallel));
    found
}

fn above_root(chord: &Chord, interval: Interval) -> recte_theory::PitchName {
    recte_theory::PitchName::from_fifths(chord.root.fifths() + interval.fifths())
}

/// The triads that move in parallel in these bars, all of them or none.
fn parallel(scene: &Scene<'_>) -> Vec<Triad> {
    let inside = |onset: Time| scene.from <= onset && onset < scene.to;
    let passages = planing(scene.tune).into_iter();
    let chords = passages.flat_map(|passage| passage.chords).filter(|one| inside(one.onset));
    chords
        .filter(|one| one.chord.quality.family == Family::Triad)
        .map(|one| Triad {
            onset: one.onset,
            end: one.end,
            bar: one.bar,
            chord: one.chord,
            key: None,
            dominant: true,
        })
        .collect()
}

/// The complete triads among the harmonies of these bars.
fn told(scene: &Scene<'_>) -> Vec<Triad> {
    let whole = |one: &Told<'_>| {
        let chord = &one.heading.chord;
        // Where something foreign sounds too, it may be another chord that is meant.
        let clean = one.heading.foreign.is_empty() && !one.heading.typed;
        chord.quality.family == Family::Triad && chord.omitted.is_none() && clean
    };
    let all = scene.harmonies.between(scene.from, scene.to).into_iter().filter(whole);
    all.map(|one| Triad {
        onset: one.onset.max(scene.from),
        end: one.end.min(scene.to),
        bar: one.bar.max(scene.place.from),
        chord: one.heading.chord,
        key: Some(one.heading.key),
        dominant: one.heading.degree.trim_end_matches(char::is_numeric) == "V",
    })
    .collect()
}

/// The same step for every triad that it is for and that has room; every one of a parallel passage, or nothing.
fn added<'s>(
    scene: &Scene<'_>,
    triads: &[Triad],
    what: &str,
    step: &dyn Fn(&Triad) -> Option<&'s Step>,
) -> Option<Idea> {
    let mut changes: Vec<Alteration> = Vec::new();
    let mut preview = Vec::new();
    let mut chords = Vec::new();
    for triad in triads {
        let Some((_, interval, name)) = step(triad) else { continue };
        let mut own = with_note(scene, triad, *interval);
        // A chord that goes on under another bass has its note already.
        own.retain(|change| !changes.iter().any(|known| same_place(known, change)));
        if own.is_empty() {
            if triad.key.is_some() {
                continue;
            }
            // Every parallel chord, or the passage would be parallel no more.
            return None;
        }
        let becomes = quality_named(name).map(|quality| Chord { quality, ..triad.chord })?;
        preview.push(becoming(scene, triad, &becomes));
        chords.push(Becomes { onset: triad.onset, old: triad.chord, new: becomes });
        changes.extend(own);
    }
    let which =
        if triads.iter().all(|one| one.key.is_none()) { "parallel chords" } else { "chords" };
    let title = format!("Add {what} to the {which} of {}", scene.bars());
    (!changes.is_empty()).then_some(Idea { title, preview, how: How::Notes(changes), chords })
}

fn same_place(a: &Alteration, b: &Alteration) -> bool {
    let place = |change: &Alteration| match *change {
        Alteration::More { voice, event, .. } => (0, voice, event),
        Alteration::Other { voice, note, .. } => (1, voice, note),
        Alteration::Instead { voice, event, .. } => (2, voice, event),
    };
    place(a) == place(b)
}

fn becoming(scene: &Scene<'_>, triad: &Triad, becomes: &Chord) -> String {
    format!(
        "{}: {} ({}) becomes {} ({})",
        scene.bar(triad.bar),
        triad.chord.words(),
        triad.chord.symbol(),
        becomes.words(),
        becomes.symbol()
    )
}

/// The changes that give a triad one more note: in each chord written as one, else in place of a doubled root.
fn with_note(scene: &Scene<'_>, triad: &Triad, interval: Interval) -> Vec<Alteration> {
    let sounds: Vec<&Sounding> = scene.during(triad.onset, triad.end).collect();
    let mut events: BTreeSet<(u32, u32)> = BTreeSet::new();
    for sound in &sounds {
        let voice = &scene.tune.voices[sound.voice as usize];
        let all = scene.notes(sound).into_iter().map(|note| voice.notes[note as usize].event);
        events.extend(all.map(|event| (sound.voice, event)));
    }
    let names: BTreeSet<_> = triad.chord.names().into_iter().collect();
    let mut found = Vec::new();
    for (number, event) in events {
        let voice = &scene.tune.voices[number as usize];
        let notes = voice.notes_of(&voice.events[event as usize]);
        let heard: BTreeSet<_> = notes.iter().map(|note| note.pitch.name).collect();
        if heard != names {
            continue;
        }
        let written = || notes.iter().map(|note| note.written);
        let root = notes.iter().find(|note| note.pitch.name == triad.chord.root);
        let (Some(root), Some(low), Some(top)) =
            (root, written().map(|p| p.midi()).min(), written().map(|p| p.midi()).max())
        else {
            continue;
        };
        // Above the highest note it would be the melody; only where all chords move together it is none.
        let own = |sound: &&&Sounding| {
            let range = &voice.events[event as usize].notes;
            sound.voice == number && scene.notes(sound).iter().any(|note| range.contains(note))
        };
        let highest = sounds.iter().filter(own).max_by_key(|sound| sound.pitch.midi());
        let melody = triad.key.is_some()
            && highest.is_some_and(|sound| scene.between(sound).1 <= sound.pitch.midi());
        let free = |midi: i32| written().all(|other| (other.midi() - midi).abs() > 1);
        let places = (-2..=2).map(|octaves| above(root.written, interval, octaves));
        let most = if melody { top - 1 } else { (low + HAND).max(top) };
        let fits = |midi: i32| low < midi && midi <= most && free(midi);
        let best = places
            .filter(|pitch| fits(pitch.midi()))
            .min_by_key(|pitch| ((pitch.midi() - top).abs(), pitch.midi() < top));
        found.extend(best.map(|pitch| Alteration::More { voice: number, event, pitch }));
    }
    if found.is_empty() { in_place_of_root(scene, triad, &sounds, interval) } else { found }
}

/// A root above the bass, the lowest such, gives way: down a step to the seventh, up a step to the ninth.
fn in_place_of_root(
    scene: &Scene<'_>,
    triad: &Triad,
    sounds: &[&Sounding],
    interval: Interval,
) -> Vec<Alteration> {
    let roots: Vec<&&Sounding> =
        sounds.iter().filter(|sound| sound.pitch.name == triad.chord.root).collect();
    let inside = roots.iter().filter(|sound| sound.onset >= triad.onset && sound.end <= triad.end);
    // Bass and melody keep their notes.
    let new = |sound: &Sounding| above(sound.pitch, interval, -1);
    let inner = inside.filter(|sound| {
        let (low, high) = scene.between(sound);
        let moved = new(sound).midi();
        low < moved.min(sound.pitch.midi()) && moved.max(sound.pitch.midi()) < high
    });
    // It goes on by staying or by a step down, as sevenths and ninths do.
    let resolves = |sound: &Sounding| {
        let next =
            scene.sounds().iter().find(|one| one.voice == sound.voice && one.onset == sound.end);
        next.is_some_and(|next| (0..=2).contains(&(new(sound).midi() - next.pitch.midi())))
    };
    let good = inner.filter(|sound| triad.key.is_none() || resolves(sound));
    let Some(giving) = good.min_by_key(|sound| sound.pitch.midi()) else { return Vec::new() };
    if roots.len() < 2 {
        return Vec::new();
    }
    scene.other(giving, new(giving)).collect()
}

/// The fourth in place of the third, where no melody has it.
fn suspended(scene: &Scene<'_>, triads: &[Triad]) -> Option<Idea> {
    let quality = quality_named("suspended fourth")?;
    let mut changes = Vec::new();
    let mut preview = Vec::new();
    let mut chords = Vec::new();
    for triad in triads.iter().filter(|triad| triad.dominant && triad.end < scene.last()) {
        let third = triad.chord.quality.intervals[1];
        let name = above_root(&triad.chord, third);
        let thirds: Vec<&Sounding> =
            scene.during(triad.onset, triad.end).filter(|sound| sound.pitch.name == name).collect();
        let inside = |sound: &&Sounding| sound.onset >= triad.onset && sound.end <= triad.end;
        let fourth = 5 - third.semitones;
        let melody = |sound: &&Sounding| sound.pitch.midi() + fourth >= scene.between(sound).1;
        if thirds.is_empty()
            || !thirds.iter().all(inside)
            || thirds.iter().any(melody)
            || triad.chord.inversion == 1
            || triad
                .key
                .is_some_and(|key| !key.signature.contains(above_root(&triad.chord, FOURTH)))
        {
            continue;
        }
        for sound in thirds {
            let up = Interval { steps: 1, semitones: fourth };
            changes.extend(scene.other(sound, above(sound.pitch, up, 0)));
        }
        let new = Chord { quality, ..triad.chord };
        preview.push(becoming(scene, triad, &new));
        chords.push(Becomes { onset: triad.onset, old: triad.chord, new });
    }
    let alone = triads.iter().any(|triad| triad.key.is_some());
    let which = if alone { "dominants" } else { "parallel chords" };
    let title = format!("Put the fourth for the third in the {which} of {}", scene.bars());
    (!changes.is_empty()).then_some(Idea { title, preview, how: How::Notes(changes), chords })
}
