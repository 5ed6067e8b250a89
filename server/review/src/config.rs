//! What a composer or reviewer can set.

use crate::finding::Severity;
use crate::words::Words;
use recte_theory::instruments::{Level, Roster};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Settings, the same in `recte.toml` and in an editor.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
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
    /// What becomes of each rule.
    pub rules: BTreeMap<String, RuleSetting>,
    /// What an editor shows between the signs of the text.
    pub hints: Hints,
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
