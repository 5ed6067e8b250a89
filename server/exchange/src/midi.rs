//! A score as a Standard MIDI File ("Standard MIDI Files 1.0", RP-001): format 1, a track for tempo, metre and key
//! and one for each voice, repeats played out.

mod loudness;
mod perform;
mod sound;
mod tempo;
mod times;

use self::perform::{Played, of_voice};
use self::sound::{Sound, changes, channels, sounds};
use self::tempo::tempo_map;
use self::times::{PlayedBar, played};
use crate::Exported;
use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};
use recte_score::players::playing;
use recte_score::{Tune, Voice};
use recte_theory::instruments::Roster;
use recte_theory::key::Mode;
use recte_theory::{Key, Metre, Time};
use std::io;

/// Ticks to a quarter note: divisible by 2⁵, 3², 5 and 7, so that the usual tuplets fall on whole ticks.
const TICKS: u16 = 10080;
/// The longest step between two events of a track.
const LONGEST_STEP: u64 = 0x0FFF_FFFF;

/// The tune as it is played, as the bytes of a MIDI file, and what MIDI has no place for.
///
/// Repeats, endings, parts and returns are played out; tied notes sound as one; grace notes come before the beat.
///
/// # Errors
/// A tune without music makes no file; and more than 65,535 tracks do not fit in one.
pub fn midi_file(tune: &Tune) -> io::Result<Exported> {
    crate::with_music(tune)?;
    let (bars, end) = played(tune);
    let playing = playing(tune, Roster::standard());
    let sounds = sounds(tune, &playing);
    let (channels, mut left_out) = channels(tune, &sounds);
    let mut file = Smf::new(Header::new(Format::Parallel, Timing::Metrical(u15::new(TICKS))));
    file.tracks.push(head(tune, &bars, end));
    for (at, (voice, sound)) in tune.voices.iter().zip(&sounds).enumerate() {
        let channel = channels[at];
        let notes = of_voice(tune, voice, &bars);
        if notes.iter().any(|note| !(0..=127).contains(&note.key)) {
            left_out.push(format!(
                "Voice {} has notes that MIDI has no key for; they are silent.",
                voice.label()
            ));
        }
        // A change on a shared channel would be everyone's.
        let alone = channels.iter().filter(|other| **other == channel).count() == 1;
        let changes = if alone { changes(voice, &playing[at], &bars) } else { Vec::new() };
        file.tracks.push(track(voice, *sound, channel, &changes, apart(notes)));
    }
    let mut bytes = Vec::new();
    file.write_std(&mut bytes)?;
    Ok(Exported { bytes, left_out })
}

/// Events with their ticks; at one tick what has the lower rank comes first.
type Timed<'a> = Vec<(u64, u8, TrackEventKind<'a>)>;

fn head<'a>(tune: &'a Tune, bars: &[PlayedBar], end: Time) -> Track<'a> {
    let mut all: Timed<'a> = vec![(0, 0, meta(MetaMessage::TrackName(tune.title().as_bytes())))];
    for (time, length) in tempo_map(tune, bars) {
        all.push((ticks(time), 3, meta(MetaMessage::Tempo(u24::new(length)))));
    }
    let (mut metre, mut key) = (None, None);
    for bar in bars {
        let own = tune.voices.iter().find_map(|voice| voice.bars.get(bar.bar as usize));
        let Some(own) = own else { continue };
        if metre.replace(own.metre) != Some(own.metre)
            && let Some(signature) = time_signature(tune.metre(own))
        {
            all.push((ticks(bar.start), 1, meta(signature)));
        }
        if key.replace(own.key) != Some(own.key)
            && let Some(key) = tune.keys.get(usize::from(own.key)).and_then(key_signature)
        {
            all.push((ticks(bar.start), 2, meta(key)));
        }
    }
    finished(all, ticks(end))
}

