//! What the hands, the breath and the voice can do: the figures of a row that are no range.

use super::Level;
use crate::pitch::{Pitch, PitchName};
use crate::playability::Verdict;
use schemars::JsonSchema;
use serde::Deserialize;

/// A figure for each level of player.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct ByLevel<T> {
    pub professional: T,
    pub advanced: T,
    pub school: T,
}

impl<T: Copy> ByLevel<T> {
    /// The figure for a level.
    pub fn at(&self, level: Level) -> T {
        match level {
            Level::Professional => self.professional,
            Level::Advanced => self.advanced,
            Level::School => self.school,
        }
    }
}

/// Seconds that one bow lasts, by loudness.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct BowSeconds {
    pub p: f64,
    pub mf: f64,
    pub f: f64,
}

/// A string, not stopped.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenString {
    /// What players call it: "IV", "6".
    pub string: String,
    /// The name of its note, as players say it.
    pub name: String,
    /// What it sounds.
    pub sounding: Pitch,
}

/// What one player can sound at once. Which figures are there depends on the kind of instrument.
#[derive(Clone, PartialEq, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Stops {
    /// Notes at once, at most.
    pub max_notes: Option<usize>,
    /// Notes that can be held, at most: a bow holds two.
    pub sustained_notes: Option<usize>,
    /// Whether only neighbouring strings sound together.
    pub adjacent_strings_only: bool,
    /// Semitones between the first and the fourth finger, in low positions.
    pub frame_semitones: Option<i32>,
    /// The same, stretched.
    pub stretch_semitones: Option<i32>,
    /// The same in high positions.
    pub high_position_semitones: Option<i32>,
    /// The length of the open string, in millimetres.
    pub string_mm: Option<f64>,
    /// What the hand reaches with ease, in millimetres.
    pub frame_mm: Option<f64>,
    /// The same with the higher finger on the lower string.
    pub frame_reversed_mm: Option<f64>,
    /// What it reaches at most.
    pub stretch_mm: Option<f64>,
    /// What it reaches with the thumb on the string.
    pub thumb_mm: Option<f64>,
    /// From which stop on the thumb is used with ease, in semitones above the open string.
    pub thumb_from_offset: Option<i32>,
    /// The highest stop of a chord, in semitones above the open string.
    pub highest_offset: Option<ByLevel<i32>>,
    /// Frets from the lowest to the highest of a chord, both counted, with ease.
    pub fret_span_comfortable: Option<i32>,
    /// The same, stretched.
    pub fret_span_stretch: Option<i32>,
    /// Fingers that stop.
    pub left_fingers: Option<usize>,
    /// Whether one finger may lie over several strings.
    pub barre: bool,
    /// How many frets there are.
    pub frets: Option<i32>,
    /// Notes in one hand, at most.
    pub max_notes_per_hand: Option<usize>,
    /// Semitones in one hand, with ease.
    pub comfortable_span_semitones: Option<i32>,
    /// Semitones that most hands reach.
    pub possible_span_semitones: Option<i32>,
    /// Semitones that some hands reach.
    pub risky_span_semitones: Option<i32>,
    /// Semitones for school players.
    pub school_span_semitones: Option<i32>,
    /// What else to know.
    pub note: String,
}

/// A compass without a transposition.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Compass {
    pub min: Pitch,
    pub max: Pitch,
}

/// What is needed for a note that is not simply there.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)]
pub enum NaturalPolicy {
    OthersDoNotExist,
    OthersNeedBending,
    OthersNeedHalfHole,
    OthersNeedHandStopping,
    OthersNeedKeysOrHalfHole,
    OthersNeedMoreKeys,
    OthersOnSomeInstruments,
}

/// Two written notes that cannot, or hardly, be trilled.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct BadTrill {
    pub pair: [Pitch; 2],
    #[schemars(with = "String")]
    pub verdict: Verdict,
}

/// Where a note lies on the slide. The first position goes with the first partial, and so on.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct SlideNote {
    pub note: Pitch,
    pub positions: Vec<u8>,
    pub partials: Vec<u8>,
}

/// A kettledrum and its notes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Drum {
    pub inches: u32,
    pub min: Pitch,
    pub max: Pitch,
    /// What some drums of the size still reach.
    #[serde(default)]
    pub low_possible: Option<Pitch>,
}

/// Seconds to tune a drum anew.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct RetuneSeconds {
    pub pedal_near: f64,
    pub pedal_checked: f64,
    pub hand_screw: f64,
}

/// The pedals of a harp.
#[derive(Clone, PartialEq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pedals {
    /// Letters under the left foot, from outside in.
    pub left: Vec<PitchName>,
    /// Letters under the right foot, from inside out.
    pub right: Vec<PitchName>,
    /// The places of a pedal.
    pub positions: Vec<String>,
    /// Moves a second with one foot.
    pub moves_per_second: f64,
    /// Moves a second spread over both feet.
    pub moves_per_second_both_feet: f64,
    /// Strings that no pedal acts on.
    pub no_pedal_strings: Vec<Pitch>,
}

/// The levers of a harp, one a string.
#[derive(Clone, PartialEq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Levers {
    /// The major key it is tuned in with all levers down.
    pub tuned_in: PitchName,
    /// Moves a second.
    pub moves_per_second: f64,
    /// The hand that moves them.
    pub moving_hand: String,
}

/// The pedals of an organ.
#[derive(Clone, PartialEq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Pedalboard {
    pub written_min: Pitch,
    pub written_max: Pitch,
    /// Where many pedalboards end.
    pub usual_max: Pitch,
    pub clef: String,
    pub note: String,
    /// Notes a second with alternating feet.
    pub notes_per_second: f64,
}

/// The left hand of an accordion.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct LeftHand {
    pub clef: String,
    /// "none": what is written there is a convention, and nothing is checked.
    pub check: String,
    pub note: String,
}
