//! A score as a Standard MIDI File ("Standard MIDI Files 1.0", RP-001): format 1, one track a voice.

use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};
use recte_score::{Sounding, Tune, soundings};
use recte_theory::Time;

/// Ticks to a quarter note: divisible by 2⁵, 3², 5 and 7, so that the usual tuplets fall on whole ticks.
const TICKS: u16 = 10080;
/// Microseconds to a quarter note: 120 a minute, what players of MIDI files assume where nothing is said.
const TEMPO: u32 = 500_000;
/// How hard a note is struck, of 127: an even mezzo-forte.
const VELOCITY: u8 = 80;
/// The channel that General MIDI keeps for percussion.
const PERCUSSION: u8 = 9;

/// The tune as written, repeats played once, as the bytes of a MIDI file.
///
/// Tied notes sound as one; grace notes are left out. Notes outside MIDI's range (0 to 127) are left out too.
///
/// # Errors
/// More than 65,535 tracks do not fit in a file.
pub fn midi_file(tune: &Tune) -> std::io::Result<Vec<u8>> {
    let table = soundings(tune);
    let mut file = Smf::new(Header::new(Format::Parallel, Timing::Metrical(u15::new(TICKS))));
    file.tracks.push(head(tune));
    for (index, voice) in tune.voices.iter().enumerate() {
        let rows = table.iter().filter(|row| row.voice as usize == index);
        file.tracks.push(track(voice.label(), channel(index), rows));
    }
    let mut bytes = Vec::new();
    file.write_std(&mut bytes)?;
    Ok(bytes)
}

fn head(tune: &Tune) -> Track<'_> {
    let meta = |message| TrackEvent { delta: u28::new(0), kind: TrackEventKind::Meta(message) };
    vec![
        meta(MetaMessage::TrackName(tune.title().as_bytes())),
        meta(MetaMessage::Tempo(u24::new(TEMPO))),
        meta(MetaMessage::EndOfTrack),
    ]
}

/// Sixteen channels, percussion's left out, in turn.
fn channel(voice: usize) -> u4 {
    let place = (voice % 15) as u8;
    u4::new(if place < PERCUSSION { place } else { place + 1 })
}

fn track<'a>(name: &'a str, channel: u4, rows: impl Iterator<Item = &'a Sounding>) -> Track<'a> {
    // At one moment what ends comes before what begins.
    let mut changes: Vec<(u64, bool, u7)> = Vec::new();
    for row in rows {
        let Some(key) = u8::try_from(row.pitch.midi()).ok().and_then(u7::try_from) else {
            continue;
        };
        changes.push((ticks(row.onset), true, key));
        changes.push((ticks(row.end), false, key));
    }
    changes.sort_unstable();
    let mut track: Track<'a> = vec![TrackEvent {
        delta: u28::new(0),
        kind: TrackEventKind::Meta(MetaMessage::TrackName(name.as_bytes())),
    }];
    let mut now = 0;
    for (at, begins, key) in changes {
        let message = match begins {
            true => MidiMessage::NoteOn { key, vel: u7::new(VELOCITY) },
            false => MidiMessage::NoteOff { key, vel: u7::new(0) },
        };
        let delta = u28::new(u32::try_from(at - now).unwrap_or(u32::MAX) & 0x0FFF_FFFF);
        track.push(TrackEvent { delta, kind: TrackEventKind::Midi { channel, message } });
        now = at;
    }
    track.push(TrackEvent {
        delta: u28::new(0),
        kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
    });
    track
}

/// The nearest tick.
fn ticks(time: Time) -> u64 {
    let scaled = i128::from(time.numerator()) * 4 * i128::from(TICKS);
    let half = i128::from(time.denominator()) / 2;
    u64::try_from((scaled + half) / i128::from(time.denominator())).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::lower;

    /// Every note that begins or ends: track, tick, on or off, key.
    fn read(bytes: &[u8]) -> Vec<(usize, u32, bool, u8)> {
        let file = Smf::parse(bytes).unwrap();
        let mut found = Vec::new();
        for (number, track) in file.tracks.iter().enumerate() {
            let mut now = 0;
            for event in track {
                now += event.delta.as_int();
                match event.kind {
                    TrackEventKind::Midi { message: MidiMessage::NoteOn { key, .. }, .. } => {
                        found.push((number, now, true, key.as_int()));
                    }
                    TrackEventKind::Midi { message: MidiMessage::NoteOff { key, .. }, .. } => {
                        found.push((number, now, false, key.as_int()));
                    }
                    _ => {}
                }
            }
        }
        found
    }

    fn sounds(text: &str) -> Vec<(usize, u32, bool, u8)> {
        read(&midi_file(&lower(text).tune).unwrap())
    }

    #[test]
    fn notes_in_time() {
        let quarter = u32::from(TICKS);
        assert_eq!(
            sounds("X:1\nL:1/4\nK:C\nC^F|\n"),
            [
                (1, 0, true, 60),
                (1, quarter, false, 60),
                (1, quarter, true, 66),
                (1, 2 * quarter, false, 66)
            ]
        );
    }

    #[test]
    fn a_tie_is_one_sound_and_triplets_are_exact() {
        let found = sounds("X:1\nL:1/4\nK:C\nC-|C|\n");
        assert_eq!(found, [(1, 0, true, 60), (1, 2 * u32::from(TICKS), false, 60)]);
        let third = u32::from(TICKS) / 3;
        assert_eq!(sounds("X:1\nL:1/8\nK:C\n(3CDE|\n")[1].1, third);
    }

    #[test]
    fn voices_are_tracks() {
        let tracks: Vec<usize> =
            sounds("X:1\nL:1/4\nK:C\n[V:1]C|\n[V:2]E|\n").iter().map(|found| found.0).collect();
        assert_eq!(tracks, [1, 1, 2, 2]);
    }

    #[test]
    fn notes_no_midi_file_can_hold_are_left_out() {
        assert_eq!(sounds("X:1\nL:1/4\nK:C\nC,,,,,,,,C''''''''''|\n"), []);
    }
}
