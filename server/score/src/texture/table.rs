//! The flat table that everything here is worked out from: one row a sound, one row a bar.

use super::loudness::Loudness;
use crate::sounding::soundings;
use crate::tune::Tune;
use recte_theory::Time;
use recte_theory::metre::{Beats, WHOLE};

/// Moments and lengths, in 80640ths of a whole note; what no whole number of them holds is rounded.
pub type Ticks = i64;

/// A quarter note.
pub const QUARTER: Ticks = WHOLE / 4;

/// The finest grid on which off-beats are looked for: 64ths.
const GRID: Ticks = WHOLE / 64;

/// A sound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sound {
    /// The part, by index.
    pub part: u32,
    /// The first of its notes, by index in its part.
    pub note: u32,
    /// The key that sounds (60 is middle C); nothing of it means a pitch in a part for percussion.
    pub midi: i32,
    /// When it begins.
    pub onset: Ticks,
    /// When it ends.
    pub end: Ticks,
    /// The bar it begins in, by index.
    pub bar: u32,
    /// How heavy the place is where it begins: 0 the bar line, 1 the middle, 2 a beat, 3 half of one …; none between.
    pub weight: Option<u8>,
    /// Whether an off-beat: it begins on half a beat or weaker and is held, or followed by a rest, over the next
    /// stronger line.
    pub off_beat: bool,
    /// How loud it begins, 0 (pppp) to 9; none where its part says nothing.
    pub level: Option<f64>,
}

/// A bar.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Bar {
    /// When it begins.
    pub start: Ticks,
    /// When it ends.
    pub end: Ticks,
    /// The key signature, as a number that is the same for the same key.
    pub key: u16,
    /// The metre, the same way.
    pub metre: u16,
    /// Whether a tempo is typed in it.
    pub tempo: bool,
}

/// What sounds together from one change to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slice {
    /// When it begins.
    pub start: Ticks,
    /// When it ends.
    pub end: Ticks,
    /// A bit for each pitch class.
    pub classes: u16,
}

/// The table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// By when they begin, the lowest of each moment first.
    pub sounds: Vec<Sound>,
    /// In time.
    pub bars: Vec<Bar>,
    /// Of each part, whether its notes have a pitch.
    pub pitched: Vec<bool>,
}

impl Table {
    /// The table of a tune.
    pub fn of(tune: &Tune) -> Table {
        let bars: Vec<Bar> = tune
            .bars
            .iter()
            .zip(0u32..)
            .map(|(bar, number)| {
                let own = tune.voices.iter().find_map(|voice| voice.bars.get(number as usize));
                Bar {
                    start: ticks(bar.start),
                    end: ticks(bar.start + bar.length),
                    key: own.map_or(0, |own| own.key),
                    metre: own.map_or(0, |own| own.metre),
                    tempo: tune.tempi.iter().any(|tempo| tempo.bar == number),
                }
            })
            .collect();
        let loudness: Vec<Loudness> =
            tune.voices.iter().map(|voice| Loudness::of(tune, voice)).collect();
        let weights: Vec<Vec<u8>> = tune.metres.iter().map(weights).collect();
        let mut sounds: Vec<Sound> = soundings(tune)
            .iter()
            .map(|row| {
                let event = tune.voices[row.voice as usize].event_of(row.note);
                let onset = ticks(row.onset);
                let grid = bars.get(event.bar as usize).and_then(|bar| {
                    let at = onset - bar.start;
                    let place = (at % GRID == 0).then_some((at / GRID) as usize)?;
                    weights.get(bar.metre as usize)?.get(place).copied()
                });
                Sound {
                    part: row.voice,
                    note: row.note,
                    midi: row.pitch.midi(),
                    onset,
                    end: ticks(row.end),
                    bar: event.bar,
                    weight: grid,
                    off_beat: false,
                    level: loudness[row.voice as usize].at(onset),
                }
            })
            .collect();
        sounds.sort_by_key(|sound| (sound.onset, sound.midi, sound.part, sound.note));
        let pitched = tune.voices.iter().map(|voice| !voice.clef.is_percussion()).collect();
        let mut table = Table { sounds, bars, pitched };
        table.find_off_beats(&weights);
        table
    }

