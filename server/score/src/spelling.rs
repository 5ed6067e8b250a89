//! The speller: a name for every sound, from what sounds around it.
//!
//! Two searches, both deterministic and in whole numbers. The first goes through the tune in cells of an eighth
//! note and finds the cheapest path through keys and the harmonies in them, exactly (`path.rs`); harmonies are
//! known by their names (`table.rs`), so the path says how a diminished seventh or an augmented sixth resolves.
//! The second names each sound (`names.rs`): what a name costs in that key and harmony, after and before its
//! neighbours in the line, beside what sounds with it, against the same sound nearby, and in signs for the
//! reader; it ends when no single name and no sound of a bar under one name can be changed for the better.
//! All costs stand in `costs.rs`.
//!
//! After: D. Temperley, *The Cognition of Basic Musical Structures* (2001), chapter 5 (names on the line of fifths
//! that lie close, and the resolution of chromatic notes); C. Raphael and J. Stoddard, "Functional Harmonic
//! Analysis Using Probabilistic Models", *Computer Music Journal* 28(3), 2004 (keys and chords as one path);
//! A. Viterbi, "Error bounds for convolutional codes", *IEEE Transactions on Information Theory* 13(2), 1967. The
//! yardstick is ps13s1: D. Meredith, "The ps13 Pitch Spelling Algorithm", *Journal of New Music Research* 35(2),
//! 2006. (Papers cited from memory.)

mod cells;
mod costs;
mod names;
mod path;
mod sounds;
mod table;

pub use sounds::Sound;
pub(crate) use sounds::{TICKS, sounds_of, ticks};

use crate::tune::Tune;
use cells::cells;
use names::Names;
use recte_theory::{Key, PitchName, key::Mode};

/// Whether the names that were typed are evidence for the keys and harmonies, or only what sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// What sounds, and the typed signatures.
    Sound,
    /// The typed names as well: a passage typed in one key is not read in another of the same sound.
    Names,
}

/// How far the notes of a line are looked for among all sounds.
const NEAR: usize = 24;

/// A tune as the speller hears it.
pub struct Speller {
    names: Names,
}

impl Speller {
    /// Listens to a tune.
    pub fn new(tune: &Tune, evidence: Evidence) -> Speller {
        let sounds = sounds_of(tune);
        let (cells, begins) = cells(&sounds, evidence == Evidence::Names);
        let path = path::path(&cells);
        let places = begins.iter().map(|&cell| path[cell]).collect();
        Speller { names: Names::new(sounds, places) }
    }

    /// Every sound, in the order in which they begin; names are given in this order.
    pub fn sounds(&self) -> &[Sound] {
        &self.names.sounds
    }

    /// The names that were typed, as they sound.
    pub fn typed(&self) -> Vec<PitchName> {
        self.sounds().iter().map(|sound| PitchName::from_fifths(sound.typed)).collect()
    }

    /// The best names, whatever was typed, as they sound.
    pub fn best(&self) -> Vec<PitchName> {
        self.names.best().into_iter().map(PitchName::from_fifths).collect()
    }

    /// What some sounds cost together under these names, of which there is one for every sound of the tune.
    /// `some` is sorted.
    pub fn cost(&self, some: &[usize], names: &[PitchName]) -> i32 {
        self.names.cost_together(some, |at| names[at].fifths())
    }

    /// The sounds right before and right after one in its line, as far as they are neighbours in the order of all.
    pub fn beside(&self, at: usize) -> impl Iterator<Item = usize> {
        let sounds = self.sounds();
        let own = &sounds[at];
        self.near(at)
            .filter(move |&other| sounds[other].follows(own) || own.follows(&sounds[other]))
    }

    /// The sounds that stand near one in the order of all.
    pub fn near(&self, at: usize) -> std::ops::Range<usize> {
        at.saturating_sub(NEAR)..(at + NEAR).min(self.sounds().len())
    }

    /// The local key at the beginning of a sound.
    pub fn key(&self, sound: usize) -> Key {
        let place = &self.names.places[sound];
        let mode = if place.mode == 0 { Mode::Major } else { Mode::Minor };
        Key::new(PitchName::from_fifths(place.tonic), mode)
    }
}

impl Sound {
    /// What sounds, in semitones (60 is middle C).
    pub fn midi(&self) -> i32 {
        self.midi
    }

    /// Whether the signature in force, as it sounds, has a name; false where no key is claimed.
    pub fn in_signature(&self, name: PitchName) -> bool {
        self.signature.is_some_and(|own| path::has(own.into(), name.fifths()))
    }

    /// Whether two sounds belong to one line: a layer of a voice.
    pub fn same_line(&self, other: &Sound) -> bool {
        self.line == other.line
    }

    /// Whether this sound comes right after the other in its line.
    pub fn follows(&self, other: &Sound) -> bool {
        self.same_line(other) && self.event == other.event + 1
    }

    /// Whether two sounds are heard together.
    pub fn overlaps(&self, other: &Sound) -> bool {
        self.onset < other.end && other.onset < self.end
    }

    /// The name a player reads when this is the name that sounds.
    pub fn written(&self, name: PitchName) -> PitchName {
        PitchName::from_fifths(name.fifths() + self.written)
    }
}
