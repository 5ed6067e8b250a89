//! What a window of the music is like: register, density, loudness, rhythm, pitch content, consonance.
//!
//! A window is a run of bars. The formulas are those of `measures`, `consonance` and `keyfit`, which name their sources;
//! what is heavy is long: means are by sounding time.

use super::consonance;
use super::keyfit::{KeyFit, best_key};
use super::measures::{entropy_of, npvi, quantile, shares, weighted_mean};
use super::table::{Slice, Sound, Table, Ticks, quarters};

/// Some bars, described.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Descriptor {
    /// How long it is, in quarters.
    pub quarters: f64,
    /// The register: the mean pitch by length (60 is middle C); none in silence.
    pub centroid: Option<f64>,
    /// The lowest and the highest pitch.
    pub compass: Option<(i32, i32)>,
    /// From the pitch below which a tenth of the sound lies to that above which a tenth does, in semitones.
    pub core_span: Option<f64>,
    /// Moments at which something begins, a quarter.
    pub onsets: f64,
    /// Notes that begin, a quarter.
    pub notes: f64,
    /// How loud, 0 (pppp) to 9, by length; none where nothing says so.
    pub dynamic: Option<f64>,
    /// How many parts sound, on average.
    pub parts: f64,
    /// The entropy of the lengths from onset to onset, in bits.
    pub rhythm: f64,
    /// The contrast of neighbouring lengths (nPVI).
    pub npvi: Option<f64>,
    /// The share of onsets off the beat.
    pub off_beat: f64,
    /// The share of each pitch class, by length.
    pub classes: [f64; 12],
    /// The mean consonance of what sounds together; none where there are no two pitch classes at once.
    pub consonance: Option<f64>,
    /// The share of dissonant pairs in it.
    pub dissonance: Option<f64>,
    /// The key its pitch classes fit best.
    pub key: Option<KeyFit>,
    /// Of each part, the share of the time that it sounds.
    pub carriers: Vec<f64>,
}

impl Descriptor {
    /// From the lowest to the highest pitch, in semitones.
    pub fn span(&self) -> Option<f64> {
        self.compass.map(|(low, high)| f64::from(high - low))
    }
}

/// The descriptors of each bar.
pub fn by_bar(table: &Table) -> Vec<Descriptor> {
    let slices = table.slices();
    let bars = table.by_bar();
    let one = |(bar, inside): (usize, &Vec<usize>)| window(table, &slices, bar, bar + 1, inside);
    bars.iter().enumerate().map(one).collect()
}

/// The descriptor of bars `from..to`.
pub fn of_bars(table: &Table, slices: &[Slice], from: usize, to: usize) -> Descriptor {
    window(table, slices, from, to, &table.during(from, to))
}

fn window(table: &Table, slices: &[Slice], from: usize, to: usize, inside: &[usize]) -> Descriptor {
    let (Some(first), Some(last)) = (table.bars.get(from), table.bars.get(to.saturating_sub(1)))
    else {
        return Descriptor::default();
    };
    let (start, end) = (first.start, last.end);
    let length = quarters(end - start);
    if length <= 0.0 {
        return Descriptor { carriers: vec![0.0; table.pitched.len()], ..Descriptor::default() };
    }
    let sounds: Vec<&Sound> = inside.iter().map(|at| &table.sounds[*at]).collect();
    let lasts = |sound: &Sound| quarters(sound.end.min(end) - sound.onset.max(start));
    let pitched = || sounds.iter().filter(|sound| table.pitched[sound.part as usize]);
    let mut pitches: Vec<(f64, f64)> =
        pitched().map(|sound| (f64::from(sound.midi), lasts(sound))).collect();
    pitches.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut classes = [0.0; 12];
    for sound in pitched() {
        classes[sound.midi.rem_euclid(12) as usize] += lasts(sound);
    }
    let classes = shares(classes);
    let begun: Vec<&&Sound> = sounds.iter().filter(|sound| sound.onset >= start).collect();
    let mut onsets: Vec<Ticks> = begun.iter().map(|sound| sound.onset).collect();
    onsets.dedup();
    let steps = steps(&onsets, end);
    let lengths: Vec<f64> = steps.iter().map(|step| *step as f64).collect();
    let levels = sounds.iter().filter_map(|sound| Some((sound.level?, lasts(sound))));
    let carriers = carriers(table.pitched.len(), &sounds, start, end);
    let own = || {
        let begin = slices.partition_point(|slice| slice.end <= start);
        slices[begin..].iter().take_while(|slice| slice.start < end)
    };
    let over = |value: fn(u16) -> Option<f64>| {
        weighted_mean(own().filter_map(|slice| {
            let lasts = slice.end.min(end) - slice.start.max(start);
            Some((value(slice.classes)?, quarters(lasts)))
        }))
    };
    let off = begun.iter().filter(|sound| sound.off_beat).count();
    Descriptor {
        quarters: length,
        centroid: weighted_mean(pitches.iter().copied()),
        compass: pitches.first().zip(pitches.last()).map(|(l, h)| (l.0 as i32, h.0 as i32)),
        core_span: quantile(&pitches, 0.9).zip(quantile(&pitches, 0.1)).map(|(h, l)| h - l),
        onsets: onsets.len() as f64 / length,
        notes: begun.len() as f64 / length,
        dynamic: weighted_mean(levels),
        parts: carriers.iter().sum(),
        rhythm: entropy_of(steps),
        npvi: npvi(&lengths),
        off_beat: if begun.is_empty() { 0.0 } else { off as f64 / begun.len() as f64 },
        classes,
        consonance: over(consonance::mean),
        dissonance: over(consonance::dissonant_share),
        key: best_key(&classes),
        carriers,
    }
}

/// From each onset to the next, the last to the end.
fn steps(onsets: &[Ticks], end: Ticks) -> Vec<Ticks> {
    let next = onsets.iter().skip(1).chain([&end]);
    onsets.iter().zip(next).map(|(at, next)| next - at).collect()
}

/// Of each part, the share of the time that it sounds.
fn carriers(parts: usize, sounds: &[&Sound], start: Ticks, end: Ticks) -> Vec<f64> {
    let mut all = vec![0; parts];
    let mut until = vec![start; parts];
    // In the order of their onsets, so that what is covered is covered up to one moment.
    for sound in sounds {
        let part = sound.part as usize;
        let (from, to) = (sound.onset.max(until[part]), sound.end.min(end));
        if to > from {
            all[part] += to - from;
            until[part] = to;
        }
    }
    all.iter().map(|time| *time as f64 / (end - start) as f64).collect()
}

/// Onsets a second at so many quarters a minute.
pub fn per_second(onsets_per_quarter: f64, quarters_per_minute: f64) -> f64 {
    onsets_per_quarter * quarters_per_minute / 60.0
}

#[cfg(test)]
#[path = "describe_tests.rs"]
mod tests;
