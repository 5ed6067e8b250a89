//! What several notes together are where the chord table has no row for them: one triad over another, a pile of
//! fourths or fifths, a cluster, and last its set class.
//!
//! Set classes and their numbers are Forte's (`data/set-classes.csv`, written from the tables of the Python
//! library music21 10.5.1; what the chord table says of its own rows agrees). Polychords, piles and clusters as Open
//! Music Theory describes them ("Extended and added-note chords", "Quartal harmony"; from memory).

use crate::chord::{Chord, Family, identify, qualities};
use crate::interval::Interval;
use crate::pitch::{Pitch, PitchName};
use std::collections::BTreeSet;
use std::sync::LazyLock;

/// A name for notes that sound together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Sonority {
    /// A chord of the table, complete or told what it lacks.
    Chord(Chord),
    /// A chord of the table over a bass that is none of its notes.
    Over(Chord),
    /// One triad above another.
    Polychord {
        /// The lower triad.
        lower: Chord,
        /// The upper one.
        upper: Chord,
    },
    /// Fourths (or fifths) piled on a note.
    Pile {
        /// The lowest note.
        bass: PitchName,
        /// How many notes.
        notes: usize,
        /// Whether fifths are piled, not fourths.
        fifths: bool,
    },
    /// Neighbouring notes struck together.
    Cluster {
        /// The lowest note.
        bass: PitchName,
        /// The highest.
        top: PitchName,
    },
    /// None of these.
    SetClass(&'static SetClass),
}

/// A class of pitch-class sets that are transpositions or inversions of each other.
#[derive(PartialEq, Eq, Debug)]
pub struct SetClass {
    /// Forte's number, "4-27".
    pub forte: String,
    /// Its prime form, in semitones from the lowest.
    pub prime_form: Vec<u8>,
    /// The smallest of the 24 sets, as twelve bits.
    least: u16,
}

static SET_CLASSES: LazyLock<Vec<SetClass>> = LazyLock::new(|| {
    let text = include_str!("../data/set-classes.csv");
    let rows = csv::Reader::from_reader(text.as_bytes()).into_deserialize::<(String, String)>();
    rows.flatten()
        .map(|(forte, form)| {
            let prime_form: Vec<u8> = form.split(' ').filter_map(|n| n.parse().ok()).collect();
            let least = least(&prime_form);
            SetClass { forte, prime_form, least }
        })
        .collect()
});

/// The set class of some pitch classes; none for one alone, and for eleven or twelve.
pub fn set_class(classes: &[u8]) -> Option<&'static SetClass> {
    let least = least(classes);
    SET_CLASSES.iter().find(|class| class.least == least)
}

/// The smallest set, as twelve bits, among all transpositions and inversions.
fn least(classes: &[u8]) -> u16 {
    let set = |turn: u8, back: bool| {
        let moved =
            |class: &u8| if back { (24 + turn - class % 12) % 12 } else { (class + turn) % 12 };
        classes.iter().map(moved).fold(0u16, |all, class| all | 1 << class)
    };
    (0..12).flat_map(|turn| [set(turn, false), set(turn, true)]).min().unwrap_or(0)
}

/// What these pitches are together; none where fewer than three different notes sound and the table has no name.
pub fn name(pitches: &[Pitch]) -> Option<Sonority> {
    let mut sorted = pitches.to_vec();
    sorted.sort_by_key(|pitch| (pitch.midi(), pitch.steps()));
    sorted.dedup();
    if let Some(chord) = identify(pitches) {
        // Fourths or fifths all the way up, and seconds, are heard as such, whatever large chord they may be.
        let family = chord.quality.family;
        let piled = pile(&sorted)
            .filter(|_| matches!(family, Family::Eleventh | Family::Thirteenth | Family::Sixth));
        let close = || cluster(&sorted).filter(|_| family != Family::Cluster && sorted.len() > 3);
        let piled = piled.or_else(close);
        return piled.or(Some(Sonority::Chord(chord)));
    }
    let names: BTreeSet<PitchName> = sorted.iter().map(|pitch| pitch.name).collect();
    if names.len() < 3 {
        return None;
    }
    pile(&sorted)
        .or_else(|| cluster(&sorted))
        .or_else(|| without_third(&sorted, &names).map(Sonority::Chord))
        .or_else(|| over(&sorted))
        .or_else(|| polychord(&sorted))
        .or_else(|| {
            let classes: Vec<u8> = names.iter().map(|name| name.pitch_class()).collect();
            set_class(&classes).map(Sonority::SetClass)
        })
}

/// Every step the same kind of fourth or fifth, perfect but for one at most.
fn pile(sorted: &[Pitch]) -> Option<Sonority> {
    let steps: Vec<Interval> =
        sorted.windows(2).map(|pair| Interval::between(pair[0], pair[1])).collect();
    let all = |wanted: i32| steps.iter().all(|step| step.steps == wanted);
    let fifths = all(4);
    let perfect = if fifths { 7 } else { 5 };
    let other = steps.iter().filter(|step| step.semitones != perfect).count();
    ((fifths || all(3)) && other < 2 && steps.len() > 1).then(|| Sonority::Pile {
        bass: sorted[0].name,
        notes: sorted.len(),
        fifths,
    })
}

/// No step wider than a whole tone.
fn cluster(sorted: &[Pitch]) -> Option<Sonority> {
    let near = sorted.windows(2).all(|pair| pair[1].midi() - pair[0].midi() <= 2);
    let (first, last) = (sorted.first()?, sorted.last()?);
    near.then_some(Sonority::Cluster { bass: first.name, top: last.name })
}

