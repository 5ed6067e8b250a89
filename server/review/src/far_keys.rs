//! Keys that are read more easily by their other name, and music under that name.

mod passage;
mod signature;

pub(crate) use passage::{Passage, passages};
pub(crate) use signature::{Stretch, stretches, words};

use crate::context::Context;
use recte_notation::write::{Respelling, TextEdit, retype, tied_together};
use recte_score::spelling::{Evidence, Speller};
use recte_score::{NoteRef, Tune};
use recte_theory::key::Signature;
use recte_theory::{Key, Pitch, PitchName};
use std::collections::HashMap;

/// A key of the same sound under its other name.
pub(crate) fn other_name(key: &Key, fifths: i32) -> Key {
    let tonic = key.tonic.unwrap_or(PitchName::from_fifths(0));
    Key::new(PitchName::from_fifths(tonic.fifths() + fifths), key.mode)
}

/// The sharps of a key, or its flats below zero; none for a key that claims no tonic or has signs of its own.
pub(crate) fn fifths(key: &Key) -> Option<i32> {
    let fifths = key.tonic?.fifths() + key.mode.fifths();
    (Signature::from_fifths(fifths) == key.signature).then_some(fifths)
}

/// How far a key that nobody reads gladly is moved along the line of fifths: twelve one way or the other, for
/// seven sharps or flats and more.
pub(crate) fn move_of(fifths: i32) -> Option<i32> {
    match fifths {
        ..=-7 => Some(12),
        7.. => Some(-12),
        _ => None,
    }
}

/// What another name must save, in the speller's costs, to be taken; instead of a double sharp or flat, anything.
const WORTH_IT: i32 = 64;

/// Notes that are to be read twelve fifths away, so that they keep their place in the key.
///
/// A note outside the key stays under the name it has where the speller says that this is read more easily: A in
/// C sharp major need not become B double flat in D flat.
struct Moved<'a> {
    context: &'a Context<'a>,
    /// The tune under its new signature.
    tune: &'a Tune,
    /// The new key.
    key: Key,
    /// Whether it is a new signature that moves them.
    signature_moves: bool,
    notes: &'a [NoteRef],
    by: i32,
}

impl Moved<'_> {
    /// The edits; none where a note does not fit its new name.
    fn edits(&self) -> Option<Vec<TextEdit>> {
        let plain: Vec<PitchName> = self.notes.iter().map(|&at| self.name(at)).collect();
        let inside = plain.iter().all(|&name| self.key.signature.contains(name));
        let names = if inside { plain } else { self.simpler(&plain)? };
        self.written(&names)
    }

    fn old(&self, at: NoteRef) -> Pitch {
        self.tune.voices[at.voice as usize].notes[at.note as usize].written
    }

    fn name(&self, at: NoteRef) -> PitchName {
        let old = self.old(at).name;
        let name = PitchName::from_fifths(old.fifths() + self.by);
        if name.alter.abs() > 2 { old } else { name }
    }

    /// The names with those outside the key put back that read better as they were.
    fn simpler(&self, plain: &[PitchName]) -> Option<Vec<PitchName>> {
        let mut new = self.tune.clone();
        for (at, &name) in self.notes.iter().zip(plain) {
            let voice = &mut new.voices[at.voice as usize];
            for note in tied_together(voice, at.note) {
                let note = &mut voice.notes[note as usize];
                let by = name.fifths() - note.written.name.fifths();
                let sounding = PitchName::from_fifths(note.pitch.name.fifths() + by);
                note.written = Pitch::with_name(note.written.midi(), name)?;
                note.pitch = Pitch::with_name(note.pitch.midi(), sounding)?;
            }
        }
        let speller = Speller::new(&new, Evidence::Names);
        let places: HashMap<NoteRef, usize> = self.notes.iter().copied().zip(0..).collect();
        let mut heard = speller.typed();
        let mut names = plain.to_vec();
        for (at, sound) in speller.sounds().iter().enumerate() {
            let Some(&place) = places.get(&sound.at) else { continue };
            if self.key.signature.contains(names[place]) {
                continue;
            }
            let (kept, before) = (heard[at], speller.cost(&[at], &heard));
            heard[at] = PitchName::from_fifths(kept.fifths() - self.by);
            let worth = if names[place].alter.abs() > 1 { 1 } else { WORTH_IT };
            if before - speller.cost(&[at], &heard) >= worth {
                names[place] = self.old(sound.at).name;
            } else {
                heard[at] = kept;
            }
        }
        Some(names)
    }

    fn written(&self, names: &[PitchName]) -> Option<Vec<TextEdit>> {
        let respelling = |(at, &name): (&NoteRef, &PitchName)| Respelling {
            voice: at.voice,
            note: at.note,
            name,
        };
        let wanted: Vec<Respelling> = self.notes.iter().zip(names).map(respelling).collect();
        let reach = self.context.lowered().reach;
        let mut retyped = retype(self.tune, reach, &wanted)?;
        let page = self.context.page();
        // What reminded the reader under the old signature does so under the new one.
        for one in retyped.iter_mut().filter(|_| self.signature_moves) {
            one.signed |= page.reminds(one.voice as usize, one.note);
        }
        Some(page.edits(self.tune, reach, &retyped))
    }
}
