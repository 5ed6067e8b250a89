//! Instruments and voices: what is written for them, what sounds, and how far they reach.
//!
//! The facts are `data/instruments.toml`, one row an instrument, each figure with its source.

mod label;
mod own;
mod roster;
mod technique;
#[cfg(test)]
mod tests;

pub use label::{Found, choose, key_class};
pub use own::{Row, RowFault, row_schema};
pub use roster::Roster;
pub use technique::{
    BadTrill, BowSeconds, ByLevel, Compass, Drum, LeftHand, Levers, NaturalPolicy, OpenString,
    Pedalboard, Pedals, RetuneSeconds, SlideNote, Stops,
};

use crate::pitch::{Pitch, PitchName};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// For whom one writes. School is an intermediate student of three to four years, advanced a
/// conservatory student or good amateur.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Debug,
    Default,
    Deserialize,
    Serialize,
    JsonSchema,
)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum Level {
    #[default]
    Professional,
    Advanced,
    School,
}

/// The families of the score.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)]
pub enum Family {
    Woodwind,
    Brass,
    Percussion,
    Plucked,
    Keyboard,
    FreeReed,
    Voice,
    Strings,
}

/// From the written note to the sounding one.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Deserialize, JsonSchema)]
pub struct Transposition {
    /// Semitones upwards; the B flat clarinet has −2.
    pub chromatic: i32,
    /// Letter steps upwards; the B flat clarinet has −1.
    pub diatonic: i32,
}

impl Transposition {
    /// What is heard when this is written.
    pub fn sounding(self, written: Pitch) -> Pitch {
        written.transposed(self.diatonic, self.chromatic)
    }

    /// What is written for this to be heard.
    pub fn written(self, sounding: Pitch) -> Pitch {
        sounding.transposed(-self.diatonic, -self.chromatic)
    }
}

/// Another way a part for the same instrument is read.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
pub struct Alternative {
    /// In which clef.
    pub clef: String,
    /// How it then sounds.
    #[serde(flatten)]
    pub transposition: Transposition,
    /// The custom that reads it so.
    pub when: String,
}

/// The lowest and highest note of a span, as written and as sounding.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Deserialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Range {
    pub written_min: Pitch,
    pub written_max: Pitch,
    pub sounding_min: Pitch,
    pub sounding_max: Pitch,
}

impl Range {
    /// Whether a note as written lies inside, whatever it is called.
    pub fn contains_written(&self, pitch: Pitch) -> bool {
        (self.written_min.midi()..=self.written_max.midi()).contains(&pitch.midi())
    }

    /// Whether a note as heard lies inside, whatever it is called.
    pub fn contains_sounding(&self, pitch: Pitch) -> bool {
        (self.sounding_min.midi()..=self.sounding_max.midi()).contains(&pitch.midi())
    }
}

/// What to watch in a register.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Concern {
    /// Hard to play softly.
    NotSoft,
    /// Hard to play loudly, or soon covered.
    NotLoud,
    /// A caution at any dynamic, above all sustained.
    Extreme,
    /// Not for quick notes.
    Slow,
    /// Needs an extension, key, attachment or string that not every instrument has.
    Special,
}

/// A register. Together they cover the professional range without holes or overlaps.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
pub struct Register {
    /// "low", "middle", "top" …
    pub label: String,
    /// Where it lies.
    #[serde(flatten)]
    pub range: Range,
    /// What to watch; often nothing.
    #[serde(default)]
    pub concern: Vec<Concern>,
    /// How it sounds.
    #[serde(default)]
    pub character: String,
    /// What a colleague would warn of; may be empty.
    #[serde(default)]
    pub caution: String,
}

/// What cuts across registers.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)]
pub enum ZoneKind {
    Break,
    Throat,
    Passage,
    HalfHole,
    Flick,
}

/// A place that cuts across registers: the clarinet's break, a singer's passage.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize, JsonSchema)]
pub struct Zone {
    /// Its name.
    pub label: String,
    /// Where it lies.
    #[serde(flatten)]
    pub range: Range,
    /// What it is.
    pub kind: ZoneKind,
    /// What a colleague would warn of.
    pub caution: String,
}

