//! Harmonies over time: what chord is heard, from when to when, in which local key.
//!
//! Two searches, both exact, deterministic and in whole numbers. The first goes through the tune in cells and finds
//! the cheapest path through chords (`chords.rs`): a chord is charged for what sounds and is no member, for members
//! that do not sound, and a change is cheaper the more the place is leaned on, so that passing and neighbour notes
//! make no chords of their own. The second finds the cheapest path through keys (`keys.rs`): a key is charged for
//! chords that are not its own, and credited with dominants that go home. All costs stand in `costs.rs`.
//!
//! After: B. Pardo and W. P. Birmingham, "Algorithms for Chordal Analysis", *Computer Music Journal* 26(2), 2002
//! (templates over segments); D. Temperley, *The Cognition of Basic Musical Structures* (2001), chapters 6 and 7
//! (harmony prefers strong beats; keys); C. Raphael and J. Stoddard, "Functional Harmonic Analysis Using
//! Probabilistic Models", *Computer Music Journal* 28(3), 2004 (keys and chords as a path); A. Viterbi, *IEEE
//! Transactions on Information Theory* 13(2), 1967. (Papers cited from memory.)

mod cadences;
mod cells;
mod chords;
mod costs;
mod degree;
mod foreign;
mod keys;
mod pedals;
mod phrases;
mod planing;

pub use cadences::{Cadence, CadenceKind, cadences};
pub use foreign::{Foreign, ForeignKind};
pub use pedals::{PedalPoint, Place, pedal_points};
pub use phrases::{PhraseEnd, PhraseSign, phrase_ends};
pub use planing::{Planed, Planing, planing};

use crate::spelling::{Sound, TICKS, sounds_of};
use crate::tune::Tune;
use cells::{Cell, Level, cells};
use chords::Heard;
use keys::{Local, Stretch};
use recte_theory::chord::Chord;
use recte_theory::{Interval, Key, PitchName, Time};

/// A stretch of one harmony. The harmonies of a tune follow each other without a gap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Harmony {
    /// When it begins, in whole notes from the beginning.
    pub onset: Time,
    /// When it ends.
    pub end: Time,
    /// The bar it begins in, by index.
    pub bar: u32,
    /// What is heard; none in silence.
    pub chord: Option<Heading>,
}

/// A chord in its key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    /// The chord; of a member that does not sound it says so.
    pub chord: Chord,
    /// The local key.
    pub key: Key,
    /// The degree with its figures: "V65", "viio7/V", "bII6", "Ger65".
    pub degree: String,
    /// The names of its members that sound, the root first.
    pub names: Vec<PitchName>,
    /// What sounds and is no member.
    pub foreign: Vec<Foreign>,
    /// What else might be heard, the likeliest first.
    pub readings: Vec<Chord>,
}

/// How many other readings are told.
const READINGS: usize = 3;
/// A new bass inverts a chord when it is no further above the old one than this; higher notes over a bass that is
/// silent for a while (common practice, no source) do not.
const OF_THE_BASS: i32 = 7;

/// The harmonies of a tune, from its beginning to its end.
pub fn harmonies(tune: &Tune) -> Vec<Harmony> {
    let sounds = sounds_of(tune);
    let cells = cells(tune, &sounds);
    let heard = chords::path(&cells);
    let stretches = stretches(&heard);
    let mut signatures = Vec::with_capacity(stretches.len());
    let mut sound = 0;
    for stretch in &stretches {
        while sounds.get(sound + 1).is_some_and(|next| next.onset <= cells[stretch.first].onset) {
            sound += 1;
        }
        signatures.push(sounds.get(sound).and_then(|sound| sound.signature).map(i32::from));
    }
    let keys = keys::path(&cells, &stretches, &signatures);
    let placed = Placed { tune, sounds: &sounds, cells: &cells };
    placed.harmonies(&stretches, &keys)
}

/// One chord after the other; silence between them is left out.
fn stretches(heard: &[Option<Heard>]) -> Vec<Stretch> {
    let mut stretches: Vec<Stretch> = Vec::new();
    for (at, chord) in heard.iter().enumerate() {
        let Some(chord) = *chord else { continue };
        match stretches.last_mut() {
            Some(last) if last.chord == chord && last.end == at => last.end = at + 1,
            _ => stretches.push(Stretch { first: at, end: at + 1, chord }),
        }
    }
    stretches
}

/// What harmonies are made of.
struct Placed<'a> {
    tune: &'a Tune,
    sounds: &'a [Sound],
    cells: &'a [Cell],
}

