//! The rules, their findings and fixes, and what the composer accepts. Pure: it knows no protocol and no files.

mod around;
mod check;
pub mod chord_symbols;
mod config;
mod context;
mod far_keys;
mod finding;
mod idiom;
mod metre;
mod part_writing;
mod players;
mod proof;
mod rule;
#[cfg(test)]
mod rule_tests;
mod signs;
mod spelling;
mod template;
mod texture;
pub mod words;

pub use around::{Around, Twin};
pub use check::{Checked, check_block, unused_message};
pub use config::{Config, Hints, RuleSetting, Texture};
pub use context::Context;
pub use finding::{Finding, Fix, FixKind, Related, Severity};
pub use idiom::{Densest, Part, Unbroken, parts_of};
pub use rule::{Example, Family, RULES, Rule, find_rule};
pub use template::{Chapter, Reader, Template};
