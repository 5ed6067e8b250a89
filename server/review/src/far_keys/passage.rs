//! Bars that are written, sign by sign, in a key of seven sharps or flats and more.

use super::{Moved, move_of, other_name};
use crate::context::Context;
use crate::finding::Fix;
use crate::players::is_harp;
use crate::spelling::Reading;
use recte_score::spelling::{Sound, Speller};
use recte_score::{NoteRef, Tune};
use recte_theory::{Key, PitchName};

/// So many bars make a passage.
const LONG: usize = 4;
/// So many names that only a far key has must be typed before anything is listened for.
const FEW: usize = 4;

/// Bars in a row in a far key.
pub(crate) struct Passage {
    /// The key, as it is read.
    pub(crate) key: Key,
    /// Its notes; those tied to them go with them.
    pub(crate) notes: Vec<NoteRef>,
    /// How far it should be moved along the line of fifths.
    pub(crate) by: i32,
}

/// The passages of a tune.
///
/// The speller says in which key each note is heard; a passage is long, every note of it is heard in a far key, and
/// the signature is nearer to that key's other name.
pub(crate) fn passages(context: &Context<'_>) -> Vec<Passage> {
    if !worth_a_look(context.tune) {
        return Vec::new();
    }
    let Some(speller) = context.reading().map(Reading::speller) else { return Vec::new() };
    let mut bars: Vec<Vec<usize>> = vec![Vec::new(); context.tune.bars.len()];
    for (at, sound) in speller.sounds().iter().enumerate() {
        if let Some(bar) = bars.get_mut(sound.bar as usize) {
            bar.push(at);
        }
    }
    let mut all = Vec::new();
    let mut run = Run::default();
    for bar in &bars {
        let by = bar.iter().map(|&at| far(context, speller, at));
        let by = by.reduce(|one, other| if one == other { one } else { None });
        match by {
            // A bar of rest is no end.
            None => continue,
            Some(by) => {
                if run.by != by {
                    all.extend(std::mem::take(&mut run).passage(context, speller));
                    run.by = by;
                }
                if by.is_some() {
                    run.bars += 1;
                    run.sounds.extend(bar);
                }
            }
        }
    }
    all.extend(run.passage(context, speller));
    all
}

/// Whether enough names are typed that only far keys have, and signatures do not.
fn worth_a_look(tune: &Tune) -> bool {
    let rare = |name: PitchName| !(-6..=10).contains(&name.fifths());
    let voices = tune.voices.iter().filter(|voice| !voice.clef.is_percussion());
    let notes = voices.flat_map(|voice| voice.notes.iter().map(move |note| (voice, note)));
    let typed = notes.filter(|(voice, note)| {
        let name = note.written.name;
        let key = tune.key(&voice.events[note.event as usize]);
        rare(name) && !key.signature.contains(name)
    });
    typed.take(FEW).count() == FEW
}

/// How far a sound should be moved: it is heard in a far key, and the signature is nearer to the other name.
fn far(context: &Context<'_>, speller: &Speller, at: usize) -> Option<i32> {
    let sound = &speller.sounds()[at];
    let key = read(speller, at);
    let fifths = key.tonic?.fifths() + key.mode.fifths();
    let by = move_of(fifths)?;
    let voice = &context.tune.voices[sound.at.voice as usize];
    let event = voice.event_of(sound.at.note);
    let own = match super::fifths(context.tune.key(event)) {
        Some(own) => own,
        None if context.tune.key(event).tonic.is_none() => 0,
        None => return None,
    };
    ((own - fifths - by).abs() < (own - fifths).abs()).then_some(by)
}

/// The key in which a sound is heard, as its player reads it.
fn read(speller: &Speller, at: usize) -> Key {
    let heard = speller.key(at);
    let sound: &Sound = &speller.sounds()[at];
    let tonic = heard.tonic.map(|tonic| sound.written(tonic));
    Key::new(tonic.unwrap_or(PitchName::from_fifths(0)), heard.mode)
}

#[derive(Default)]
struct Run {
    by: Option<i32>,
    bars: usize,
    sounds: Vec<usize>,
}

impl Run {
    fn passage(self, context: &Context<'_>, speller: &Speller) -> Option<Passage> {
        let by = self.by.filter(|_| self.bars >= LONG)?;
        let notes: Vec<NoteRef> = self.sounds.iter().map(|&at| speller.sounds()[at].at).collect();
        let key = read(speller, *self.sounds.first()?);
        let passage = Passage { key, notes, by };
        (!passage.has_harp(context) && passage.saves_signs(context)).then_some(passage)
    }
}

impl Passage {
    fn has_harp(&self, context: &Context<'_>) -> bool {
        let harp = |at: &NoteRef| is_harp(context, at.voice as usize);
        let mut voices: Vec<&NoteRef> = self.notes.iter().collect();
        voices.sort_unstable_by_key(|at| at.voice);
        voices.dedup_by_key(|at| at.voice);
        voices.into_iter().any(harp)
    }

    /// Whether fewer notes differ from the signature under their other names.
    fn saves_signs(&self, context: &Context<'_>) -> bool {
        let (mut now, mut then) = (0, 0);
        for at in &self.notes {
            let voice = &context.tune.voices[at.voice as usize];
            let note = &voice.notes[at.note as usize];
            let signature = &context.tune.key(&voice.events[note.event as usize]).signature;
            let other = PitchName::from_fifths(note.written.name.fifths() + self.by);
            now += usize::from(!signature.contains(note.written.name));
            then += usize::from(!signature.contains(other));
        }
        then < now
    }

    /// The key under its other name.
    pub(crate) fn other(&self) -> Key {
        other_name(&self.key, self.by)
    }

    /// The fix that respells all of it.
    pub(crate) fn fix(&self, context: &Context<'_>, title: String) -> Option<Fix> {
        let (tune, key) = (context.tune, self.other());
        let edits =
            Moved { context, tune, key, signature_moves: false, notes: &self.notes, by: self.by }
                .edits()?;
        Some(context.fix(title, edits))
    }
}
