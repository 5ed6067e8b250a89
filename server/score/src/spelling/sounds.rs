//! What the speller is given: a flat table of sounds, at concert pitch, with what was typed as evidence.

use crate::figures::NoteRef;
use crate::sounding::soundings;
use crate::tune::{Event, Note, Tune, Voice};
use recte_theory::key::Mode;
use recte_theory::{Pitch, Time};

/// Ticks of a whole note. Lengths that are no whole number of ticks are rounded down; they weigh evidence.
pub(crate) const TICKS: i64 = 40_320;

/// One sound: a note with those tied to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sound {
    /// The first of its notes.
    pub at: NoteRef,
    /// When it begins, in ticks.
    pub(crate) onset: i64,
    /// When it ends; a grace note ends as it begins.
    pub(crate) end: i64,
    /// What sounds.
    pub(crate) midi: i32,
    /// The line it belongs to: a layer of a voice.
    pub(crate) line: u32,
    /// Its event, by index in its voice.
    pub(crate) event: u32,
    /// Its bar.
    pub bar: u32,
    /// Whether it is a grace note.
    pub(crate) grace: bool,
    /// The signature in force, as it sounds: sharps, or flats below zero; none where the music claims no key.
    pub(crate) signature: Option<i8>,
    /// Whether the key that is claimed is minor; none where none is, or it is of another mode.
    pub(crate) minor: Option<bool>,
    /// The place of the typed name on the line of fifths, as it sounds.
    pub(crate) typed: i32,
    /// What is added to a sounding name, in fifths, to get the written one.
    pub(crate) written: i32,
}

/// Every sound of a tune, grace notes too, in the order in which they begin. Parts for percussion have no names
/// to ask for and are left out.
pub(crate) fn sounds_of(tune: &Tune) -> Vec<Sound> {
    let reference = reference_signatures(tune);
    let pitched = |voice: &Voice| !voice.clef.is_percussion();
    let mut sounds = Vec::new();
    for row in soundings(tune) {
        let voice = &tune.voices[row.voice as usize];
        let note = &voice.notes[row.note as usize];
        let event = &voice.events[note.event as usize];
        if pitched(voice) {
            let at = NoteRef { voice: row.voice, note: row.note };
            sounds.push(sound(tune, &reference, at, event, note, (row.onset, row.end)));
        }
    }
    for (index, voice) in tune.voices.iter().enumerate().filter(|(_, voice)| pitched(voice)) {
        for event in voice.events.iter().filter(|event| event.grace) {
            let onset = tune.onset(event);
            for number in event.notes.clone() {
                let at = NoteRef { voice: index as u32, note: number };
                let note = &voice.notes[number as usize];
                sounds.push(sound(tune, &reference, at, event, note, (onset, onset)));
            }
        }
    }
    sounds.sort_by_key(|sound| (sound.onset, sound.line, sound.event, sound.at.note));
    sounds
}

fn sound(
    tune: &Tune,
    reference: &[Option<i32>],
    at: NoteRef,
    event: &Event,
    note: &Note,
    (onset, end): (Time, Time),
) -> Sound {
    let written = note.written.name.fifths() - note.pitch.name.fifths();
    let signature = concert_signature(tune, event, note.pitch, note.written);
    let usual = reference.get(event.bar as usize).copied().flatten();
    let apart = signature.zip(usual).map_or(0, |(own, usual)| turns(own - usual));
    Sound {
        at,
        onset: ticks(onset),
        end: ticks(end),
        midi: note.pitch.midi(),
        line: at.voice * 8 + u32::from(event.layer.min(7)),
        event: note.event,
        bar: event.bar,
        grace: event.grace,
        signature: signature.map(|fifths| (fifths - apart).clamp(-20, 20) as i8),
        minor: minor(tune, event),
        typed: note.pitch.name.fifths() - apart,
        written: written + apart,
    }
}

fn minor(tune: &Tune, event: &Event) -> Option<bool> {
    let key = tune.key(event);
    key.tonic?;
    match key.mode {
        Mode::Major => Some(false),
        Mode::Minor => Some(true),
        _ => None,
    }
}

/// The signature in force as it sounds; none where no key is claimed or the signature is an unusual one.
fn concert_signature(tune: &Tune, event: &Event, pitch: Pitch, written: Pitch) -> Option<i32> {
    let key = tune.key(event);
    key.tonic?;
    Some(key.signature.fifths()? + pitch.name.fifths() - written.name.fifths())
}

/// The signature that most voices have in each bar, as it sounds: a part in another key of the same sound (a
/// harp in C flat, strings in B) is compared with the others under their names.
fn reference_signatures(tune: &Tune) -> Vec<Option<i32>> {
    let mut counts: Vec<Vec<(i32, u32)>> = vec![Vec::new(); tune.bars.len()];
    for voice in &tune.voices {
        for bar in &voice.bars {
            let mut notes = voice.events_of(bar).iter().filter(|event| !event.notes.is_empty());
            let Some(event) = notes.next() else { continue };
            let note = &voice.notes[event.notes.start as usize];
            let Some(own) = concert_signature(tune, event, note.pitch, note.written) else {
                continue;
            };
            let Some(row) = counts.get_mut(event.bar as usize) else { continue };
            match row.iter_mut().find(|(signature, _)| *signature == own) {
                Some((_, count)) => *count += 1,
                None => row.push((own, 1)),
            }
        }
    }
    let most = |row: &Vec<(i32, u32)>| {
        row.iter().max_by_key(|(own, count)| (*count, -own.abs())).map(|(own, _)| *own)
    };
    counts.iter().map(most).collect()
}

/// The nearest whole turns of the circle of fifths.
fn turns(fifths: i32) -> i32 {
    (fifths + 6).div_euclid(12) * 12
}

/// A time in ticks, rounded down.
pub(crate) fn ticks(time: Time) -> i64 {
    let ticks = i128::from(time.numerator()) * i128::from(TICKS);
    (ticks / i128::from(time.denominator())).clamp(0, i128::from(i64::MAX / 64)) as i64
}
