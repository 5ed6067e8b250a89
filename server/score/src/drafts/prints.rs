//! The prints of bars, by which they are compared: what sounds in them, the same whatever it is transposed by, and
//! what stands on the page.

mod page;
mod unseen;

use super::Part;
use super::parts::hash;
use crate::sounding::{Sounding, soundings};
use crate::tune::Tune;
use recte_theory::key::Signature;
use recte_theory::{Pitch, Time};
use std::collections::BTreeSet;
use std::ops::Range;
use unseen::Unseen;

/// The paired voices of a draft, bar by bar.
pub(super) struct Sheet {
    pub(super) bars: Vec<Bar>,
    /// Every sound from its beginning to its end, over bar lines, by when it begins.
    pub(super) tones: Vec<Tone>,
    /// For each bar, how many of `tones` begin before it.
    pub(super) firsts: Vec<usize>,
    /// For each bar, the sounds that go on from before it.
    pub(super) held: Vec<Vec<Tone>>,
}

impl Sheet {
    /// How many sounds begin in some bars.
    pub(super) fn begun(&self, bars: &Range<u32>) -> usize {
        let before = |bar: u32| self.firsts.get(bar as usize).copied().unwrap_or(self.tones.len());
        before(bars.end).saturating_sub(before(bars.start))
    }
}

/// The prints of a bar of all paired voices.
pub(super) struct Bar {
    /// When it begins, and how long it is, in parts of a whole note that both drafts share.
    pub(super) start: i64,
    pub(super) length: i64,
    /// What sounds in it.
    pub(super) sound: u64,
    /// What sounds in it, wherever it lies.
    pub(super) shape: u64,
    /// Where it lies: a pitch in semitones; none without pitches.
    pub(super) base: Option<i32>,
    /// What sounds in it by degrees of the key, wherever it lies.
    pub(super) degrees: u64,
    /// Where it lies: a letter step; none without pitches.
    pub(super) step: Option<i32>,
    /// What stands in it on the page.
    pub(super) page: u64,
    /// The voices, by part.
    pub(super) voices: Vec<Print>,
    /// Sounds that show how much it is transposed.
    pub(super) pitched: usize,
}

/// The prints of a bar of one voice.
#[derive(Clone, Default)]
pub(super) struct Print {
    pub(super) sound: u64,
    pub(super) shape: u64,
    pub(super) base: Option<i32>,
    pub(super) degrees: u64,
    pub(super) step: Option<i32>,
    pub(super) page: u64,
    /// The signature it stands under.
    pub(super) signature: Signature,
    pub(super) sounds: Vec<Sound>,
}

/// A sound, or as much of it as is in one bar.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Sound {
    /// From the beginning of the bar.
    pub(super) onset: i64,
    /// For a grace note its place among those before one note, from −1 downwards.
    pub(super) length: i64,
    /// In semitones.
    pub(super) pitch: i32,
    /// Whether it goes on from the bar before.
    pub(super) held: bool,
    /// The letter step, and what the note is altered by against the signature. They do not count where sounds are compared.
    pub(super) step: Unseen<i32>,
    pub(super) altered: Unseen<i8>,
}

/// A sound over bar lines.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Tone {
    pub(super) onset: i64,
    pub(super) end: i64,
    pub(super) part: u32,
    pub(super) pitch: i32,
}

/// A number that says which of two drafts is taken first, whichever is called the old one.
pub(super) fn order(tune: &Tune) -> u64 {
    let names: Vec<_> = tune.voices.iter().map(|voice| (&voice.id, &voice.name)).collect();
    let sound = |row: &Sounding| (row.onset, row.end, row.pitch, row.written, row.voice);
    let sounds: Vec<_> = soundings(tune).iter().map(sound).collect();
    let bars: Vec<_> = tune.bars.iter().map(|bar| bar.length).collect();
    let pages: Vec<_> = (0..tune.voices.len()).map(|voice| page::of_voice(tune, voice)).collect();
    hash(&(names, sounds, bars, pages, page::of_system(tune)))
}

