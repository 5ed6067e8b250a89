//! What can be heard of a tune: each part's sounds on one time line, and how long each bar takes.
//!
//! Grace notes take no time and are left out; repeats are not played out, since passages are what is listened to.

use recte_score::Tune;
use recte_score::clock::Clock;
use recte_score::texture::Table;
use recte_score::texture::table::Ticks;
use recte_theory::Time;

/// Quarters a minute where no tempo is typed (no source: a moderate one).
const USUAL: f64 = 96.0;
/// Ticks of a quarter.
pub use recte_score::texture::table::QUARTER;

/// A tune to listen to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Listening {
    /// What to call each part, and whether its notes have a pitch.
    pub parts: Vec<(String, bool)>,
    /// Of each bar when it begins, how long it is, and the seconds it takes.
    pub bars: Vec<(Ticks, Ticks, f64)>,
    /// What sounds.
    pub sounds: Sounds,
    /// Whether a tempo is typed; else it is a usual one.
    pub told: bool,
}

/// One sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Sound {
    /// When it begins.
    pub onset: Ticks,
    /// How long it lasts.
    pub length: Ticks,
    /// The key that sounds (60 is middle C).
    pub midi: i32,
    /// How loud, 0 (pppp) to 9; mezzo-forte where nothing is said.
    pub level: u8,
}

/// Sounds, part by part.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sounds(pub Vec<Vec<Sound>>);

/// Mezzo-forte.
const USUAL_LEVEL: f64 = 5.0;

impl Listening {
    /// Of a tune.
    pub(super) fn of(tune: &Tune, names: &[String]) -> Listening {
        let table = Table::of(tune);
        let clock = Clock::of(tune);
        let mut told = true;
        let bars = tune.bars.iter().zip(&table.bars).map(|(bar, row)| {
            let wholes = seconds(&clock, bar.start, bar.start + bar.length);
            told &= wholes.is_some();
            let length = row.end - row.start;
            let usual = length as f64 / QUARTER as f64 * 60.0 / USUAL;
            (row.start, length, wholes.unwrap_or(usual))
        });
        let bars = bars.collect();
        let parts = names.iter().cloned().zip(table.pitched.iter().copied()).collect();
        Listening { parts, bars, sounds: Sounds::of(&table, None), told }
    }
}

impl Sounds {
    /// Of a table, or of some of its bars.
    pub(super) fn of(table: &Table, bars: Option<(u32, u32)>) -> Sounds {
        let mut parts = vec![Vec::new(); table.pitched.len()];
        let inside = |bar: u32| bars.is_none_or(|(from, to)| (from..=to).contains(&bar));
        for sound in table.sounds.iter().filter(|sound| inside(sound.bar)) {
            let level = sound.level.unwrap_or(USUAL_LEVEL).round().clamp(0.0, 9.0) as u8;
            let Some(part) = parts.get_mut(sound.part as usize) else { continue };
            let (onset, length) = (sound.onset, sound.end - sound.onset);
            part.push(Sound { onset, length, midi: sound.midi, level });
        }
        Sounds(parts)
    }

    /// Whether nothing sounds.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(Vec::is_empty)
    }
}

/// The mean of the seconds that a stretch may take; none where no tempo is known.
pub(super) fn seconds(clock: &Clock, from: Time, to: Time) -> Option<f64> {
    clock.between(from, to).map(|one| (one.least + one.most) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::lower;

    #[test]
    fn ties_are_one_sound_and_bars_have_seconds() {
        let tune = lower("X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\n!f!c2 d2-|d2 z2|\n").tune;
        let heard = Listening::of(&tune, &["Flute".to_owned()]);
        let sounds = &heard.sounds.0[0];
        assert_eq!(sounds.len(), 2);
        assert_eq!((sounds[1].onset, sounds[1].length), (2 * QUARTER, 4 * QUARTER));
        assert_eq!((sounds[1].midi, sounds[1].level), (74, 6));
        assert_eq!(heard.bars[1], (4 * QUARTER, 4 * QUARTER, 4.0));
        assert!(heard.told);
        let table = Table::of(&tune);
        assert_eq!(Sounds::of(&table, Some((0, 0))).0[0].len(), 2);
        assert!(Sounds::of(&table, Some((1, 1))).is_empty());
    }

    #[test]
    fn without_a_tempo_a_usual_one() {
        let tune = lower("X:1\nM:4/4\nL:1/4\nK:C\nc4|\n").tune;
        let heard = Listening::of(&tune, &["1".to_owned()]);
        assert_eq!((heard.told, heard.bars[0].2), (false, 2.5));
    }
}
