//! What a report holds, and for whom it is worded.

use serde::{Deserialize, Serialize};

/// A part of a report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Chapter {
    /// What the piece is: forces, length, keys, metres.
    Piece,
    /// What stands out, in three sentences.
    Standout,
    /// What became of the last draft, where one is named.
    Since,
    /// Remarks by bar, with the reviewer's own.
    Bars,
    /// Where something could hurt a player or singer.
    Cautions,
    /// The harmonies and the local keys.
    Harmony,
    /// Each part as its player meets it.
    Parts,
    /// Who carries what, bar by bar.
    Layers,
    /// The sections and how they differ.
    Form,
    /// Register, density, loudness and dissonance.
    Curves,
    /// How like each bar is to each other.
    Likeness,
    /// How it was worked out, with sources.
    Method,
}

impl Chapter {
    /// All, in the usual order.
    pub const ALL: [Chapter; 12] = [
        Chapter::Piece,
        Chapter::Standout,
        Chapter::Since,
        Chapter::Bars,
        Chapter::Cautions,
        Chapter::Harmony,
        Chapter::Parts,
        Chapter::Layers,
        Chapter::Form,
        Chapter::Curves,
        Chapter::Likeness,
        Chapter::Method,
    ];

    /// Its name in the settings.
    pub fn name(self) -> &'static str {
        match self {
            Chapter::Piece => "piece",
            Chapter::Standout => "standout",
            Chapter::Since => "since",
            Chapter::Bars => "bars",
            Chapter::Cautions => "cautions",
            Chapter::Harmony => "harmony",
            Chapter::Parts => "parts",
            Chapter::Layers => "layers",
            Chapter::Form => "form",
            Chapter::Curves => "curves",
            Chapter::Likeness => "likeness",
            Chapter::Method => "method",
        }
    }
}

/// For whom a report is worded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Reader {
    /// Someone of the trade: remarks and figures alone.
    #[default]
    Colleague,
    /// Someone who learns: each remark says why players mind, each chapter what it shows.
    Student,
}

/// A reviewer's template.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Template {
    /// The chapters, in their order.
    pub sections: Vec<Chapter>,
    /// For whom it is worded.
    pub reader: Reader,
    /// What stands before all else; blank lines part paragraphs.
    pub greeting: String,
    /// What stands after all else.
    pub closing: String,
}

impl Default for Template {
    fn default() -> Template {
        Template {
            sections: Chapter::ALL.to_vec(),
            reader: Reader::default(),
            greeting: String::new(),
            closing: String::new(),
        }
    }
}

impl Template {
    /// The chapters, each once.
    pub fn chapters(&self) -> Vec<Chapter> {
        let mut all: Vec<Chapter> = Vec::new();
        for chapter in &self.sections {
            if !all.contains(chapter) {
                all.push(*chapter);
            }
        }
        all
    }

    /// Where a remark of a chapter is told: there, else among the remarks by bar, so that none is lost.
    pub fn holds(&self, chapter: Chapter) -> bool {
        self.sections.contains(&chapter)
    }
}
