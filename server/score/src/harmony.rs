//! Harmonies over time: what chord is heard, from when to when, in which local key.
//!
//! Two searches, both exact, deterministic and in whole numbers. The first goes through the tune in cells and finds
//! the cheapest path through chords (`chords.rs`): a chord is charged for what sounds and is no member, for members
//! that do not sound, and a change is cheaper the more the place is leaned on, so that passing and neighbour notes
//! make no chords of their own. The second finds the cheapest path through keys (`keys.rs`): a key is charged for
//! chords that are not its own, and credited with dominants that go home. All costs stand in `costs.rs`. Then sixths,
//! ninths, suspensions and open fifths are told (`colours.rs`), and a cadence in another key takes its chords along (`local.rs`).
//!
//! After: B. Pardo and W. P. Birmingham, "Algorithms for Chordal Analysis", *Computer Music Journal* 26(2), 2002
//! (templates over segments); D. Temperley, *The Cognition of Basic Musical Structures* (2001), chapters 6 and 7
//! (harmony prefers strong beats; keys); C. Raphael and J. Stoddard, "Functional Harmonic Analysis Using
//! Probabilistic Models", *Computer Music Journal* 28(3), 2004 (keys and chords as a path); A. Viterbi, *IEEE
//! Transactions on Information Theory* 13(2), 1967. (Papers cited from memory.)

mod cadences;
mod cells;
mod chords;
mod colours;
mod costs;
mod degree;
mod foreign;
mod keys;
mod local;
mod pedals;
mod phrases;
mod planing;
mod typed;

pub use cadences::{Cadence, CadenceKind, cadences};
pub use foreign::{Foreign, ForeignKind};
pub use pedals::{PedalPoint, Place, pedal_points};
pub use phrases::{PhraseEnd, PhraseSign, phrase_ends};
pub use planing::{Planed, Planing, planing};

use crate::spelling::{Sound, TICKS, sounds_of};
use crate::tune::Tune;
use cells::{Cell, Level, cells};
use chords::Heard;
use keys::{Around, Local, Stretch};
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
    /// What else might be heard, the likeliest first; of a typed symbol, its alternatives.
    pub readings: Vec<Chord>,
    /// Whether it is what a chord symbol over a lone melody says, and not heard.
    pub typed: bool,
}

/// How many other readings are told.
const READINGS: usize = 3;
/// A new bass inverts a chord when it is no further above the old one than this; higher notes over a bass that is
/// silent for a while (common practice, no source) do not.
const OF_THE_BASS: i32 = 7;
/// So many notes at once make a full sound.
const FULL: usize = 3;

/// The harmonies of a tune, from its beginning to its end. Those of a lone melody are what its chord symbols say, if it has
/// any.
pub fn harmonies(tune: &Tune) -> Vec<Harmony> {
    let sounds = sounds_of(tune);
    let found = typed::harmonies(tune, &sounds).unwrap_or_else(|| from_sounds(tune, &sounds));
    local::agreed(tune, found)
}

/// A harmony, and the chord it was made of.
type Made = (Harmony, Option<Heard>);

fn from_sounds(tune: &Tune, sounds: &[Sound]) -> Vec<Made> {
    let cells = cells(tune, sounds);
    let heard = chords::path(&cells);
    let mut stretches = stretches(&heard);
    let mut around = around(sounds, &cells, &stretches);
    keys::believe(&stretches, &mut around);
    let mut keys = keys::path(&cells, &stretches, &around);
    colours::coloured(&cells, &mut stretches, &mut keys);
    Placed { tune, sounds, cells: &cells }.harmonies(&stretches, &keys)
}

