//! How fast: the tempo map of a performance.

use super::times::PlayedBar;
use recte_score::{Event, Mark, MarkPlace, Meaning, Tempo, Tune, Voice};
use recte_theory::{Metre, Time};

/// Quarter notes a minute where nothing is said: what players of MIDI files assume (Standard MIDI Files 1.0).
const UNSAID: i64 = 120;
/// A fermata holds its note half as long again, in every voice (modest on purpose; common practice, no source).
const FERMATA: (i64, i64) = (2, 3);
/// Microseconds in a minute.
const MINUTE: i64 = 60_000_000;
/// The slowest quarter note that a file can say, in microseconds.
const SLOWEST: i64 = 0x00FF_FFFF;

/// Beats a minute that a word alone stands for, slowest first (common practice, no source). Of several words the
/// first that is known counts.
const WORDS: [(&str, i64); 22] = [
    ("larghissimo", 24),
    ("grave", 40),
    ("largo", 48),
    ("lento", 54),
    ("slow", 60),
    ("slowly", 60),
    ("larghetto", 60),
    ("adagio", 66),
    ("adagietto", 72),
    ("andante", 80),
    ("andantino", 88),
    ("maestoso", 88),
    ("moderato", 104),
    ("allegretto", 112),
    ("animato", 120),
    ("allegro", 132),
    ("lively", 132),
    ("fast", 144),
    ("vivace", 152),
    ("vivo", 152),
    ("presto", 176),
    ("prestissimo", 200),
];

/// When a tempo begins, and how long a quarter note is then in microseconds.
pub(super) fn tempo_map(tune: &Tune, bars: &[PlayedBar]) -> Vec<(Time, u32)> {
    let steady = steady(tune, bars);
    let held = held(tune, bars);
    let mut times: Vec<Time> = steady.iter().map(|(time, _)| *time).collect();
    times.extend(held.iter().flat_map(|(from, to)| [*from, *to]));
    times.push(Time::ZERO);
    times.sort_unstable();
    times.dedup();
    let mut map: Vec<(Time, u32)> = Vec::new();
    for time in times {
        let later = steady.partition_point(|(from, _)| *from <= time);
        let before = later.checked_sub(1).and_then(|n| steady.get(n));
        let mut quarters = before.map_or(Time::new(UNSAID, 1), |(_, quarters)| *quarters);
        let begun = held.partition_point(|(from, _)| *from <= time);
        let last = begun.checked_sub(1).and_then(|n| held.get(n));
        if last.is_some_and(|(_, to)| time < *to) {
            quarters = quarters * Time::new(FERMATA.0, FERMATA.1);
        }
        let length = microseconds(quarters);
        if map.last().is_none_or(|(_, before)| *before != length) {
            map.push((time, length));
        }
    }
    map
}

fn microseconds(quarters: Time) -> u32 {
    let length = Time::new(MINUTE, 1) / quarters;
    let rounded = (length.numerator() + length.denominator() / 2) / length.denominator();
    rounded.clamp(1, SLOWEST) as u32
}

/// Quarter notes a minute from a time on. After a jump the tempo of the page holds again.
fn steady(tune: &Tune, bars: &[PlayedBar]) -> Vec<(Time, Time)> {
    let mut speeds: Vec<(u32, Time, Time)> = tune
        .tempi
        .iter()
        .filter_map(|tempo| Some((tempo.bar, tempo.offset, quarters(tune, tempo)?)))
        .collect();
    speeds.sort_by_key(|(bar, offset, _)| (*bar, *offset));
    let mut all = Vec::new();
    for played in bars {
        let from = speeds.partition_point(|(bar, ..)| *bar < played.bar);
        if played.jumped {
            let last = speeds[..from].last();
            all.push((played.start, last.map_or(Time::new(UNSAID, 1), |(.., speed)| *speed)));
        }
        let here = speeds[from..].iter().take_while(|(bar, ..)| *bar == played.bar);
        all.extend(here.map(|(_, offset, speed)| (played.start + *offset, *speed)));
    }
    all.sort_by_key(|(time, _)| *time);
    all
}

/// Quarter notes a minute: in numbers, else by its word.
fn quarters(tune: &Tune, tempo: &Tempo) -> Option<Time> {
    let said = tempo.whole_notes_per_minute().map(|whole| whole * Time::new(4, 1));
    said.filter(|speed| *speed > Time::ZERO).or_else(|| {
        let beats = of_words(tempo.text.as_deref()?)?;
        Some(Time::new(beats, 1) * beat(tune.metre_of(tempo.bar)) * Time::new(4, 1))
    })
}

fn of_words(text: &str) -> Option<i64> {
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphabetic());
    words.filter_map(|word| WORDS.iter().find(|(known, _)| *known == word)).map(|(_, n)| *n).next()
}

/// The beat that a word is about: a dotted quarter in compound metre, a half note in 2/2, else a quarter.
fn beat(metre: Option<&Metre>) -> Time {
    let quarter = Time::new(1, 4);
    let Some(metre) = metre else { return quarter };
    let unit = metre.unit().unwrap_or(quarter);
    if metre.is_compound() { unit * Time::new(3, 1) } else { unit.max(quarter) }
}

/// From when to when fermatas hold the music, those that meet made one.
fn held(tune: &Tune, bars: &[PlayedBar]) -> Vec<(Time, Time)> {
    let mut signs: Vec<&Event> = tune.voices.iter().flat_map(fermatas).collect();
    signs.sort_by_key(|event| (event.bar, event.offset));
    let mut all: Vec<(Time, Time)> = Vec::new();
    for played in bars {
        let from = signs.partition_point(|event| event.bar < played.bar);
        for event in signs[from..].iter().take_while(|event| event.bar == played.bar) {
            let (from, to) = (played.start + event.offset, played.start + event.end());
            match all.last_mut().filter(|last| from <= last.1) {
                Some(last) => last.1 = last.1.max(to),
                None => all.push((from, to)),
            }
        }
    }
    all
}

/// The events of a voice with a fermata on them.
fn fermatas(voice: &Voice) -> impl Iterator<Item = &Event> {
    let on_event = |mark: &&Mark| {
        matches!(mark.on, MarkPlace::Event | MarkPlace::Line(_))
            && mark.meaning == Some(Meaning::Fermata)
    };
    let marks = voice.marks.iter().filter(on_event);
    marks.filter_map(|mark| voice.events.get(mark.event as usize))
}
