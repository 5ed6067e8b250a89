//! Motifs: short shapes of a line that come again, at another pitch, upside down, or slower and quicker.
//!
//! A shape is a row of moves: so many letter steps up or down, and how much longer or shorter the next note is. So it is
//! the same at any pitch and at any speed, and a step of a tone or a semitone is one step (the answer of a fugue, a
//! sequence). Turned upside down the steps change their sign. What comes again with an edit distance below a quarter of
//! its length is a recurrence; a wrong step or a wrong length alone costs half (own proposal, from memory; strings of
//! intervals and of ratios of durations are the usual coding).

use super::measures::edit_distance;
use crate::figures::NoteRef;
use crate::lines::{Line, Tone};
use recte_theory::Time;
use std::collections::{HashMap, HashSet};

/// Where a motif is heard, and how.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Recurrence {
    /// The voice, by index.
    pub voice: u32,
    /// The bar it begins in, by index.
    pub bar: u32,
    /// The bar it ends in.
    pub to_bar: u32,
    /// Its first note.
    pub at: NoteRef,
    /// How much higher its first note is than that of the first time, in semitones.
    pub transposed: i32,
    /// Whether it is upside down.
    pub inverted: bool,
    /// So many times as slow as the first time; less than one is quicker.
    pub speed: Time,
    /// Whether it is the same shape note by note.
    pub exact: bool,
}

/// A shape that comes again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Motif {
    /// So many notes.
    pub notes: usize,
    /// Where it is heard, in time; the first one is its model.
    pub recurrences: Vec<Recurrence>,
}

impl Motif {
    /// The share of the bars of a piece in which some recurrence is heard.
    pub fn coverage(motifs: &[Motif], bars: usize) -> f64 {
        let all = motifs.iter().flat_map(|motif| &motif.recurrences);
        let held: HashSet<u32> = all.flat_map(|one| one.bar..=one.to_bar).collect();
        if bars == 0 { 0.0 } else { held.len() as f64 / bars as f64 }
    }
}

/// Notes of a motif: the shortest, the longest.
const NOTES: (usize, usize) = (4, 8);
/// A shape must come so often to be one.
const FEWEST: usize = 3;
/// So many motifs are told, those first that hold most of the piece.
const MOST: usize = 8;
/// Edits for each move, at most.
const LIKE: f64 = 0.25;

/// From one note to the next: letter steps, and how much longer it is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
struct Move {
    steps: i32,
    ratio: Time,
}

/// Moves, by the stretch they are in and their place there.
type Places = Vec<(usize, usize)>;

/// A stretch of a line without a long silence.
struct Stretch<'a> {
    tones: &'a [Tone],
    voice: u32,
    moves: Vec<Move>,
}

/// The motifs of a tune's lines; of chords only the highest notes are a line.
pub fn motifs(lines: &[Line]) -> Vec<Motif> {
    let stretches: Vec<Stretch<'_>> =
        lines.iter().filter(|line| line.rank == 0).flat_map(stretches).collect();
    let mut counted: HashMap<Vec<Move>, Places> = HashMap::new();
    for (number, stretch) in stretches.iter().enumerate() {
        for length in NOTES.0 - 1..NOTES.1 {
            for (at, shape) in stretch.moves.windows(length).enumerate() {
                if is_characteristic(shape) {
                    counted.entry(upright(shape)).or_default().push((number, at));
                }
            }
        }
    }
    let mut shapes: Vec<(Vec<Move>, Places)> =
        counted.into_iter().filter(|(_, places)| places.len() >= FEWEST).collect();
    let worth = |shape: &(Vec<Move>, Places)| (shape.1.len() - 1) * shape.0.len();
    // What holds most comes first; of as much the longer, then the earlier.
    shapes.sort_by_key(|one| (std::cmp::Reverse((worth(one), one.0.len())), one.1[0]));
    let mut found: Vec<Motif> = Vec::new();
    let mut held: HashSet<(usize, usize)> = HashSet::new();
    for (shape, places) in shapes {
        if found.len() == MOST {
            break;
        }
        let new = places.iter().filter(|(stretch, at)| {
            (*at..at + shape.len()).all(|at| !held.contains(&(*stretch, at)))
        });
        if new.count() < FEWEST {
            continue;
        }
        let (motif, notes) = recurrences(&stretches, places[0], shape.len());
        held.extend(notes);
        found.push(motif);
    }
    found
}

