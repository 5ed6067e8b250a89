//! The table of rules, made from the files in `rules/`.

use crate::context::Context;
use crate::finding::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// The families remarks come in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Family {
    /// Names of notes.
    Spelling,
    /// Bars, beats, beams.
    Metre,
    /// What an instrument or voice can do.
    Idiom,
    /// Chords and progressions.
    Harmony,
    /// Layers, sections, contrast.
    Texture,
    /// What the standard calls wrong.
    Source,
}

impl Family {
    /// All of them.
    pub const ALL: [Family; 6] = [
        Family::Spelling,
        Family::Metre,
        Family::Idiom,
        Family::Harmony,
        Family::Texture,
        Family::Source,
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Family::Spelling => "spelling",
            Family::Metre => "metre",
            Family::Idiom => "idiom",
            Family::Harmony => "harmony",
            Family::Texture => "texture",
            Family::Source => "source",
        }
    }
}

/// A rule. Its file gives all but the id (the file's name) and the documentation (the file's head).
pub struct Rule {
    /// Its id: "chord-spelling".
    pub id: &'static str,
    /// Its explanation for people, with examples that are tests.
    pub doc: &'static str,
    /// Its family.
    pub family: Family,
    /// How much its remarks matter unless the configuration says otherwise. A rule may speak more softly.
    pub severity: Severity,
    /// One line.
    pub summary: &'static str,
    /// Finds. Severity and rule id are filled in by the context's `finding`.
    pub check: fn(&Context<'_>, &mut Vec<Finding>),
}

include!(concat!(env!("OUT_DIR"), "/rules.rs"));

/// The rule with this id.
pub fn find_rule(id: &str) -> Option<&'static Rule> {
    RULES.iter().find(|rule| rule.id == id)
}

/// An example in a rule's documentation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Example {
    /// "flagged", "fixed" (the flagged one before it, after its first fix) or "quiet".
    pub kind: String,
    /// The tune.
    pub text: String,
}

impl Rule {
    /// The examples in its documentation: fenced blocks marked `abc flagged`, `abc fixed`, `abc quiet`.
    pub fn examples(&self) -> Vec<Example> {
        let mut examples: Vec<Example> = Vec::new();
        let mut inside = false;
        for line in self.doc.lines() {
            if let Some(kind) = line.strip_prefix("```abc ") {
                inside = true;
                examples.push(Example { kind: kind.trim().to_owned(), text: String::new() });
            } else if line.starts_with("```") {
                inside = false;
            } else if inside && let Some(example) = examples.last_mut() {
                example.text.push_str(line);
                example.text.push('\n');
            }
        }
        examples
    }
}