    /// Marks what is not followed by an onset of its part on the next stronger line.
    fn find_off_beats(&mut self, weights: &[Vec<u8>]) {
        let mut next: Vec<Option<Ticks>> = vec![None; self.pitched.len()];
        let mut after: Vec<Option<Ticks>> = vec![None; self.pitched.len()];
        for sound in self.sounds.iter_mut().rev() {
            let part = sound.part as usize;
            if after[part] != Some(sound.onset) {
                next[part] = after[part];
                after[part] = Some(sound.onset);
            }
            let (Some(own), Some(bar)) = (sound.weight, self.bars.get(sound.bar as usize)) else {
                continue;
            };
            let grid = weights.get(bar.metre as usize).map_or(&[][..], Vec::as_slice);
            let place = ((sound.onset - bar.start) / GRID) as usize;
            let stronger = (place + 1..grid.len()).find(|at| grid[*at] < own);
            let line = stronger.map_or(bar.end, |at| bar.start + at as Ticks * GRID);
            // What the end of the piece hides is not counted.
            sound.off_beat = own >= 3 && next[part].is_some_and(|next| next > line);
        }
    }

    /// What sounds in bars `from..to`, by index in the table.
    pub fn during(&self, from: usize, to: usize) -> Vec<usize> {
        let (Some(first), Some(last)) =
            (self.bars.get(from), to.checked_sub(1).and_then(|last| self.bars.get(last)))
        else {
            return Vec::new();
        };
        let end = self.sounds.partition_point(|sound| sound.onset < last.end);
        let inside = (0..end).filter(|at| self.sounds[*at].end > first.start);
        inside.collect()
    }

    /// For each bar what sounds in it, by index in the table; what is held over a line is in both.
    pub fn by_bar(&self) -> Vec<Vec<usize>> {
        let mut all = vec![Vec::new(); self.bars.len()];
        for (at, sound) in self.sounds.iter().enumerate() {
            let first = sound.bar as usize;
            let bars = self.bars.iter().enumerate().skip(first);
            for (bar, _) in bars.take_while(|(bar, own)| *bar == first || own.start < sound.end) {
                all[bar].push(at);
            }
        }
        all
    }

    /// What sounds together, change by change; silence has no pitch class. Only parts with a pitch.
    pub fn slices(&self) -> Vec<Slice> {
        let pitched = self.sounds.iter().filter(|sound| self.pitched[sound.part as usize]);
        let mut changes: Vec<(Ticks, bool, usize)> = pitched
            .flat_map(|sound| {
                let class = sound.midi.rem_euclid(12) as usize;
                [(sound.onset, true, class), (sound.end, false, class)]
            })
            .collect();
        changes.sort_unstable();
        let mut counts = [0u32; 12];
        let mut slices: Vec<Slice> = Vec::new();
        for same in changes.chunk_by(|a, b| a.0 == b.0) {
            if let Some(last) = slices.last_mut() {
                last.end = same[0].0;
            }
            for (_, begins, class) in same {
                counts[*class] = if *begins { counts[*class] + 1 } else { counts[*class] - 1 };
            }
            let classes = (0..12).filter(|class| counts[*class] > 0).fold(0, |all, c| all | 1 << c);
            slices.push(Slice { start: same[0].0, end: same[0].0, classes });
        }
        slices.retain(|slice| slice.end > slice.start);
        slices
    }
}

/// The weights of a metre's places, 64th by 64th; none where it has no beats.
fn weights(metre: &recte_theory::Metre) -> Vec<u8> {
    let of = |beats: &Beats| {
        let places = (beats.length() / GRID).max(0);
        (0..places).map(|place| beats.weight(place * GRID)).collect()
    };
    metre.beats().first().map(of).unwrap_or_default()
}

/// A time in ticks, rounded.
pub(crate) fn ticks(time: Time) -> Ticks {
    let scaled = i128::from(time.numerator()) * i128::from(WHOLE);
    let below = i128::from(time.denominator()).max(1);
    ((2 * scaled + below).div_euclid(2 * below)) as Ticks
}

/// Ticks in quarters.
pub fn quarters(ticks: Ticks) -> f64 {
    ticks as f64 / QUARTER as f64
}
