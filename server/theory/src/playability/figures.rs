//! The thresholds of the models that are not an instrument's own. All from memory unless a comment names more; a
//! composer may set each of them.

use super::Verdict;
use serde::{Deserialize, Serialize};

/// A scale of three steps: up to each the verdict before it, beyond the last impossible. Ratios without a unit.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Scale {
    /// Up to this it is easy.
    pub easy: f64,
    /// Up to this it is awkward.
    pub awkward: f64,
    /// Up to this it is hard.
    pub hard: f64,
}

/// What a sum of binary fractions may be off.
const SLIP: f64 = 1e-9;

impl Scale {
    /// The verdict for so many times a limit.
    pub fn verdict(&self, ratio: f64) -> Verdict {
        match ratio - SLIP {
            r if r <= self.easy => Verdict::Easy,
            r if r <= self.awkward => Verdict::Awkward,
            r if r <= self.hard => Verdict::Hard,
            _ => Verdict::Impossible,
        }
    }
}

/// The thresholds of all models.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize, Serialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Figures {
    /// Notes a second against the limit of the instrument.
    pub pace: Scale,
    /// Seconds against the breath there is.
    pub breath: Scale,
    /// How much longer a breath lasts at p and softer.
    pub breath_soft: f64,
    /// How much of it is left at f.
    pub breath_loud: f64,
    /// How much of it is left at ff.
    pub breath_loudest: f64,
    /// How much of it is left below the note where much air is used.
    pub breath_low: f64,
    /// A slur of so many bows is hard; of more than one, awkward.
    pub bows_hard: f64,
    /// Seconds of loud tremolo without a rest.
    pub tremolo_seconds: f64,
    /// Notes a second from which on alternating across a break is minded.
    pub break_per_second: f64,
    /// Seconds of high singing, or of text on the change of register.
    pub tessitura_seconds: f64,
    /// Notes shorter than so many seconds leap "at speed".
    pub leap_seconds: f64,
    /// Seconds for a leap of two octaves in one hand.
    pub two_octaves_seconds: f64,
    /// Artificial harmonics a second.
    pub harmonics_per_second: f64,
    /// Positions of the slide from which on a move is far.
    pub slide_far: i32,
    /// Notes a second from which on a far move is awkward.
    pub slide_far_per_second: f64,
    /// Positions a second that no arm makes.
    pub slide_positions_per_second: f64,
    /// Semitones outside a level's range that are too many (a fourth).
    pub outside_semitones: i32,
    /// Semitones that the hand moves between two stops without a change of position to speak of.
    pub position_semitones: i32,
}

impl Default for Figures {
    fn default() -> Figures {
        Figures {
            pace: Scale { easy: 1.0, awkward: 1.1, hard: 1.75 },
            breath: Scale { easy: 1.0, awkward: 1.5, hard: 2.5 },
            breath_soft: 1.2,
            breath_loud: 0.7,
            breath_loudest: 0.5,
            breath_low: 2.0 / 3.0,
            bows_hard: 2.5,
            tremolo_seconds: 30.0,
            break_per_second: 6.0,
            tessitura_seconds: 8.0,
            leap_seconds: 0.25,
            two_octaves_seconds: 0.5,
            harmonics_per_second: 2.0,
            slide_far: 5,
            slide_far_per_second: 3.0,
            slide_positions_per_second: 32.0,
            outside_semitones: 5,
            position_semitones: 2,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_has_its_ends_inside() {
        let pace = Figures::default().pace;
        let verdicts = [0.5, 1.0, 1.05, 1.1, 1.5, 1.75, 1.8].map(|ratio| pace.verdict(ratio));
        use Verdict::{Awkward, Easy, Hard, Impossible};
        assert_eq!(verdicts, [Easy, Easy, Awkward, Awkward, Hard, Hard, Impossible]);
        assert_eq!(pace.verdict(0.1 + 0.2 + 0.7), Easy);
    }

    #[test]
    fn a_composer_sets_one_of_them() {
        let figures: Figures = toml::from_str("tremolo-seconds = 45").unwrap();
        assert_eq!(figures, Figures { tremolo_seconds: 45.0, ..Figures::default() });
        assert!(toml::from_str::<Figures>("tremolo = 45").is_err());
    }
}
