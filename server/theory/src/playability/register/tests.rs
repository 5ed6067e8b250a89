//! Sections 8 and 9 of the specification: range by level, register, break, trill.

use super::*;
use crate::playability::testing::{pitch, pitches, row};

fn compass_of(id: &str, note: &str, level: Level, plain: bool) -> Verdict {
    compass(row(id), pitch(note), level, plain, &Figures::default()).unwrap().verdict
}

#[test]
fn range_by_level() {
    use Level::{Advanced, Professional, School};
    assert_eq!(compass_of("treble-voice", "E5", School, false), Verdict::Easy);
    assert_eq!(compass_of("treble-voice", "A5", School, false), Verdict::Hard);
    assert_eq!(compass_of("treble-voice", "Bb5", School, false), Verdict::Impossible);
    assert_eq!(compass_of("choir-bass", "D2", Advanced, false), Verdict::Hard);
    assert_eq!(compass_of("choir-bass", "B1", Professional, false), Verdict::Impossible);
    let low = compass(row("violin"), pitch("F3"), Professional, false, &Figures::default());
    assert_eq!(low.map(|compass| compass.outside), Some(-2));
    assert!(compass(row("snare-drum"), pitch("C5"), School, false, &Figures::default()).is_none());
}

#[test]
fn special_parts_may_be_missing() {
    // Sounding C1 is the written C2 of the bass with an extension.
    assert_eq!(compass_of("double-bass", "C1", Level::Professional, false), Verdict::Easy);
    assert_eq!(compass_of("double-bass", "C1", Level::Professional, true), Verdict::Impossible);
    assert_eq!(compass_of("double-bass", "E1", Level::Professional, true), Verdict::Easy);
}

/// Section 2: the pedals of an organ end at G4, some at F4.
#[test]
fn pedalboards_end() {
    let asked = |note| pedalboard(row("organ"), pitch(note));
    assert_eq!(asked("F4"), Some(Verdict::Easy));
    assert_eq!(asked("G4"), Some(Verdict::Awkward));
    assert_eq!(asked("A4"), Some(Verdict::Impossible));
    assert_eq!(asked("B1"), Some(Verdict::Impossible));
    assert_eq!(pedalboard(row("piano"), pitch("C2")), None);
}

#[test]
fn registers_against_dynamics() {
    let asked = |id: &str, note: &str, loudness, others| {
        let colour = colour(row(id), pitch(note), loudness, others).unwrap();
        (colour.verdict, colour.concern)
    };
    use Loudness::{F, Ff, Mf, P, Pp};
    assert_eq!(asked("oboe", "Bb3", Pp, Mf), (Verdict::Hard, Some(Concern::NotSoft)));
    assert_eq!(asked("oboe", "Bb3", Mf, Mf), (Verdict::Easy, None));
    assert_eq!(asked("flute", "C4", F, Mf), (Verdict::Awkward, Some(Concern::NotLoud)));
    assert_eq!(asked("flute", "C4", Mf, Ff), (Verdict::Awkward, Some(Concern::NotLoud)));
    assert_eq!(asked("flute", "C4", P, P), (Verdict::Easy, None));
    assert_eq!(asked("bassoon", "E5", Mf, Mf), (Verdict::Awkward, Some(Concern::Extreme)));
    assert!(colour(row("violin"), pitch("F3"), Mf, Mf).is_none());
}

#[test]
fn quick_alternation_across_a_break() {
    let figures = Figures::default();
    let clarinet = row("clarinet-in-c");
    let asked = |notes, rate| alternation(clarinet, &pitches(notes), rate, &figures);
    assert_eq!(asked("Bb4 B4 Bb4", 6.0), Verdict::Awkward);
    assert_eq!(asked("Bb4 B4 Bb4", 5.0), Verdict::Easy);
    assert_eq!(asked("A4 B4 C5", 10.0), Verdict::Easy);
    assert_eq!(asked("A4 Bb4 A4", 10.0), Verdict::Easy);
    assert_eq!(asked("B4 C5 B4", 10.0), Verdict::Easy);
    assert!(break_between(row("flute"), [pitch("Bb4"), pitch("B4")]).is_none());
}

#[test]
fn trills_that_are_listed() {
    let saxophone = row("alto-saxophone");
    // Sounding: written B flat 3 and B3.
    assert_eq!(trill(saxophone, [pitch("Db3"), pitch("D3")]), Verdict::Impossible);
    assert_eq!(trill(saxophone, [pitch("D3"), pitch("C#3")]), Verdict::Impossible);
    assert_eq!(trill(saxophone, [pitch("D3"), pitch("E3")]), Verdict::Easy);
}
