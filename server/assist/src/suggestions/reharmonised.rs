//! Other chords under one melody note: those of the key that have it, the ones first to which the voices move least.
//!
//! Distance is the sum of the semitones that all voices move (D. Tymoczko, *A Geometry of Music*, 2011, chapter 2; from
//! memory).

use super::{Becomes, How, Idea, Scene, nearest};
use crate::harmony::{Told, on_degrees};
use recte_score::Sounding;
use recte_theory::chord::Chord;
use recte_theory::key::Mode;
use recte_theory::{Key, Pitch, PitchName, Time};

/// So many chords are offered.
const MOST: usize = 3;
/// What a bass that is not the root costs, in semitones.
const INVERTED: i32 = 2;
/// Between neighbouring upper voices there is at most an octave.
const OCTAVE: i32 = 12;

pub(super) fn ideas(scene: &Scene<'_>) -> Vec<Idea> {
    let at = scene.place.moment().unwrap_or(scene.from);
    scene.harmonies.at(at).map(|told| under(scene, &told, at)).unwrap_or_default()
}

fn under(scene: &Scene<'_>, told: &Told<'_>, at: Time) -> Vec<Idea> {
    let mut sounds: Vec<&Sounding> = scene.during(at, at + Time::new(1, 128)).collect();
    sounds.sort_by_key(|sound| sound.pitch.midi());
    let Some(first) = sounds.first() else { return Vec::new() };
    let (onset, end) = (first.onset, first.end);
    // Only where all voices come and go together.
    let together = sounds.iter().all(|sound| (sound.onset, sound.end) == (onset, end));
    if !together || !(3..=6).contains(&sounds.len()) {
        return Vec::new();
    }
    let Some((melody, others)) = sounds.split_last() else { return Vec::new() };
    let mut ways: Vec<(i32, Chord, Vec<Pitch>)> = chords(&told.heading.key)
        .into_iter()
        .filter(|chord| {
            (chord.root, chord.quality) != (told.heading.chord.root, told.heading.chord.quality)
        })
        .filter(|chord| chord.names().contains(&melody.pitch.name))
        .filter_map(|chord| voiced(chord, melody.pitch, others))
        .collect();
    ways.sort_by_key(|(cost, chord, _)| (*cost, chord.root.fifths(), chord.quality.order));
    let bar = scene.place.from;
    let place = format!("beat {} of {}", scene.tune.beat_at(bar, onset), scene.bar(bar));
    let idea = |(_, chord, pitches): (i32, Chord, Vec<Pitch>)| {
        let changes = others.iter().zip(pitches).filter(|(sound, pitch)| sound.pitch != *pitch);
        let changes = changes.flat_map(|(sound, pitch)| scene.other(sound, pitch));
        Idea {
            title: format!("Re-harmonise {place} as {}", chord.symbol()),
            preview: vec![format!(
                "{place}: {} becomes {}",
                told.heading.chord.symbol(),
                chord.words()
            )],
            how: How::Notes(changes.collect()),
            chords: vec![Becomes { onset, old: told.heading.chord, new: chord }],
        }
    };
    ways.into_iter().take(MOST).map(idea).collect()
}

/// The triads of a key and the seventh chords on its fifth and second degree; in minor with the raised leading note.
fn chords(key: &Key) -> Vec<Chord> {
    let Some(tonic) = key.tonic else { return Vec::new() };
    // Intervals above the tonic, on the line of fifths, and what stands there.
    let degrees: &[(i32, &str)] = match key.mode {
        Mode::Major => &[
            (0, "major triad"),
            (2, "minor triad"),
            (4, "minor triad"),
            (-1, "major triad"),
            (1, "major triad"),
            (3, "minor triad"),
            (1, "dominant seventh"),
            (2, "minor seventh"),
        ],
        _ => &[
            (0, "minor triad"),
            (2, "diminished triad"),
            (-3, "major triad"),
            (-1, "minor triad"),
            (1, "major triad"),
            (-4, "major triad"),
            (-2, "major triad"),
            (1, "dominant seventh"),
            (2, "half-diminished seventh"),
        ],
    };
    on_degrees(tonic.fifths(), degrees)
}

/// The voices under a melody note on a chord, each as near as can be to where it is; the lowest first.
fn voiced(chord: Chord, melody: Pitch, others: &[&Sounding]) -> Option<(i32, Chord, Vec<Pitch>)> {
    let names = chord.names();
    let mut ways: Vec<(i32, Vec<Pitch>)> = vec![(0, Vec::new())];
    for sound in others {
        let mut next = Vec::new();
        for (cost, pitches) in &ways {
            for name in &names {
                let Some(pitch) = nearest(*name, sound.pitch) else { continue };
                let crosses = pitches.last().is_some_and(|below| below.midi() >= pitch.midi());
                if crosses || pitch.midi() >= melody.midi() {
                    continue;
                }
                let mut all = pitches.clone();
                all.push(pitch);
                next.push((cost + (pitch.midi() - sound.pitch.midi()).abs(), all));
            }
        }
        ways = next;
    }
    let mut best: Option<(i32, Chord, Vec<Pitch>)> = None;
    for (cost, pitches) in ways {
        let upper = pitches[1..].iter().chain([&melody]).collect::<Vec<_>>();
        let close = upper.windows(2).all(|two| two[1].midi() - two[0].midi() <= OCTAVE);
        let has =
            |name: &PitchName| pitches.iter().chain([&melody]).any(|pitch| pitch.name == *name);
        // A perfect fifth may be missing, nothing else.
        let perfect = chord.quality.intervals.get(2).is_some_and(|fifth| fifth.semitones == 7);
        let complete =
            names.iter().enumerate().all(|(place, name)| place == 2 && perfect || has(name));
        let place = names.iter().position(|name| *name == pitches[0].name);
        let bass = place.filter(|place| *place != 2);
        let (true, true, Some(place)) = (close, complete, bass) else { continue };
        let cost = cost + if place == 0 { 0 } else { INVERTED };
        let chord = Chord { bass: pitches[0].name, inversion: place as u8, ..chord };
        if best.as_ref().is_none_or(|(known, _, _)| cost < *known) {
            best = Some((cost, chord, pitches));
        }
    }
    best
}