/// One instrument or voice.
#[derive(Clone, PartialEq, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// Its place in a full score, from the top.
    pub score_order: u32,
    /// Its name for machines: "clarinet-in-b-flat".
    pub id: String,
    /// Its name in a sentence: "Clarinet in B-flat".
    pub name: String,
    /// Its family.
    pub family: Family,
    /// Names and abbreviations in several languages.
    pub names: Vec<String>,
    /// The clefs its players read, the usual one first.
    pub clefs: Vec<String>,
    /// Whether it plays definite pitches.
    pub pitched: bool,
    /// From written to sounding; none for unpitched percussion.
    #[serde(default)]
    pub transposition: Option<Transposition>,
    /// Other readings of its parts, by clef.
    #[serde(default, rename = "alternative_transposition")]
    pub alternative_transpositions: Vec<Alternative>,
    #[serde(default)]
    range_professional: Option<Range>,
    #[serde(default)]
    range_advanced: Option<Range>,
    #[serde(default)]
    range_school: Option<Range>,
    /// Its registers from the lowest up.
    #[serde(default, rename = "register")]
    pub registers: Vec<Register>,
    /// Places that cut across the registers.
    #[serde(default, rename = "zone")]
    pub zones: Vec<Zone>,
    /// Where a voice is at home.
    #[serde(default)]
    pub tessitura: Option<Compass>,
    /// Seconds of one breath, mezzo-forte in the middle register.
    #[serde(default)]
    pub breath_seconds: Option<ByLevel<f64>>,
    /// Below this written note a breath lasts two thirds as long.
    #[serde(default)]
    pub low_air_below: Option<Pitch>,
    /// Seconds that one plays on without a rest.
    #[serde(default)]
    pub rest_after_seconds: Option<ByLevel<f64>>,
    /// The same above the middle register.
    #[serde(default)]
    pub high_rest_after_seconds: Option<ByLevel<f64>>,
    /// Seconds of one bow.
    #[serde(default)]
    pub bow_seconds: Option<BowSeconds>,
    /// Notes a second, each with its own tongue, bow or stroke.
    #[serde(default)]
    pub repeat_per_second: Option<ByLevel<f64>>,
    /// What that stroke is.
    #[serde(default)]
    pub repeat_means: String,
    /// Notes a second with double or triple tonguing.
    #[serde(default)]
    pub multiple_tonguing_per_second: Option<f64>,
    /// Whether its players are expected to double-tongue.
    #[serde(default)]
    pub multiple_tonguing_common: bool,
    /// Notes a second under a slur, or with free fingers.
    #[serde(default)]
    pub slurred_per_second: Option<ByLevel<f64>>,
    /// Plucked notes a second, of a bowed instrument.
    #[serde(default)]
    pub pizz_per_second: Option<ByLevel<f64>>,
    /// Octaves a second in one hand.
    #[serde(default)]
    pub octave_repeat_per_second: Option<ByLevel<f64>>,
    /// Syllables a second.
    #[serde(default)]
    pub syllables_per_second: Option<ByLevel<f64>>,
    /// The largest leap between two notes shorter than a quarter of a second, in semitones.
    #[serde(default)]
    pub leap_semitones_at_speed: Option<ByLevel<i32>>,
    /// Its strings from the lowest, not stopped.
    #[serde(default)]
    pub open_strings: Vec<OpenString>,
    /// What sounds at once.
    #[serde(default)]
    pub stops: Option<Stops>,
    /// The only written notes there are; empty where there are all.
    #[serde(default)]
    pub fixed_pitches: Vec<Pitch>,
    /// What is read otherwise under `K:HP`: "C5=C#5".
    #[serde(default, rename = "kHP_reads")]
    pub khp_reads: Vec<String>,
    /// The written notes that are simply there; empty where all are.
    #[serde(default)]
    pub natural_pitches: Vec<Pitch>,
    /// The same in every octave.
    #[serde(default)]
    pub natural_pitch_classes: Vec<PitchName>,
    /// What the other notes need.
    #[serde(default)]
    pub natural_policy: Option<NaturalPolicy>,
    /// Whether it sounds on and on: no rests, no dynamics.
    #[serde(default)]
    pub continuous_sound: bool,
    /// Whether two equal notes in a row need a grace note between.
    #[serde(default)]
    pub equal_notes_need_grace: bool,
    /// Notes of one direction of the breath.
    #[serde(default)]
    pub blow: Vec<Pitch>,
    /// Notes of the other.
    #[serde(default)]
    pub draw: Vec<Pitch>,
    /// Pairs of notes that do not trill.
    #[serde(default)]
    pub bad_trills: Vec<BadTrill>,
    /// Where notes lie on the slide.
    #[serde(default)]
    pub slide_positions: Vec<SlideNote>,
    /// The sizes of drums there are, the largest first.
    #[serde(default)]
    pub drums: Vec<Drum>,
    /// How many stand there as a rule.
    #[serde(default)]
    pub drums_usual: Option<usize>,
    /// How many in a school.
    #[serde(default)]
    pub drums_school: Option<usize>,
    /// How long tuning takes.
    #[serde(default)]
    pub retune_seconds: Option<RetuneSeconds>,
    /// The pedals of a harp.
    #[serde(default)]
    pub pedals: Option<Pedals>,
    /// The levers of a harp.
    #[serde(default)]
    pub levers: Option<Levers>,
    /// The pedals of an organ.
    #[serde(default)]
    pub pedalboard: Option<Pedalboard>,
    /// The left hand of an accordion.
    #[serde(default)]
    pub left_hand: Option<LeftHand>,
    /// What else to know, a sentence each.
    #[serde(default)]
    pub limits: Vec<String>,
    /// Which source each kind of figure comes from.
    #[serde(default)]
    pub source: BTreeMap<String, String>,
}

impl Instrument {
    /// How far it reaches at a level; none for unpitched percussion.
    pub fn range(&self, level: Level) -> Option<Range> {
        match level {
            Level::Professional => self.range_professional,
            Level::Advanced => self.range_advanced,
            Level::School => self.range_school,
        }
    }

    /// The register a written note lies in.
    pub fn register_written(&self, pitch: Pitch) -> Option<&Register> {
        self.registers.iter().find(|register| register.range.contains_written(pitch))
    }

    /// The register a sounding note lies in.
    pub fn register_sounding(&self, pitch: Pitch) -> Option<&Register> {
        self.registers.iter().find(|register| register.range.contains_sounding(pitch))
    }
}

/// A label that several instruments share.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
pub struct AmbiguousLabel {
    /// As it stands in scores.
    pub label: String,
    /// The ids of those it may mean.
    pub candidates: Vec<String>,
    /// What decides.
    pub reading: String,
    /// Where that comes from.
    pub source: String,
}

/// All instruments and voices of the table that comes with the program, in score order.
pub fn instruments() -> &'static [Instrument] {
    Roster::standard().instruments()
}

/// The instrument of that table with that id.
pub fn by_id(id: &str) -> Option<&'static Instrument> {
    Roster::standard().by_id(id)
}
