//! Which sound and which channel a voice gets.
//!
//! Sounds are those of General MIDI System Level 1 (MIDI Manufacturers Association, 1991): `data/general-midi.csv`
//! gives each instrument of the table the nearest one. Its numbers, from 1, are those of the instrument patch
//! map, from memory; tests/reference/midi.py sets them beside music21's.

use super::times::PlayedBar;
use midly::num::u4;
use recte_score::players::{Playing, playing_at};
use recte_score::{Tune, Voice};
use recte_theory::Time;
use recte_theory::instruments::Instrument;

const TABLE: &str = include_str!("../../data/general-midi.csv");
/// The channel that General MIDI keeps for percussion, counted from 0.
const PERCUSSION: u8 = 9;
/// The other channels.
const CHANNELS: usize = 15;

/// What a voice sounds like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sound {
    /// The program, counted from 0; the piano where no instrument is known.
    pub(super) program: u8,
    /// Whether it plays without definite pitch.
    pub(super) percussion: bool,
}

impl Sound {
    pub(super) fn of(voice: &Voice, instrument: Option<&Instrument>) -> Sound {
        Sound {
            program: instrument.and_then(program).unwrap_or(0),
            percussion: voice.clef.is_percussion() || instrument.is_some_and(|i| !i.pitched),
        }
    }
}

/// The sound each voice begins with.
pub(super) fn sounds(tune: &Tune, playing: &[Vec<Playing<'_>>]) -> Vec<Sound> {
    fn begins<'r>(own: &[Playing<'r>]) -> Option<&'r Instrument> {
        let first = own.first().filter(|first| first.events.start == 0);
        first.map(|first| first.instrument)
    }
    let all = tune.voices.iter().zip(playing);
    all.map(|(voice, own)| Sound::of(voice, begins(own))).collect()
}

/// When the player of a voice takes another instrument, and the program of that, as the bars are played.
pub(super) fn changes(
    voice: &Voice,
    playing: &[Playing<'_>],
    bars: &[PlayedBar],
) -> Vec<(Time, u8)> {
    let mut all = Vec::new();
    if playing.len() < 2 {
        return all;
    }
    let sound = |event: u32| playing_at(playing, event).and_then(|own| program(own.instrument));
    let mut now = sound(0);
    for played in bars {
        let Some(bar) = voice.bars.get(played.bar as usize) else { continue };
        for (at, event) in (bar.events.start..).zip(voice.events_of(bar)) {
            let next = sound(at);
            if let Some(program) = next.filter(|_| next != now) {
                all.push((played.start + event.offset, program));
                now = next;
            }
        }
    }
    all
}

fn program(instrument: &Instrument) -> Option<u8> {
    let mut rows = TABLE.lines().skip(1).map(|row| row.split(','));
    let mut row = rows.find(|row| row.clone().next() == Some(&instrument.id))?;
    row.nth(1)?.parse::<u8>().ok()?.checked_sub(1)
}

/// A channel for each voice. Up to fifteen pitched voices have one each; beyond that, voices with the same sound
/// share one; beyond fifteen sounds, different ones do, and the second list says which.
pub(super) fn channels(tune: &Tune, sounds: &[Sound]) -> (Vec<u4>, Vec<String>) {
    let many = sounds.iter().filter(|sound| !sound.percussion).count() > CHANNELS;
    let mut taken: Vec<u8> = Vec::new(); // programs, channel by channel
    let mut left_out = Vec::new();
    let mut all = Vec::new();
    for (index, sound) in sounds.iter().enumerate() {
        if sound.percussion {
            all.push(u4::new(PERCUSSION));
            continue;
        }
        let shared = taken.iter().position(|program| many && *program == sound.program);
        let place = shared.unwrap_or_else(|| {
            taken.push(sound.program);
            taken.len() - 1
        });
        if place >= CHANNELS {
            let voice = tune.voices.get(index).map_or("", Voice::label);
            left_out.push(format!(
                "MIDI has fifteen channels for instruments; {voice} shares one with another instrument and may take its sound."
            ));
        }
        let place = (place % CHANNELS) as u8;
        all.push(u4::new(if place < PERCUSSION { place } else { place + 1 }));
    }
    (all, left_out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::lower;
    use recte_score::players::playing;
    use recte_theory::instruments::{Roster, instruments};

    #[test]
    fn every_pitched_instrument_has_a_sound_and_every_row_an_instrument() {
        for instrument in instruments() {
            assert_eq!(program(instrument).is_some(), instrument.pitched, "{}", instrument.id);
        }
        assert_eq!(TABLE.lines().count() - 1, instruments().iter().filter(|i| i.pitched).count());
        for row in TABLE.lines().skip(1) {
            let number = row.split(',').nth(1).and_then(|n| n.parse::<u8>().ok());
            assert!(number.is_some_and(|n| (1..=128).contains(&n)), "{row}");
        }
    }

    fn sounds(voices: &str) -> Vec<Sound> {
        let tune = lower(&format!("X:1\n{voices}K:C\n")).tune;
        sounds_of(&tune)
    }

    fn sounds_of(tune: &Tune) -> Vec<Sound> {
        super::sounds(tune, &playing(tune, Roster::standard()))
    }

    #[test]
    fn another_instrument_is_another_program_whenever_the_bar_is_played() {
        let tune = "X:1\nL:1/4\nV:1 name=\"Oboe\"\nK:C\n|:c4|\"^to Eng. Hn.\"c4:|\n";
        let tune = lower(tune).tune;
        let playing = playing(&tune, Roster::standard());
        let (bars, _) = super::super::played(&tune);
        let found = changes(&tune.voices[0], &playing[0], &bars);
        let time = |whole| Time::new(whole, 1);
        assert_eq!(found, [(time(1), 69), (time(2), 68), (time(3), 69)]);
    }

    #[test]
    fn names_tell_sounds() {
        let all = sounds("V:1 name=\"Cello\"\nV:2\nV:3 name=\"Snare drum\"\nV:4 clef=perc\n");
        let programs: Vec<_> = all.iter().map(|s| (s.program, s.percussion)).collect();
        assert_eq!(programs, [(42, false), (0, false), (0, true), (0, true)]);
        assert_eq!(sounds("%%recte instrument 1 oboe\nV:1\n")[0].program, 68);
    }

    #[test]
    fn channels_leave_percussion_its_own() {
        let voices: String = (0..16).map(|n| format!("V:{n} name=\"Violin\"\n")).collect();
        let tune = lower(&format!("X:1\n{voices}V:d clef=perc\nK:C\n")).tune;
        let sounds = sounds_of(&tune);
        let (all, left_out) = channels(&tune, &sounds);
        assert!(all[..16].iter().all(|channel| channel.as_int() == 0) && left_out.is_empty());
        assert_eq!(all[16].as_int(), PERCUSSION);
        let (own, _) = channels(&tune, &sounds[..12]);
        assert_eq!(own.iter().map(|c| c.as_int()).max(), Some(12));
        let mixed: Vec<_> = (0..16).map(|program| Sound { program, percussion: false }).collect();
        assert_eq!(channels(&tune, &mixed).1.len(), 1);
    }
}
