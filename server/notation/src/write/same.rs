//! Whether two readings sound the same.

use crate::Lowered;
use recte_score::{Tune, soundings};
use recte_theory::Time;

/// Whether a rewritten text sounds as it did, and is no harder to read: no new problem.
pub fn reads_as_well(before: &Lowered, after: &Lowered) -> bool {
    after.problems.len() <= before.problems.len() && same_sound(&before.tune, &after.tune)
}

/// Whether every voice has the same sounds at the same times, tied notes taken as one; grace notes by their order.
pub fn same_sound(a: &Tune, b: &Tune) -> bool {
    a.voices.len() == b.voices.len()
        && a.voices.iter().zip(&b.voices).all(|(a, b)| a.id == b.id)
        && sounds(a) == sounds(b)
        && graces(a) == graces(b)
}

fn sounds(tune: &Tune) -> Vec<(u32, Time, Time, i32)> {
    let mut rows: Vec<_> = soundings(tune)
        .into_iter()
        .map(|row| (row.voice, row.onset, row.end, row.pitch.midi()))
        .collect();
    rows.sort_unstable();
    rows
}

fn graces(tune: &Tune) -> Vec<(usize, Time, i32)> {
    let mut rows = Vec::new();
    for (index, voice) in tune.voices.iter().enumerate() {
        for event in voice.events.iter().filter(|event| event.grace) {
            let notes = voice.notes_of(event).iter();
            rows.extend(notes.map(|note| (index, tune.onset(event), note.pitch.midi())));
        }
    }
    rows
}
