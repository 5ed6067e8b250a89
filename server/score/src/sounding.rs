//! The flat table of what sounds: one row per note, tied notes joined into one.

use crate::tune::{Event, Note, Tune, Voice};
use recte_theory::{Pitch, Time};

/// A sound, from when it begins to when it ends, on the time line that all voices share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sounding {
    /// When it begins, in whole notes.
    pub onset: Time,
    /// When it ends.
    pub end: Time,
    /// What sounds.
    pub pitch: Pitch,
    /// What is read.
    pub written: Pitch,
    /// The voice, by index.
    pub voice: u32,
    /// The first of its notes, by index in its voice.
    pub note: u32,
}

/// Every sound of the tune, voice by voice in the order typed. Grace notes take no time and are left out.
pub fn soundings(tune: &Tune) -> Vec<Sounding> {
    tune.voices.iter().enumerate().flat_map(|(index, voice)| of_voice(tune, index, voice)).collect()
}

/// The same without parts for percussion, by when they begin, the lowest of each moment first.
pub fn pitched_soundings(tune: &Tune) -> Vec<Sounding> {
    let mut table = soundings(tune);
    table.retain(|row| !tune.voices[row.voice as usize].clef.is_percussion());
    table.sort_by_key(|row| (row.onset, row.pitch.midi(), row.voice, row.note));
    table
}

fn of_voice(tune: &Tune, index: usize, voice: &Voice) -> Vec<Sounding> {
    let mut table: Vec<Sounding> = Vec::with_capacity(voice.notes.len());
    let mut open: Vec<usize> = Vec::new(); // rows whose sound a tie carries on
    for event in voice.events.iter().filter(|event| event.sounds()) {
        let onset = tune.onset(event);
        let end = onset + event.duration;
        for number in event.notes.clone() {
            let note = &voice.notes[number as usize];
            let goes_on =
                if note.tied_in { take_open(&mut open, &table, note, onset) } else { None };
            let row = match goes_on {
                Some(row) => {
                    table[row].end = end;
                    row
                }
                None => {
                    table.push(sound(index, number, note, onset, end));
                    table.len() - 1
                }
            };
            if note.tied_out {
                open.push(row);
            }
        }
    }
    table
}

fn sound(voice: usize, number: u32, note: &Note, onset: Time, end: Time) -> Sounding {
    Sounding {
        onset,
        end,
        pitch: note.pitch,
        written: note.written,
        voice: voice as u32,
        note: number,
    }
}

fn take_open(open: &mut Vec<usize>, table: &[Sounding], note: &Note, onset: Time) -> Option<usize> {
    open.retain(|&row| table[row].end >= onset);
    let place = open
        .iter()
        .position(|&row| table[row].pitch.midi() == note.pitch.midi() && table[row].end == onset)?;
    Some(open.swap_remove(place))
}

/// The notes that sound at a moment, in every voice: lowest first. Written and sounding names together.
pub fn sounding_at(tune: &Tune, moment: Time) -> Vec<(u32, &Event, &Note)> {
    let Some(bar) = tune.bars.iter().rposition(|bar| bar.start <= moment) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for (index, voice) in tune.voices.iter().enumerate() {
        let Some(bar) = voice.bars.get(bar) else { continue };
        for event in voice.events_of(bar).iter().filter(|event| event.sounds()) {
            let onset = tune.onset(event);
            if onset <= moment && moment < onset + event.duration {
                found.extend(voice.notes_of(event).iter().map(|note| (index as u32, event, note)));
            }
        }
    }
    found.sort_by_key(|(voice, _, note)| (note.pitch.midi(), *voice));
    found
}
