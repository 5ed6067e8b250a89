//! Instruments and voices: what is written for them, what sounds, and how far they reach.
//!
//! The facts are `data/instruments.toml`, one row an instrument, each figure with its source.

mod label;
#[cfg(test)]
mod tests;

pub use label::{Found, choose, find, nearest};

use crate::pitch::Pitch;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// For whom one writes. School is an intermediate student of three to four years, advanced a
/// conservatory student or good amateur.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default, Deserialize, Serialize,
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
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize, Serialize)]
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
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Deserialize)]
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
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
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
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Deserialize)]
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
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize)]
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
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
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
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize)]
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
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
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
#[derive(Clone, PartialEq, Debug, Deserialize)]
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

#[derive(Default, Deserialize)]
struct Table {
    #[serde(default, rename = "instrument")]
    instruments: Vec<Instrument>,
    #[serde(default, rename = "ambiguous_label")]
    ambiguous_labels: Vec<AmbiguousLabel>,
}

const TEXT: &str = include_str!("../data/instruments.toml");

// The text is part of the program and a test reads every row of it.
static TABLE: LazyLock<Table> = LazyLock::new(|| toml::from_str(TEXT).unwrap_or_default());

/// All instruments and voices, in score order.
pub fn instruments() -> &'static [Instrument] {
    &TABLE.instruments
}

/// The labels that mean more than one instrument.
pub fn ambiguous_labels() -> &'static [AmbiguousLabel] {
    &TABLE.ambiguous_labels
}

/// The instrument with that id.
pub fn by_id(id: &str) -> Option<&'static Instrument> {
    instruments().iter().find(|instrument| instrument.id == id)
}
