//! Planing: chords of one quality and inversion that move in parallel in all their voices.
//!
//! Also called parallel harmony. Three chords make a passage ("at least three successive chords with the same shape
//! moving in parallel": common practice, no source). What is held meanwhile, above or below, does not count.

use crate::figures::NoteRef;
use crate::sounding::{Sounding, pitched_soundings};
use crate::tune::Tune;
use recte_theory::chord::{Chord, Family, identify};
use recte_theory::{Pitch, Time};

/// One chord of such a passage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planed {
    /// When it is struck first, in whole notes from the beginning.
    pub onset: Time,
    /// When it ends.
    pub end: Time,
    /// The bar, by index.
    pub bar: u32,
    /// What it is.
    pub chord: Chord,
    /// Its notes, the lowest first; where it is struck again, those of the first time.
    pub notes: Vec<NoteRef>,
}

/// Chords that move in parallel: at least three, each at another pitch than the one before, all of one quality and
/// inversion.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planing {
    /// The chords, in time.
    pub chords: Vec<Planed>,
}

impl Planing {
    /// The first and the last bar, by index.
    pub fn bars(&self) -> (u32, u32) {
        let bar = |chord: Option<&Planed>| chord.map_or(0, |chord| chord.bar);
        (bar(self.chords.first()), bar(self.chords.last()))
    }

    /// The voices that move, by index.
    pub fn voices(&self) -> Vec<u32> {
        let all = self.chords.iter().flat_map(|chord| &chord.notes);
        let mut voices: Vec<u32> = all.map(|note| note.voice).collect();
        voices.sort_unstable();
        voices.dedup();
        voices
    }
}

/// So many chords make a passage.
const FEWEST: usize = 3;

/// What is struck at one moment, the lowest first.
struct Struck<'a> {
    rows: Vec<&'a Sounding>,
}

impl Struck<'_> {
    /// Its notes from the lowest up, in semitones from there.
    fn shape(&self) -> Vec<i32> {
        let low = self.low();
        self.rows.iter().map(|row| row.pitch.midi() - low).collect()
    }

    fn low(&self) -> i32 {
        self.rows.first().map_or(0, |row| row.pitch.midi())
    }

    /// The triad or larger pile of thirds it is.
    fn chord(&self) -> Option<Chord> {
        let pitches: Vec<Pitch> = self.rows.iter().map(|row| row.pitch).collect();
        let chord = identify(&pitches)?;
        let named = !matches!(chord.quality.family, Family::Dyad | Family::Cluster | Family::Other);
        let whole = chord.omitted.is_none() && chord.quality.intervals.len() >= 3;
        (named && whole).then_some(chord)
    }

    fn end(&self) -> Time {
        self.rows.iter().map(|row| row.end).max().unwrap_or(Time::ZERO)
    }
}

/// The passages of a tune in which chords move in parallel, in time.
pub fn planing(tune: &Tune) -> Vec<Planing> {
    let table = pitched_soundings(tune);
    let groups: Vec<&[Sounding]> = table.chunk_by(|a, b| a.onset == b.onset).collect();
    let struck: Vec<Struck<'_>> = groups
        .iter()
        .enumerate()
        .map(|(at, group)| {
            let next = groups.get(at + 1).map(|next| next[0].onset);
            // What is held while the others move on is no part of it.
            let moves = |row: &&Sounding| next.is_none_or(|next| row.end <= next);
            let mut rows: Vec<&Sounding> = group.iter().filter(moves).collect();
            // A note in two voices is one.
            rows.dedup_by_key(|row| row.pitch.midi());
            Struck { rows }
        })
        .collect();
    let mut found = Vec::new();
    let mut run: Vec<&Struck<'_>> = Vec::new();
    for (at, own) in struck.iter().enumerate() {
        let goes_on = run.last().is_some_and(|last| {
            last.rows.len() >= FEWEST
                && last.shape() == own.shape()
                && Some(last.end()) == own.rows.first().map(|row| row.onset)
        });
        if !goes_on {
            found.extend(passage(tune, &run));
            run.clear();
        }
        run.push(&struck[at]);
    }
    found.extend(passage(tune, &run));
    found
}

/// A run of one shape as a passage, if it moves often enough.
fn passage(tune: &Tune, run: &[&Struck<'_>]) -> Option<Planing> {
    if run.len() < FEWEST {
        return None;
    }
    let mut chords: Vec<Planed> = Vec::new();
    let mut low = None;
    for struck in run {
        let chord = struck.chord()?;
        if low.replace(struck.low()) == Some(struck.low()) {
            if let Some(last) = chords.last_mut() {
                last.end = struck.end();
            }
            continue;
        }
        let first = struck.rows.first()?;
        let notes = struck.rows.iter().map(|row| NoteRef { voice: row.voice, note: row.note });
        chords.push(Planed {
            onset: first.onset,
            end: struck.end(),
            bar: tune.voices[first.voice as usize].event_of(first.note).bar,
            chord,
            notes: notes.collect(),
        });
    }
    let kind = |chord: &Planed| (chord.chord.quality.order, chord.chord.inversion);
    let alike = chords.windows(2).all(|pair| kind(&pair[0]) == kind(&pair[1]));
    (chords.len() >= FEWEST && alike).then_some(Planing { chords })
}