fn meta(message: MetaMessage<'_>) -> TrackEventKind<'_> {
    TrackEventKind::Meta(message)
}

/// The bar as so many notes of its shortest lower number; none in free metre.
fn time_signature(metre: &Metre) -> Option<MetaMessage<'static>> {
    let (above, below) = match metre.numbers() {
        Some((above, below)) => (i64::from(above), i64::from(below)),
        None => (metre.length()?.count_of(metre.unit()?)?, metre.unit()?.denominator()),
    };
    let above = u8::try_from(above).ok()?;
    let power = u8::try_from(below.trailing_zeros()).ok()?;
    // A click each quarter note is 24 clocks; eight thirty-second notes to a quarter.
    Some(MetaMessage::TimeSignature(above, power, 24, 8))
}

fn key_signature(key: &Key) -> Option<MetaMessage<'static>> {
    let fifths = i8::try_from(key.signature.fifths()?).ok()?;
    let minor = matches!(key.mode, Mode::Minor | Mode::Dorian | Mode::Phrygian | Mode::Locrian);
    Some(MetaMessage::KeySignature(fifths, minor))
}

/// No key is struck while it still sounds: the earlier note ends then, and of two at once the longer stays.
fn apart(mut notes: Vec<Played>) -> Vec<Played> {
    notes.retain(|note| (0..=127).contains(&note.key));
    notes.sort_by_key(|note| (note.key, note.onset, std::cmp::Reverse(note.end)));
    let mut all: Vec<Played> = Vec::with_capacity(notes.len());
    for note in notes {
        match all.last_mut().filter(|last| last.key == note.key) {
            Some(last) if last.onset == note.onset => continue,
            Some(last) => last.end = last.end.min(note.onset),
            None => {}
        }
        all.push(note);
    }
    all
}

fn track<'v>(
    voice: &'v Voice,
    sound: Sound,
    channel: u4,
    changes: &[(Time, u8)],
    notes: Vec<Played>,
) -> Track<'v> {
    let midi = |message| TrackEventKind::Midi { channel, message };
    let mut all: Timed<'_> = vec![(0, 0, meta(MetaMessage::TrackName(voice.label().as_bytes())))];
    if !sound.percussion {
        for (at, program) in std::iter::once(&(Time::ZERO, sound.program)).chain(changes) {
            let program = u7::new(program & 0x7F);
            all.push((ticks(*at), 1, midi(MidiMessage::ProgramChange { program })));
        }
    }
    for note in notes {
        let small = |number: i64| u7::new(u8::try_from(number).unwrap_or(0) & 0x7F);
        let (key, vel) = (small(note.key.into()), small(note.velocity));
        let (on, off) = (ticks(note.onset), ticks(note.end));
        all.push((on, 3, midi(MidiMessage::NoteOn { key, vel })));
        let end = midi(MidiMessage::NoteOff { key, vel: u7::new(0) });
        all.push((off.max(on + 1), 2, end));
    }
    let end = all.iter().map(|(at, ..)| *at).max().unwrap_or(0);
    finished(all, end)
}

/// A track from events with their ticks.
fn finished(mut all: Timed<'_>, end: u64) -> Track<'_> {
    all.sort_by_key(|(at, rank, _)| (*at, *rank));
    all.push((end.max(all.last().map_or(0, |last| last.0)), 4, meta(MetaMessage::EndOfTrack)));
    let mut track = Track::new();
    let mut now = 0;
    for (at, _, kind) in all {
        let mut step = at - now;
        // A pause longer than one step is taken in several.
        while step > LONGEST_STEP {
            let delta = u28::new(LONGEST_STEP as u32);
            track.push(TrackEvent { delta, kind: meta(MetaMessage::Text(b"")) });
            step -= LONGEST_STEP;
        }
        track.push(TrackEvent { delta: u28::new(step as u32), kind });
        now = at;
    }
    track
}

/// The nearest tick.
fn ticks(time: Time) -> u64 {
    let scaled = i128::from(time.numerator()) * 4 * i128::from(TICKS);
    let half = i128::from(time.denominator()) / 2;
    u64::try_from((scaled + half) / i128::from(time.denominator())).unwrap_or(0)
}

#[cfg(test)]
mod tests;
