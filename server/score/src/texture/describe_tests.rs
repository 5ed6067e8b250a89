//! Worked examples of windows: composed.

use super::*;
use crate::texture::table::{Bar, QUARTER};

/// Part, pitch, onset and length in eighths.
fn table(length: i64, parts: usize, sounds: &[(u32, i32, i64, i64)]) -> Table {
    let eighth = QUARTER / 2;
    let sound = |&(part, midi, onset, lasts): &(u32, i32, i64, i64)| Sound {
        part,
        note: 0,
        midi,
        onset: onset * eighth,
        end: (onset + lasts) * eighth,
        bar: 0,
        weight: None,
        off_beat: false,
        level: None,
    };
    let mut sounds: Vec<Sound> = sounds.iter().map(sound).collect();
    sounds.sort_by_key(|sound| (sound.onset, sound.midi));
    let bar = Bar { start: 0, end: length * eighth, ..Bar::default() };
    Table { sounds, bars: vec![bar], pitched: vec![true; parts] }
}

fn described(length: i64, parts: usize, sounds: &[(u32, i32, i64, i64)]) -> Descriptor {
    by_bar(&table(length, parts, sounds)).remove(0)
}

fn near(value: f64, wanted: f64) {
    assert!((value - wanted).abs() < 0.006, "{value} is not {wanted}");
}

#[test]
fn register_and_span() {
    let one = described(6, 1, &[(0, 60, 0, 4), (0, 79, 4, 2)]);
    near(one.centroid.unwrap(), 66.33);
    assert_eq!(one.span(), Some(19.0));
}

#[test]
fn density_and_rhythm() {
    let rhythm = [(0, 0, 1), (1, 1, 1), (2, 2, 1), (3, 3, 1), (4, 4, 4)];
    let melody: Vec<_> =
        rhythm.iter().map(|(step, at, lasts)| (0, 60 + step, *at, *lasts)).collect();
    let one = described(8, 1, &melody);
    near(one.onsets, 1.25);
    near(per_second(one.onsets, 96.0), 2.0);
    near(one.rhythm, 0.722);
    let chords: Vec<_> = [0, 4, 7]
        .iter()
        .flat_map(|up| melody.iter().map(move |n| (0, n.1 + up, n.2, n.3)))
        .collect();
    near(described(8, 1, &chords).notes, 3.75);
    let long_short = [(0, 60, 0, 2), (0, 62, 2, 1), (0, 64, 3, 2), (0, 65, 5, 1)];
    near(described(6, 1, &long_short).npvi.unwrap(), 66.67);
}

#[test]
fn active_parts() {
    near(described(8, 3, &[(0, 60, 0, 8), (1, 64, 0, 8), (2, 67, 4, 4)]).parts, 2.5);
    // Two notes of one part at once are one part.
    near(described(8, 1, &[(0, 60, 0, 8), (0, 64, 0, 4)]).parts, 1.0);
}

#[test]
fn pitch_classes_and_consonance() {
    let one = described(4, 1, &[(0, 60, 0, 4), (0, 64, 0, 2), (0, 67, 2, 2)]);
    assert_eq!((one.classes[0], one.classes[4], one.classes[7]), (0.5, 0.25, 0.25));
    // A third for half of the time, a fifth for the other half.
    near(one.consonance.unwrap(), (0.386 + 1.240) / 2.0);
    assert_eq!(one.dissonance, Some(0.0));
    assert_eq!(described(4, 1, &[(0, 60, 0, 4)]).consonance, None);
}

#[test]
fn silence() {
    let none = described(8, 2, &[]);
    assert_eq!((none.centroid, none.key, none.parts, none.onsets), (None, None, 0.0, 0.0));
    assert_eq!(none.carriers, [0.0, 0.0]);
}