/// The prints of two drafts, the voices of each by part.
pub(super) fn sheets(old: &Tune, new: &Tune, parts: &[Part]) -> [Sheet; 2] {
    let tables = [soundings(old), soundings(new)];
    let clock = Clock::new([old, new], &tables);
    let [before, after] = tables;
    let both = |part: &Part| part.old.is_some() && part.new.is_some();
    let voices = |of: fn(&Part) -> Option<u32>| {
        parts.iter().map(|part| of(part).filter(|_| both(part))).collect::<Vec<_>>()
    };
    [
        sheet(old, &before, &voices(|part| part.old), &clock),
        sheet(new, &after, &voices(|part| part.new), &clock),
    ]
}

/// Counts time in whole parts of a whole note.
struct Clock {
    parts: i64,
}

impl Clock {
    /// Parts that are fine enough for both drafts. Where no number is, what lies between two is drawn down.
    fn new(tunes: [&Tune; 2], tables: &[Vec<Sounding>; 2]) -> Clock {
        let bars = tunes.iter().flat_map(|tune| &tune.bars).flat_map(|bar| [bar.start, bar.length]);
        let sounds = tables.iter().flatten().flat_map(|row| [row.onset, row.end]);
        let events = tunes.iter().flat_map(|tune| &tune.voices).flat_map(|voice| &voice.events);
        let times = bars.chain(sounds).chain(events.map(|event| event.offset));
        let below: BTreeSet<i64> = times.map(Time::denominator).collect();
        let mut parts = 1_i64;
        for below in below {
            match (parts / divisor(parts, below)).checked_mul(below) {
                Some(finer) if finer <= 1 << 32 => parts = finer,
                _ => return Clock { parts: 1 << 32 },
            }
        }
        Clock { parts }
    }

    fn at(&self, time: Time) -> i64 {
        let exact = i128::from(time.numerator()) * i128::from(self.parts);
        i64::try_from(exact.div_euclid(i128::from(time.denominator()))).unwrap_or(i64::MAX / 4)
    }
}

fn divisor(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { divisor(b, a % b) }
}

fn sheet(tune: &Tune, table: &[Sounding], voices: &[Option<u32>], clock: &Clock) -> Sheet {
    let places: Vec<(i64, i64)> =
        tune.bars.iter().map(|bar| (clock.at(bar.start), clock.at(bar.length))).collect();
    let mut prints = vec![vec![Print::default(); voices.len()]; places.len()];
    for (part, voice) in voices.iter().enumerate() {
        let own = voice.and_then(|voice| tune.voices.get(voice as usize));
        for (bar, prints) in own.into_iter().flat_map(|voice| &voice.bars).zip(&mut prints) {
            prints[part].signature =
                tune.keys.get(bar.key as usize).map(|key| key.signature).unwrap_or_default();
        }
    }
    let mut tones = Vec::with_capacity(table.len());
    let mut held = vec![Vec::new(); places.len()];
    let part_of = |voice: u32| voices.iter().position(|own| *own == Some(voice));
    let parts: Vec<Option<usize>> = (0..tune.voices.len() as u32).map(part_of).collect();
    for row in table {
        let Some(part) = parts[row.voice as usize] else { continue };
        let (onset, end) = (clock.at(row.onset), clock.at(row.end));
        let tone = Tone { onset, end, part: part as u32, pitch: row.pitch.midi() };
        tones.push(tone);
        let first = places.partition_point(|(start, _)| *start <= onset).saturating_sub(1);
        for (bar, (start, length)) in places.iter().enumerate().skip(first) {
            let within = (onset.max(*start), end.min(start + length));
            if *start >= end {
                break;
            }
            if within.0 < within.1 || onset >= *start {
                let goes_on = onset < *start;
                let length = within.1.max(within.0) - within.0;
                let print = &mut prints[bar][part];
                let pitches = (row.pitch, row.written);
                let sound = sound_of(pitches, print.signature, within.0 - start, length, goes_on);
                print.sounds.push(sound);
                if goes_on {
                    held[bar].push(tone);
                }
            }
        }
    }
    tones.sort_unstable();
    let firsts = |(start, _): &(i64, i64)| tones.partition_point(|tone| tone.onset < *start);
    let firsts: Vec<usize> = places.iter().map(firsts).collect();
    for (voice, part) in (0..).zip(&parts).filter_map(|(voice, part)| Some((voice, (*part)?))) {
        graces(tune, voice, clock, |bar, pitches, onset, length| {
            if let Some(bar) = prints.get_mut(bar) {
                let sound = sound_of(pitches, bar[part].signature, onset, length, false);
                bar[part].sounds.push(sound);
            }
        });
        let pages = page::of_voice(tune, voice);
        for (bar, page) in prints.iter_mut().zip(pages) {
            bar[part].page = page;
        }
    }
    let drums = |part: &Option<u32>| {
        part.is_some_and(|voice| tune.voices[voice as usize].clef.is_percussion())
    };
    let drums: Vec<bool> = voices.iter().map(drums).collect();
    let around = page::of_system(tune);
    let mut bars = Vec::with_capacity(places.len());
    for (index, (voices, (start, length))) in prints.into_iter().zip(&places).enumerate() {
        bars.push(bar(voices, &drums, around.get(index).copied(), (*start, *length)));
    }
    Sheet { bars, tones, firsts, held }
}