/// Root, perfect fifth and seventh: a chord whose third does not sound.
fn without_third(sorted: &[Pitch], names: &BTreeSet<PitchName>) -> Option<Chord> {
    let bass = sorted.first()?.name;
    let fits = |root: PitchName| {
        qualities().iter().find_map(|quality| {
            let large = quality.family == Family::Seventh;
            let [_, third, fifth, ..] = quality.intervals.as_slice() else { return None };
            let open = large && third.steps == 2 && (fifth.steps, fifth.semitones) == (4, 7);
            let mut members = quality.names_on(root);
            let place = members.iter().position(|name| *name == bass)?;
            members.remove(1);
            let same = open && place != 1 && members.into_iter().collect::<BTreeSet<_>>() == *names;
            same.then(|| Chord {
                bass,
                inversion: place as u8,
                omitted: Some(*third),
                ..Chord::new(root, quality)
            })
        })
    };
    names.iter().find_map(|root| fits(*root))
}

/// Without its lowest note a complete triad or seventh of the table.
fn over(sorted: &[Pitch]) -> Option<Sonority> {
    let bass = sorted.first()?.name;
    let above: Vec<Pitch> = sorted.iter().copied().filter(|pitch| pitch.name != bass).collect();
    let chord = identify(&above)?;
    let plain = matches!(chord.quality.family, Family::Triad | Family::Seventh);
    (plain && chord.omitted.is_none()).then_some(Sonority::Over(Chord {
        bass,
        inversion: 0,
        ..chord
    }))
}

/// A complete triad below, another above it.
fn polychord(sorted: &[Pitch]) -> Option<Sonority> {
    (3..=sorted.len().saturating_sub(3)).find_map(|cut| {
        let triad = |pitches: &[Pitch]| {
            identify(pitches)
                .filter(|chord| chord.quality.family == Family::Triad && chord.omitted.is_none())
        };
        let (lower, upper) = (triad(&sorted[..cut])?, triad(&sorted[cut..])?);
        (lower.root != upper.root).then_some(Sonority::Polychord { lower, upper })
    })
}

impl Sonority {
    /// "E♭/C", "C7(no3)", "D | C" for one triad above another; none where the trade has no symbol.
    pub fn symbol(&self) -> Option<String> {
        match self {
            Sonority::Chord(chord) if chord.omitted.is_some_and(|one| one.steps == 2) => {
                Some(format!("{}(no3)", chord.symbol()))
            }
            Sonority::Chord(chord) | Sonority::Over(chord) => Some(chord.symbol()),
            Sonority::Polychord { lower, upper } => {
                Some(format!("{} | {}", upper.symbol(), lower.symbol()))
            }
            _ => None,
        }
    }

    /// "D major over C major", "four notes in fourths on E", "cluster from C to F", "set class 4-15 (0 1 4 6)".
    pub fn words(&self) -> String {
        match self {
            Sonority::Chord(chord) | Sonority::Over(chord) => chord.words(),
            Sonority::Polychord { lower, upper } => {
                format!("{} over {}", upper.words(), lower.words())
            }
            Sonority::Pile { bass, notes, fifths } => {
                let kind = if *fifths { "fifths" } else { "fourths" };
                format!("{notes} notes in {kind} on {}", bass.words())
            }
            Sonority::Cluster { bass, top } => {
                format!("cluster from {} to {}", bass.words(), top.words())
            }
            Sonority::SetClass(class) => {
                let form: Vec<String> = class.prime_form.iter().map(u8::to_string).collect();
                format!("set class {} ({})", class.forte, form.join(" "))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(text: &str) -> String {
        let pitches: Vec<Pitch> = text.split(' ').map(|pitch| pitch.parse().unwrap()).collect();
        name(&pitches).map_or("nothing".to_owned(), |one| one.words())
    }

    #[test]
    fn what_the_table_has_keeps_its_name() {
        assert_eq!(named("C4 E4 G4"), "C major");
        assert_eq!(named("C4 E4 G4 D5"), "C added ninth");
        assert_eq!(named("C4 F4 Bb4"), "three-note quartal on C");
    }

    #[test]
    fn beyond_the_table() {
        for (notes, words) in [
            ("C3 B3 D#4 F#4", "B major over C"),
            ("C4 G4 Bb4", "C dominant seventh, without its third"),
            ("D3 B4 D#5 F#5", "B major over D"),
            ("C3 E3 G3 F#4 A#4 C#5", "major triads a tritone apart on C"),
            ("C3 E3 G3 Ab3 Cb4 Eb4", "A flat minor over C major"),
            ("E3 A3 D4 G4 C5 F5", "6 notes in fourths on E"),
            ("C3 G3 D4 A4 E5", "5 notes in fifths on C"),
            ("E4 F4 G4 A4", "cluster from E to A"),
            ("C4 E4 F#4 C#5", "set class 4-15 (0 1 4 6)"),
            ("C4 C5", "nothing"),
        ] {
            assert_eq!(named(notes), words, "{notes}");
        }
    }

    #[test]
    fn set_classes_know_their_inversions() {
        assert_eq!(SET_CLASSES.len(), 220);
        for quality in qualities() {
            let classes: Vec<u8> =
                quality.intervals.iter().map(|i| i.semitones.rem_euclid(12) as u8).collect();
            let class = set_class(&classes).unwrap();
            let turned: Vec<u8> = classes.iter().map(|class| (19 - class) % 12).collect();
            assert_eq!(set_class(&turned), Some(class), "{}", quality.name);
        }
        assert_eq!(set_class(&[0, 4, 7]).unwrap().forte, "3-11");
        assert_eq!(set_class(&[2]), None);
    }
}