fn stretches(line: &Line) -> impl Iterator<Item = Stretch<'_>> {
    // A silence longer than the note before it parts.
    let parts = line.tones.chunk_by(|a, b| b.onset <= a.end || b.onset - a.end <= a.end - a.onset);
    parts.map(|tones| Stretch {
        tones,
        voice: line.voice,
        moves: tones
            .windows(2)
            .map(|pair| Move {
                steps: pair[1].pitch.steps() - pair[0].pitch.steps(),
                ratio: (pair[1].end - pair[1].onset) / (pair[0].end - pair[0].onset),
            })
            .collect(),
    })
}

/// Whether a shape is more than a scale or a note struck again.
fn is_characteristic(shape: &[Move]) -> bool {
    let moves: HashSet<Move> = shape.iter().copied().collect();
    let pitches = shape.iter().filter(|one| one.steps != 0).count();
    moves.len() >= 3 && pitches * 2 > shape.len()
}

/// The same shape upside down.
fn turned(shape: &[Move]) -> Vec<Move> {
    shape.iter().map(|one| Move { steps: -one.steps, ..*one }).collect()
}

/// The one of a shape and its inversion that goes up first.
fn upright(shape: &[Move]) -> Vec<Move> {
    let first = shape.iter().map(|one| one.steps).find(|steps| *steps != 0);
    if first.is_some_and(|steps| steps < 0) { turned(shape) } else { shape.to_vec() }
}

/// A motif by its model, and the moves that it holds.
fn recurrences(stretches: &[Stretch<'_>], model: (usize, usize), length: usize) -> (Motif, Places) {
    let shape = &stretches[model.0].moves[model.1..model.1 + length];
    let inversion = turned(shape);
    let cost = |a: &Move, b: &Move| {
        f64::from(u8::from(a.steps != b.steps)) / 2.0
            + f64::from(u8::from(a.ratio != b.ratio)) / 2.0
    };
    let first = &stretches[model.0].tones[model.1];
    let (mut all, mut held) = (Vec::new(), Vec::new());
    for (number, stretch) in stretches.iter().enumerate() {
        let mut at = 0;
        while at + length <= stretch.moves.len() {
            let own = &stretch.moves[at..at + length];
            let distance = |shape: &[Move]| {
                // What shares no two moves in their places is no recurrence, and need not be measured.
                let same = shape.iter().zip(own).filter(|(a, b)| a.steps == b.steps).count();
                if same * 2 < length { f64::MAX } else { edit_distance(shape, own, cost) }
            };
            let (straight, inverted) = (distance(shape), distance(&inversion));
            let best = straight.min(inverted);
            if best >= LIKE * length as f64 {
                at += 1;
                continue;
            }
            let (begin, end) = (&stretch.tones[at], &stretch.tones[at + length]);
            all.push(Recurrence {
                voice: stretch.voice,
                bar: begin.bar,
                to_bar: end.bar,
                at: begin.at,
                transposed: begin.pitch.midi() - first.pitch.midi(),
                inverted: inverted < straight,
                speed: (begin.end - begin.onset) / (first.end - first.onset),
                exact: best == 0.0,
            });
            held.extend((at..at + length).map(|at| (number, at)));
            at += length;
        }
    }
    all.sort_by_key(|one| (one.bar, one.voice, one.at));
    (Motif { notes: length + 1, recurrences: all }, held)
}