fn sound_of(
    (pitch, written): (Pitch, Pitch),
    signature: Signature,
    onset: i64,
    length: i64,
    held: bool,
) -> Sound {
    let altered = written.name.alter - signature.alter(written.name.letter);
    let (step, altered) = (Unseen(pitch.steps()), Unseen(altered));
    Sound { onset, length, pitch: pitch.midi(), held, step, altered }
}

fn graces(
    tune: &Tune,
    voice: usize,
    clock: &Clock,
    mut take: impl FnMut(usize, (Pitch, Pitch), i64, i64),
) {
    let voice = &tune.voices[voice];
    let mut place = (u32::MAX, 0, 0);
    for event in voice.events.iter().filter(|event| event.grace) {
        let onset = clock.at(event.offset);
        place = match place {
            (bar, at, count) if (bar, at) == (event.bar, onset) => (bar, at, count - 1),
            _ => (event.bar, onset, -1),
        };
        for note in voice.notes_of(event) {
            take(event.bar as usize, (note.pitch, note.written), onset, place.2);
        }
    }
}

fn bar(
    mut voices: Vec<Print>,
    drums: &[bool],
    around: Option<u64>,
    (start, length): (i64, i64),
) -> Bar {
    for (print, drum) in voices.iter_mut().zip(drums) {
        print.sounds.sort_unstable();
        print.sound = hash(&print.sounds);
        print.base = print.sounds.first().filter(|_| !drum).map(|first| first.pitch);
        let base = print.base.unwrap_or(0);
        let shape = |sound: &Sound| (sound.onset, sound.length, sound.pitch - base, sound.held);
        print.shape = hash(&print.sounds.iter().map(shape).collect::<Vec<_>>());
        print.step = print.sounds.first().filter(|_| !drum).map(|first| first.step.0);
        print.degrees = match print.step {
            Some(step) => {
                let degree = |sound: &Sound| {
                    let place = (sound.step.0 - step, sound.altered.0);
                    (sound.onset, sound.length, sound.held, place)
                };
                let mut degrees: Vec<_> = print.sounds.iter().map(degree).collect();
                degrees.sort_unstable();
                hash(&(print.signature, degrees))
            }
            None => print.shape,
        };
    }
    let base = voices.iter().find_map(|print| print.base);
    let above = |print: &Print| print.base.map(|own| own - base.unwrap_or(0));
    let shapes: Vec<_> = voices.iter().map(|print| (print.shape, above(print))).collect();
    let step = voices.iter().find_map(|print| print.step);
    let stepped = |print: &Print| print.step.map(|own| own - step.unwrap_or(0));
    let degrees: Vec<_> = voices.iter().map(|print| (print.degrees, stepped(print))).collect();
    let with_pitch = voices.iter().filter(|print| print.base.is_some());
    Bar {
        start,
        length,
        sound: hash(&(length, voices.iter().map(|print| print.sound).collect::<Vec<_>>())),
        shape: hash(&(length, shapes)),
        base,
        degrees: hash(&(length, degrees)),
        step,
        page: hash(&(around, voices.iter().map(|print| print.page).collect::<Vec<_>>())),
        pitched: with_pitch.map(|print| print.sounds.len()).sum(),
        voices,
    }
}
