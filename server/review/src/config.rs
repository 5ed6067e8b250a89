//! What a composer or reviewer can set.

use crate::finding::Severity;
use crate::template::Template;
use crate::words::Words;
use recte_theory::instruments::{Level, Roster};
use recte_theory::playability::Figures;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Settings, the same in `recte.toml` and in an editor.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Config {
    /// Names of note values: american (quarter, eighth) or british (crotchet, quaver).
    pub words: Words,
    /// The players' level, unless an instrument has its own.
    pub level: Level,
    /// The players' level by instrument id.
    pub levels: BTreeMap<String, Level>,
    /// The instruments: those of the table, and a user's own rows.
    #[serde(rename = "instrument")]
    pub roster: Roster,
    /// How fast, how long and how far players go beyond what is comfortable.
    pub playing: Figures,
    /// What becomes of each rule.
    pub rules: BTreeMap<String, RuleSetting>,
    /// What an editor shows between the signs of the text.
    pub hints: Hints,
    /// From where on a rule of texture speaks.
    pub texture: Texture,
    /// What a report holds.
    pub report: Template,
}

/// From where on the rules of texture speak.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Texture {
    /// A figure that one part keeps for more bars than these is told of …
    pub figure_bars: u32,
    /// … or for more seconds than these, if it is at least eight bars.
    pub figure_seconds: u32,
    /// Sections with a contrast below this contrast little, in hundredths.
    pub contrast: u32,
    /// A joint with an abruptness below this comes by and by, in hundredths.
    pub abruptness: u32,
}

impl Default for Texture {
    /// From memory: planning figures, no source.
    fn default() -> Texture {
        Texture { figure_bars: 16, figure_seconds: 40, contrast: 50, abruptness: 50 }
    }
}

/// What an editor shows between the signs of the text, without its being typed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Hints {
    /// The chord symbol of each harmony, where it begins.
    pub chords: bool,
    /// Its degree in the local key.
    pub degrees: bool,
}

/// What becomes of a rule.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum RuleSetting {
    /// It says nothing.
    Off,
    /// It speaks as a hint.
    Hint,
    /// It speaks as an information.
    Info,
    /// It speaks as a warning.
    Warning,
    /// It speaks as an error.
    Error,
}

impl RuleSetting {
    /// The setting that lets a rule speak at a severity.
    pub fn of(severity: Severity) -> RuleSetting {
        match severity {
            Severity::Hint => RuleSetting::Hint,
            Severity::Info => RuleSetting::Info,
            Severity::Warning => RuleSetting::Warning,
            Severity::Error => RuleSetting::Error,
        }
    }

    /// The severity; `None` for off.
    pub fn severity(self) -> Option<Severity> {
        match self {
            RuleSetting::Off => None,
            RuleSetting::Hint => Some(Severity::Hint),
            RuleSetting::Info => Some(Severity::Info),
            RuleSetting::Warning => Some(Severity::Warning),
            RuleSetting::Error => Some(Severity::Error),
        }
    }
}