impl Placed<'_> {
    fn harmonies(&self, stretches: &[Stretch], keys: &[Local]) -> Vec<Harmony> {
        let mut found: Vec<Harmony> = Vec::new();
        let mut until = Time::ZERO;
        for (at, (stretch, key)) in stretches.iter().zip(keys).enumerate() {
            let next = stretches.get(at + 1).map(|next| next.chord);
            for (part, bass) in self.by_bass(stretch) {
                let (onset, end) =
                    (time(self.cells[part.first].onset), time(self.cells[part.end - 1].end));
                if until < onset {
                    found.push(self.harmony(until, onset, None));
                }
                let heading = self.heading(&part, bass, *key, next);
                found.push(self.harmony(onset, end, Some(heading)));
                until = end;
            }
        }
        let last = self.tune.bars.last().map_or(Time::ZERO, |bar| bar.start + bar.length);
        if until < last {
            found.push(self.harmony(until, last, None));
        }
        found
    }

    fn harmony(&self, onset: Time, end: Time, chord: Option<Heading>) -> Harmony {
        let after = self.tune.bars.partition_point(|bar| bar.start <= onset);
        Harmony { onset, end, bar: after.saturating_sub(1) as u32, chord }
    }

    /// A stretch by its basses, each a name on the line of fifths.
    fn by_bass(&self, stretch: &Stretch) -> Vec<(Stretch, i32)> {
        let mut parts: Vec<(Stretch, i32, i32)> = Vec::new();
        for at in stretch.first..stretch.end {
            let cell = &self.cells[at];
            let bass = cell.bass.map(|(name, midi)| (cells::fifths(name), midi));
            let member = bass.filter(|(name, _)| stretch.chord.has(*name));
            let whole = Stretch { first: at, end: at + 1, chord: stretch.chord };
            let Some((last, name, midi)) = parts.last_mut() else {
                let (name, midi) = member.or(bass).unwrap_or((stretch.chord.root, i32::MAX));
                parts.push((whole, name, midi));
                continue;
            };
            match member {
                // Until a member is in the bass, the first that comes is taken.
                Some((new, low)) if !stretch.chord.has(*name) => (*name, *midi) = (new, low),
                Some((new, low))
                    if new != *name && low <= *midi + OF_THE_BASS && cell.level > Level::Off =>
                {
                    parts.push((whole, new, low));
                    continue;
                }
                _ => {}
            }
            last.end = at + 1;
        }
        parts.into_iter().map(|(part, name, _)| (part, name)).collect()
    }

    fn heading(&self, part: &Stretch, bass: i32, key: Local, next: Option<Heard>) -> Heading {
        let cells = &self.cells[part.first..part.end];
        let chord = chord(cells, part.chord, bass);
        let sounding = |name: &i32| cells.iter().any(|cell| cell.heard[cells::slot(*name)] > 0);
        let members = part.chord.kind().members.iter().map(|member| part.chord.root + member);
        Heading {
            degree: degree::degree(part.chord, &chord, key, next),
            names: members.filter(sounding).map(PitchName::from_fifths).collect(),
            foreign: foreign::foreign(self.sounds, part.chord, cells),
            readings: readings(cells, part.chord, bass),
            key: Key::new(PitchName::from_fifths(key.tonic), key.mode()),
            chord,
        }
    }
}

/// The chord as the table has it.
fn chord(cells: &[Cell], heard: Heard, bass: i32) -> Chord {
    let kind = heard.kind();
    let silent =
        |member: &i32| cells.iter().all(|cell| cell.heard[cells::slot(heard.root + member)] == 0);
    let omitted: Option<Interval> = kind
        .members
        .iter()
        .zip(&kind.quality.intervals)
        .find(|(member, _)| silent(member))
        .map(|(_, interval)| *interval);
    let inversion = kind.members.iter().position(|member| heard.root + member == bass);
    Chord {
        bass: PitchName::from_fifths(bass),
        inversion: inversion.unwrap_or(0) as u8,
        omitted,
        ..Chord::new(PitchName::from_fifths(heard.root), kind.quality)
    }
}

/// The next best chords over some cells.
fn readings(cells: &[Cell], best: Heard, bass: i32) -> Vec<Chord> {
    let mut all: Vec<(i64, Heard)> = chords::candidates(cells)
        .into_iter()
        .filter(|chord| *chord != best)
        .map(|chord| (chords::cost_over(cells, chord), chord))
        .collect();
    all.sort_by_key(|(cost, chord)| (*cost, chord.root, chord.kind));
    all.into_iter().take(READINGS).map(|(_, heard)| chord(cells, heard, bass)).collect()
}

fn time(ticks: i64) -> Time {
    Time::new(ticks, TICKS)
}
