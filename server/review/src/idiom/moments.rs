//! What one player sounds at once.

use super::Staff;
use crate::context::Context;
use recte_theory::Time;

/// A note that sounds at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Held {
    pub(crate) voice: usize,
    /// Its first sign, by index in its voice.
    pub(crate) note: u32,
    /// Whether it begins here.
    pub(crate) struck: bool,
    /// When it ends.
    pub(crate) end: Time,
}

/// Notes that sound together from a moment at which one of them begins, the lowest first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Moment {
    pub(crate) onset: Time,
    pub(crate) notes: Vec<Held>,
}

/// All moments of these staves at which two notes or more sound.
pub(super) fn moments(context: &Context<'_>, staves: &[Staff]) -> Vec<Moment> {
    let tune = context.tune;
    let mut rows: Vec<_> = context
        .soundings()
        .iter()
        .filter(|row| {
            let event = || tune.voices[row.voice as usize].notes[row.note as usize].event;
            let own = |staff: &Staff| {
                staff.voice == row.voice as usize && staff.events.contains(&event())
            };
            staves.iter().any(own)
        })
        .collect();
    rows.sort_by_key(|row| row.onset);
    let mut open: Vec<&recte_score::Sounding> = Vec::new();
    let mut moments = Vec::new();
    for struck in rows.chunk_by(|a, b| a.onset == b.onset) {
        let onset = struck[0].onset;
        open.retain(|row| row.end > onset);
        open.extend(struck);
        if open.len() < 2 {
            continue;
        }
        open.sort_by_key(|row| row.pitch.midi());
        let held = |row: &&recte_score::Sounding| Held {
            voice: row.voice as usize,
            note: row.note,
            struck: row.onset == onset,
            end: row.end,
        };
        moments.push(Moment { onset, notes: open.iter().map(held).collect() });
    }
    moments
}
