//! Groups of notes that a reader takes as one chord: what sounds together, and broken chords.

use crate::sounding::Sounding;
use crate::tune::{Event, EventKind, Tune, Voice};
use recte_theory::Time;

/// A note of a figure: voice and note, by index.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct NoteRef {
    /// The voice.
    pub voice: u32,
    /// The note in its voice.
    pub note: u32,
}

/// What kind of figure.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FigureKind {
    /// Its notes sound together.
    Block,
    /// They follow one another in one voice.
    Broken,
}

/// Notes that may make one chord.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Figure {
    /// Together or in turn.
    pub kind: FigureKind,
    /// Its notes: in time, then upwards.
    pub notes: Vec<NoteRef>,
}

/// The longest broken chord looked for, in events.
const LONGEST: usize = 8;
/// In semitones: a smaller move is a step, not part of a broken chord.
const SMALLEST_LEAP: i32 = 3;
/// In semitones: a minor seventh and its root are this far apart.
const WHOLE_STEP: i32 = 2;

/// The runs of a voice that move like broken chords, from each event on, longest first: leaps and repeated
/// notes only (and the whole step between a seventh and its root), no rests, at most four different pitch classes.
pub fn broken_chords(voice: &Voice, index: u32) -> Vec<Figure> {
    let events: Vec<&Event> = voice.events.iter().filter(|event| !event.grace).collect();
    let mut figures = Vec::new();
    for first in 0..events.len() {
        let mut notes: Vec<NoteRef> = Vec::new();
        let mut classes = 0u16;
        let mut from_here = Vec::new();
        for (place, event) in events[first..].iter().take(LONGEST).enumerate() {
            let previous = place.checked_sub(1).map(|before| events[first + before]);
            if event.kind != EventKind::Notes || !follows(voice, previous, event) {
                break;
            }
            for note in event.notes.clone() {
                classes |= 1 << voice.notes[note as usize].pitch.midi().rem_euclid(12);
                notes.push(NoteRef { voice: index, note });
            }
            if classes.count_ones() > 4 {
                break;
            }
            if classes.count_ones() >= 3 && place > 0 {
                from_here.push(Figure { kind: FigureKind::Broken, notes: notes.clone() });
            }
        }
        figures.extend(from_here.into_iter().rev());
    }
    figures
}

/// Whether an event goes on with what the last began: same layer, no double bar between, and a leap, a
/// repetition or a chord.
fn follows(voice: &Voice, previous: Option<&Event>, event: &Event) -> bool {
    let Some(previous) = previous else { return true };
    let parted = previous.bar != event.bar && voice.bars[previous.bar as usize].strong_line;
    if previous.layer != event.layer || parted {
        return false;
    }
    let (from, to) = (voice.notes_of(previous), voice.notes_of(event));
    match (from, to) {
        ([from], [to]) => {
            let moved = (to.pitch.midi() - from.pitch.midi()).abs();
            let same = moved == 0 && from.pitch.name == to.pitch.name;
            same || moved == WHOLE_STEP || moved >= SMALLEST_LEAP
        }
        _ => true,
    }
}

/// The vertical slices of a tune: at each onset, what sounds then in all voices together.
///
/// `table` is the tune's table of soundings.
pub fn slices(table: &[Sounding]) -> Vec<Figure> {
    let mut rows: Vec<&Sounding> = table.iter().collect();
    rows.sort_by_key(|row| (row.onset, row.pitch.midi(), row.voice));
    let mut active: Vec<&Sounding> = Vec::new();
    let mut figures = Vec::new();
    let mut at = 0;
    while at < rows.len() {
        let now = rows[at].onset;
        active.retain(|row| row.end > now);
        while at < rows.len() && rows[at].onset == now {
            active.push(rows[at]);
            at += 1;
        }
        if active.len() >= 3 {
            active.sort_by_key(|row| (row.pitch.midi(), row.voice));
            let notes = active.iter().map(|row| NoteRef { voice: row.voice, note: row.note });
            figures.push(Figure { kind: FigureKind::Block, notes: notes.collect() });
        }
    }
    figures
}

/// The onset of a note on the common time line.
pub fn onset_of(tune: &Tune, note: NoteRef) -> Time {
    let voice = &tune.voices[note.voice as usize];
    tune.onset(voice.event_of(note.note))
}
