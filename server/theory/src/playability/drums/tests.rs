//! Section 5 of the specification, statement by statement.

use super::*;
use crate::playability::testing::{pitches, row};

fn asked_of(inches: &[u32], text: &str, per_second: f64, tuning: Tuning) -> Drumming {
    let chords: Vec<Vec<Pitch>> = text.split(',').map(pitches).collect();
    let stroke = |(place, notes): (usize, &'static [Pitch])| {
        let seconds = place as f64 / per_second;
        Stroke { seconds, until: seconds, notes }
    };
    let chords = chords.into_iter().map(|notes| &*notes.leak());
    let strokes: Vec<Stroke> = chords.enumerate().map(stroke).collect();
    drums(row("timpani"), &of_sizes(row("timpani"), inches), &strokes, tuning).unwrap()
}

fn asked(text: &str, per_second: f64) -> Drumming {
    asked_of(&[32, 29, 26, 23], text, per_second, Tuning::Pedal)
}

#[test]
fn the_usual_drums_and_a_pair() {
    let sizes = |level| {
        let drums = usual(row("timpani"), level).iter().map(|drum| drum.inches);
        drums.collect::<Vec<_>>()
    };
    assert_eq!(sizes(Level::Professional), [32, 29, 26, 23]);
    assert_eq!(sizes(Level::School), [29, 26]);
    // A pair covers F2 to F3, a small drum reaches C4.
    let pair = |note| asked_of(&[29, 26], note, 1.0, Tuning::Pedal).verdict;
    assert_eq!(
        [pair("F2"), pair("F3"), pair("E2"), pair("F#3")].map(|v| v == Verdict::Easy),
        [true, true, false, false]
    );
    assert_eq!(asked_of(&[20], "C4", 1.0, Tuning::Pedal).verdict, Verdict::Easy);
}

#[test]
fn every_drum_has_a_fifth() {
    for (inches, low, high) in
        [(32, "D2", "A2"), (29, "F2", "C3"), (26, "Bb2", "F3"), (23, "D3", "A3"), (20, "F3", "C4")]
    {
        let drum = of_sizes(row("timpani"), &[inches])[0];
        assert_eq!((drum.min.to_string().as_str(), drum.max.to_string().as_str()), (low, high));
    }
}

#[test]
fn one_pitch_a_drum_at_one_moment() {
    assert_eq!(asked("D2 E2", 1.0).obstacle, Some(DrumObstacle::OneDrum { stroke: 0 }));
    assert_eq!(asked("F2 C3", 1.0).verdict, Verdict::Easy);
    let none = DrumObstacle::NoDrum { stroke: 0, note: 1 };
    assert_eq!(asked("A3 D4", 1.0).obstacle, Some(none));
    let slack = DrumObstacle::Slack { stroke: 0, note: 0 };
    assert_eq!(
        (asked("C#2", 1.0).verdict, asked("C#2", 1.0).obstacle),
        (Verdict::Hard, Some(slack))
    );
}

#[test]
fn two_seconds_are_easy_one_is_hard_less_is_impossible() {
    let one = |rate| asked_of(&[29], "G2,A2", rate, Tuning::Pedal);
    assert_eq!(one(0.5).verdict, Verdict::Easy);
    assert_eq!((one(0.8).verdict, one(0.8).shortest), (Verdict::Hard, Some(1.25)));
    let short = DrumObstacle::Retuning { stroke: 1, seconds: 0.5 };
    assert_eq!((one(2.0).verdict, one(2.0).obstacle), (Verdict::Impossible, Some(short)));
    // Screws need ten times as long.
    let screws = |rate| asked_of(&[29], "G2,A2", rate, Tuning::Screws).verdict;
    assert_eq!((screws(0.05), screws(0.5)), (Verdict::Easy, Verdict::Impossible));
}

#[test]
fn the_assignment_whose_shortest_time_is_longest() {
    let found = asked("G2,A2,Bb2,C3,D3", 2.0);
    assert_eq!((found.verdict, found.shortest), (Verdict::Hard, Some(1.5)));
    assert_eq!(found.drums, [[1], [0], [2], [1], [3]]);
    let found = asked("F2,C3,F3,Bb2", 2.0);
    assert_eq!((found.verdict, found.shortest), (Verdict::Easy, None));
    assert_eq!(
        asked_of(&[29, 26], "A2,Bb2,F2,C3", 4.0, Tuning::Pedal).verdict,
        Verdict::Impossible
    );
}

#[test]
fn a_roll_holds_its_drum() {
    let timpani = row("timpani");
    let (g, a) = (pitches("G2"), pitches("A2"));
    let strokes = [
        Stroke { seconds: 0.0, until: 3.5, notes: &g },
        Stroke { seconds: 4.0, until: 4.0, notes: &a },
    ];
    let found = drums(timpani, &of_sizes(timpani, &[29]), &strokes, Tuning::Pedal).unwrap();
    assert_eq!(found.shortest, Some(0.5));
    assert!(drums(row("snare-drum"), &[], &strokes, Tuning::Pedal).is_none());
}

/// Every note on a drum that holds it, no drum twice at once; and the shortest time is no shorter than any other way
/// has, tried one by one.
#[test]
fn no_other_assignment_leaves_more_time() {
    for text in ["G2,A2,Bb2,C3,D3,G2", "F2,Bb2,A2,C3,B2", "D3,E3,F3,D3", "G2 D3,A2 E3,G2 C3"] {
        let found = asked(text, 0.8);
        let chords: Vec<Vec<Pitch>> = text.split(',').map(pitches).collect();
        let sizes = of_sizes(row("timpani"), &[32, 29, 26, 23]);
        assert_eq!(time_of(&chords, &found.drums, &sizes), found.shortest, "{text}");
        let longest = longest(&chords, &mut Vec::new(), &sizes);
        let found = found.shortest.unwrap_or(f64::INFINITY);
        // Two seconds and more are all the same.
        assert!(found >= longest.min(2.0) - 1e-9, "{text}: {found} {longest}");
    }
}

fn time_of(chords: &[Vec<Pitch>], chosen: &[Vec<usize>], sizes: &[Drum]) -> Option<f64> {
    let mut last = [None; 4];
    let mut shortest: Option<f64> = None;
    for (place, (notes, drums)) in chords.iter().zip(chosen).enumerate() {
        let seconds = place as f64 / 0.8;
        for (note, drum) in notes.iter().zip(drums) {
            assert!(holds(&sizes[*drum], *note).is_some());
            let before: Option<(Pitch, f64)> = last[*drum];
            if let Some((_, heard)) = before.filter(|(before, _)| before != note) {
                let time = seconds - heard;
                shortest = Some(shortest.map_or(time, |other| other.min(time)));
            }
            last[*drum] = Some((*note, seconds));
        }
    }
    shortest
}

fn longest(chords: &[Vec<Pitch>], chosen: &mut Vec<Vec<usize>>, sizes: &[Drum]) -> f64 {
    let Some(notes) = chords.get(chosen.len()) else {
        return time_of(chords, chosen, sizes).unwrap_or(f64::INFINITY);
    };
    let mut best: f64 = 0.0;
    let ways: Vec<Vec<usize>> = match notes.len() {
        1 => (0..4).map(|drum| vec![drum]).collect(),
        _ => (0..16).map(|both| vec![both / 4, both % 4]).filter(|d| d[0] != d[1]).collect(),
    };
    for way in ways {
        if way.iter().zip(notes).all(|(drum, note)| holds(&sizes[*drum], *note).is_some()) {
            chosen.push(way);
            best = best.max(longest(chords, chosen, sizes));
            chosen.pop();
        }
    }
    best
}
