//! The notes of one voice as they sound: repeats played out, tied notes joined, graces and articulation in time.

use super::loudness::{ACCENT, Loudness, SFORZATO};
use super::times::PlayedBar;
use recte_score::{Event, MarkKind, Meaning, Tune, Voice};
use recte_theory::Time;
use std::collections::BTreeMap;

/// How much of its length a note with a dot sounds (common practice, no source).
const STACCATO: (i64, i64) = (1, 2);
/// How much of its length a note with a wedge sounds.
const STACCATISSIMO: (i64, i64) = (1, 4);
/// How long a grace note is at most: a thirty-second note. It comes before the beat and takes its time from the
/// note or rest before, of which all of them together take half at most; at the very beginning, from the note
/// that follows (common practice, no source).
const GRACE: (i64, i64) = (1, 32);

/// A note as it sounds; times in whole notes from the beginning of the performance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Played {
    pub(super) onset: Time,
    pub(super) end: Time,
    /// The key, as MIDI numbers it; it may lie beyond what MIDI has.
    pub(super) key: i32,
    pub(super) velocity: i64,
}

/// A row while it may still be carried on by a tie.
struct Row {
    played: Played,
    layer: u8,
    share: (i64, i64),
    tied: bool,
}

/// Everything that one voice plays, in order.
pub(super) fn of_voice(tune: &Tune, voice: &Voice, bars: &[PlayedBar]) -> Vec<Played> {
    let mut player = Player {
        voice,
        loudness: Loudness::of(tune, voice, bars),
        marks: marks(voice),
        rows: Vec::new(),
        graces: BTreeMap::new(),
        before: BTreeMap::new(),
        tied: Vec::new(),
    };
    for played in bars {
        let Some(bar) = voice.bars.get(played.bar as usize) else { continue };
        for (index, event) in (bar.events.start..).zip(voice.events_of(bar)) {
            player.event(index, event, played.start + event.offset);
        }
    }
    let finished = |row: Row| {
        let (above, below) = row.share;
        let length = (row.played.end - row.played.onset) * Time::new(above, below);
        Played { end: row.played.onset + length, ..row.played }
    };
    let mut all: Vec<Played> = player.rows.into_iter().map(finished).collect();
    all.sort_by_key(|played| (played.onset, played.key));
    all
}

fn marks(voice: &Voice) -> BTreeMap<u32, Vec<Meaning>> {
    let mut all: BTreeMap<u32, Vec<Meaning>> = BTreeMap::new();
    for mark in voice.marks.iter().filter(|mark| mark.kind == MarkKind::Decoration) {
        all.entry(mark.event).or_default().extend(mark.meaning);
    }
    all
}

struct Player<'a> {
    voice: &'a Voice,
    loudness: Loudness,
    marks: BTreeMap<u32, Vec<Meaning>>,
    rows: Vec<Row>,
    /// Grace notes that wait for their note, layer by layer.
    graces: BTreeMap<u8, Vec<u32>>,
    /// What took time last in a layer: from when to when, and its first row.
    before: BTreeMap<u8, (Time, Time, usize)>,
    /// Rows that a tie carries on.
    tied: Vec<usize>,
}

impl Player<'_> {
    fn event(&mut self, index: u32, event: &Event, onset: Time) {
        if event.grace {
            self.graces.entry(event.layer).or_default().push(index);
            return;
        }
        let begins = self.play_graces(event, onset);
        let first = self.rows.len();
        let end = onset + event.duration;
        for number in event.notes.clone() {
            let Some(note) = self.voice.notes.get(number as usize).copied() else { continue };
            let key = note.pitch.midi();
            let held = if note.tied_in { self.take_tied(event.layer, key, onset) } else { None };
            let row = held.unwrap_or_else(|| {
                let played = Played { onset: begins, end, key, velocity: 0 };
                self.rows.push(self.struck(played, index, event.layer));
                self.rows.len() - 1
            });
            if let Some(row) = self.rows.get_mut(row) {
                row.played.end = end;
                row.tied = note.tied_out;
            }
            if note.tied_out {
                self.tied.push(row);
            }
        }
        self.before.insert(event.layer, (onset, end, first));
    }

    fn struck(&self, played: Played, index: u32, layer: u8) -> Row {
        let mut velocity = self.loudness.at(played.onset);
        let mut share = (1, 1);
        for mark in self.marks.get(&index).into_iter().flatten() {
            match mark {
                Meaning::Accent => velocity += ACCENT,
                Meaning::Sforzato => velocity += SFORZATO,
                Meaning::Staccato => share = STACCATO,
                Meaning::Staccatissimo => share = STACCATISSIMO,
                // A tenuto sounds its whole length, as every note does that no sign shortens.
                _ => {}
            }
        }
        Row {
            played: Played { velocity: velocity.clamp(1, 127), ..played },
            layer,
            share,
            tied: false,
        }
    }

    fn take_tied(&mut self, layer: u8, key: i32, onset: Time) -> Option<usize> {
        self.tied.retain(|row| self.rows.get(*row).is_some_and(|row| row.played.end >= onset));
        let place = self.tied.iter().position(|row| {
            self.rows.get(*row).is_some_and(|row| {
                row.layer == layer && row.played.key == key && row.played.end == onset
            })
        })?;
        Some(self.tied.swap_remove(place))
    }

    /// Plays the grace notes that wait, and gives the time when the note itself begins.
    fn play_graces(&mut self, event: &Event, onset: Time) -> Time {
        let waiting = self.graces.remove(&event.layer).unwrap_or_default();
        if waiting.is_empty() {
            return onset;
        }
        let count = Time::new(waiting.len() as i64, 1);
        let before = self.before.get(&event.layer).copied().filter(|(from, ..)| *from < onset);
        let room = before.map_or(event.duration, |(from, ..)| onset - from) / Time::new(2, 1);
        let each = (room / count).min(Time::new(GRACE.0, GRACE.1));
        let mut now = match before {
            Some(_) => onset - each * count,
            None => onset,
        };
        if let Some((.., first)) = before {
            let layer = event.layer;
            let cut =
                self.rows.iter_mut().skip(first).filter(|row| row.layer == layer && !row.tied);
            cut.for_each(|row| row.played.end = row.played.end.min(now));
        }
        for index in waiting {
            let Some(grace) = self.voice.events.get(index as usize) else { continue };
            for note in self.voice.notes_of(grace) {
                let key = note.pitch.midi();
                let played = Played { onset: now, end: now + each, key, velocity: 0 };
                self.rows.push(self.struck(played, index, event.layer));
            }
            now += each;
        }
        now
    }
}
