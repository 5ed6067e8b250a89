//! What sounds in a harmony and is no member of it, named by how it comes and goes.
//!
//! Open Music Theory, "Embellishing tones".

use crate::figures::NoteRef;
use crate::spelling::Sound;
use recte_theory::PitchName;

/// How a note comes and goes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ForeignKind {
    /// By step on, in one direction.
    Passing,
    /// By step there and back.
    Neighbour,
    /// Held or repeated from before, and down a step.
    Suspension,
    /// Held or repeated from before, and up a step.
    Retardation,
    /// By leap, and on by step.
    Appoggiatura,
    /// By step, and on by leap.
    Escape,
    /// The next note, come too early.
    Anticipation,
    /// Held while the harmony goes on above or below.
    Pedal,
    /// None of these.
    Free,
}

impl ForeignKind {
    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            ForeignKind::Passing => "passing note",
            ForeignKind::Neighbour => "neighbour note",
            ForeignKind::Suspension => "suspension",
            ForeignKind::Retardation => "retardation",
            ForeignKind::Appoggiatura => "appoggiatura",
            ForeignKind::Escape => "escape note",
            ForeignKind::Anticipation => "anticipation",
            ForeignKind::Pedal => "pedal note",
            ForeignKind::Free => "free note",
        }
    }
}

/// A note that its harmony does not have.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Foreign {
    /// Which.
    pub at: NoteRef,
    /// Its name, as it sounds.
    pub name: PitchName,
    /// What it sounds, in semitones (60 is middle C).
    pub midi: i32,
    /// How it comes and goes.
    pub kind: ForeignKind,
}

/// The notes between two moments, in ticks, that a chord does not have, in the order in which they begin.
pub(super) fn foreign(
    sounds: &[Sound],
    has: impl Fn(i32) -> bool,
    (onset, end): (i64, i64),
) -> Vec<Foreign> {
    let until = sounds.partition_point(|sound| sound.onset < end);
    let here = sounds[..until].iter().enumerate().rev();
    let mut found: Vec<Foreign> = here
        .take_while(|(_, sound)| sound.onset + LONGEST_HELD >= onset)
        .filter(|(_, sound)| !sound.grace && sound.end > onset && !has(sound.typed))
        .map(|(at, sound)| Foreign {
            at: sound.at,
            name: PitchName::from_fifths(sound.typed),
            midi: sound.midi,
            kind: kind(sounds, at, onset, end),
        })
        .collect();
    found.reverse();
    found
}

/// Notes longer than eight whole notes are not looked for among those that began before.
pub(super) const LONGEST_HELD: i64 = 8 * crate::spelling::TICKS;

fn kind(sounds: &[Sound], at: usize, onset: i64, end: i64) -> ForeignKind {
    let own = &sounds[at];
    let nearest = |others: &mut dyn Iterator<Item = &Sound>| {
        let line = others.filter(|other| !other.grace && other.same_line(own));
        line.map(|other| other.midi - own.midi).min_by_key(|step| step.abs())
    };
    let came =
        nearest(&mut sounds[..at].iter().rev().take(NEAR).filter(|other| other.end == own.onset));
    let goes =
        nearest(&mut sounds[at + 1..].iter().take(NEAR).filter(|other| other.onset == own.end));
    let step = |interval: i32| (1..=2).contains(&interval.abs());
    let held = own.onset < onset || came == Some(0);
    match (came, goes) {
        _ if own.onset < onset && own.end > end => ForeignKind::Pedal,
        (_, Some(goes)) if held && step(goes) && goes < 0 => ForeignKind::Suspension,
        (_, Some(goes)) if held && step(goes) => ForeignKind::Retardation,
        (_, Some(0)) if own.onset >= onset => ForeignKind::Anticipation,
        (Some(came), Some(goes)) if step(came) && step(goes) && (came > 0) == (goes > 0) => {
            ForeignKind::Neighbour
        }
        (Some(came), Some(goes)) if step(came) && step(goes) => ForeignKind::Passing,
        (_, Some(goes)) if step(goes) => ForeignKind::Appoggiatura,
        (Some(came), Some(_)) if step(came) => ForeignKind::Escape,
        _ => ForeignKind::Free,
    }
}

/// How far the notes of a line are looked for among all sounds.
const NEAR: usize = 48;