/// What is known of the place of each stretch.
fn around(sounds: &[Sound], cells: &[Cell], stretches: &[Stretch]) -> Vec<Around> {
    let mut sound = 0;
    let one = |stretch: &Stretch| {
        let onset = cells[stretch.first].onset;
        while sounds.get(sound + 1).is_some_and(|next| next.onset <= onset) {
            sound += 1;
        }
        let own = sounds.get(sound);
        let signature = own.and_then(|own| own.signature).map(i32::from);
        let minor = own.and_then(|own| own.minor);
        let typed = signature.zip(minor).map(|(signs, minor)| Local::of_signature(signs, minor));
        Around { signature, typed }
    };
    stretches.iter().map(one).collect()
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
    fn harmonies(&self, stretches: &[Stretch], keys: &[Local]) -> Vec<Made> {
        let mut found: Vec<Made> = Vec::new();
        let mut until = Time::ZERO;
        for (at, (stretch, key)) in stretches.iter().zip(keys).enumerate() {
            let next = stretches.get(at + 1).map(|next| next.chord);
            for (part, bass) in self.one_bass(self.by_bass(stretch)) {
                let (onset, end) =
                    (time(self.cells[part.first].onset), time(self.cells[part.end - 1].end));
                if until < onset {
                    found.push((harmony(self.tune, until, onset, None), None));
                }
                let heading = self.heading(&part, bass, *key, next);
                found.push((harmony(self.tune, onset, end, Some(heading)), Some(part.chord)));
                until = end;
            }
        }
        let last = self.tune.bars.last().map_or(Time::ZERO, |bar| bar.start + bar.length);
        if until < last {
            found.push((harmony(self.tune, until, last, None), None));
        }
        found
    }

    /// Where a chord is broken and hardly anything sounds beside it, the note that happens to be lowest inverts nothing.
    fn one_bass(&self, parts: Vec<(Stretch, i32)>) -> Vec<(Stretch, i32)> {
        let mut found: Vec<(Stretch, i32)> = Vec::with_capacity(parts.len());
        for (part, bass) in parts {
            match found.last_mut() {
                Some((last, _)) if self.most_at_once(&part) < FULL => last.end = part.end,
                _ => found.push((part, bass)),
            }
        }
        found
    }

    /// How many notes sound at once, where most do.
    fn most_at_once(&self, part: &Stretch) -> usize {
        let (from, to) = self.span(part);
        let until = self.sounds.partition_point(|sound| sound.onset < to);
        let held = |sound: &&Sound| !sound.grace && sound.end > from;
        let near = self.sounds[..until].iter().rev();
        let near = near.take_while(|sound| sound.onset + foreign::LONGEST_HELD >= from);
        let here: Vec<&Sound> = near.filter(held).collect();
        let at =
            |moment: i64| here.iter().filter(|one| one.onset <= moment && moment < one.end).count();
        let moments = here.iter().map(|sound| sound.onset.max(from));
        moments.map(at).max().unwrap_or(0)
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

    /// From when to when, in ticks.
    fn span(&self, part: &Stretch) -> (i64, i64) {
        (self.cells[part.first].onset, self.cells[part.end - 1].end)
    }

    fn heading(&self, part: &Stretch, bass: i32, key: Local, next: Option<Heard>) -> Heading {
        let cells = &self.cells[part.first..part.end];
        let chord = chord(cells, part.chord, bass);
        let sounding = |name: &i32| cells.iter().any(|cell| cell.heard[cells::slot(*name)] > 0);
        let members = part.chord.kind().members.iter().map(|member| part.chord.root + member);
        Heading {
            degree: degree::degree(part.chord, &chord, key, next),
            names: members.filter(sounding).map(PitchName::from_fifths).collect(),
            foreign: foreign::foreign(self.sounds, |name| part.chord.has(name), self.span(part)),
            typed: false,
            readings: readings(cells, part.chord, bass),
            key: Key::new(PitchName::from_fifths(key.tonic), key.mode()),
            chord,
        }
    }
}

fn harmony(tune: &Tune, onset: Time, end: Time, chord: Option<Heading>) -> Harmony {
    let after = tune.bars.partition_point(|bar| bar.start <= onset);
    Harmony { onset, end, bar: after.saturating_sub(1) as u32, chord }
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
