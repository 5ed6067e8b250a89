//! `recte rules`, `recte explain`, `recte instruments`: what the program knows.

use super::{Outcome, print};
use crate::files::complain;
use crate::render::{json, severity_word};
use clap::{Args, ValueEnum};
use recte_review::{RULES, Rule, find_rule, unused_message};
use recte_theory::instruments::{Found, Instrument, Level, Roster, instruments};
use serde_json::{Value, json};
use std::fmt::Write;

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    /// For reading
    Text,
    /// One JSON object
    Json,
}

#[derive(Args)]
pub(super) struct RulesArgs {
    /// How to list them
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

#[derive(Args)]
pub(super) struct ExplainArgs {
    /// The rule's name, as `recte rules` lists it
    #[arg(value_name = "RULE")]
    rule: String,
}

#[derive(Args)]
pub(super) struct InstrumentsArgs {
    /// Only this one, by any of its names or abbreviations
    #[arg(value_name = "NAME")]
    name: Option<String>,
    /// How to list them
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

pub(super) fn rules(args: &RulesArgs) -> Outcome {
    let mut sorted: Vec<&Rule> = RULES.iter().collect();
    sorted.sort_by_key(|rule| (rule.family, rule.id));
    let text = match args.format {
        Format::Text => {
            let line = |rule: &&Rule| {
                let severity = severity_word(rule.severity);
                format!("{:9} {:22} {severity:8} {}\n", rule.family.name(), rule.id, rule.summary)
            };
            sorted.iter().map(line).collect()
        }
        Format::Json => {
            let rule = |rule: &&Rule| {
                json!({
                    "rule": rule.id,
                    "family": rule.family,
                    "severity": rule.severity,
                    "summary": rule.summary,
                    "documentation": rule.doc,
                })
            };
            json::text(
                &json!({ "version": 1, "rules": sorted.iter().map(rule).collect::<Vec<_>>() }),
            )
        }
    };
    print(&text, Outcome::Clean)
}

pub(super) fn explain(args: &ExplainArgs) -> Outcome {
    match find_rule(&args.rule) {
        Some(rule) => print(rule.doc, Outcome::Clean),
        None => {
            complain(&unused_message(&args.rule));
            Outcome::Failed
        }
    }
}

pub(super) fn instruments_table(args: &InstrumentsArgs) -> Outcome {
    let chosen: Vec<&Instrument> = match &args.name {
        None => instruments().iter().collect(),
        Some(name) => match Roster::standard().find(name) {
            Found::One(instrument) => vec![instrument],
            Found::Several(several) => several,
            Found::None => {
                complain(&format!("No instrument or voice is known by the name “{name}”."));
                return Outcome::Failed;
            }
        },
    };
    let text = match args.format {
        Format::Json => {
            let all: Vec<Value> = chosen.iter().map(|one| as_json(one)).collect();
            json::text(&json!({ "version": 1, "instruments": all }))
        }
        Format::Text if args.name.is_some() => chosen.iter().map(|one| in_full(one)).collect(),
        Format::Text => chosen.iter().map(|one| in_a_line(one)).collect(),
    };
    print(&text, Outcome::Clean)
}

const LEVELS: [(Level, &str); 3] = [
    (Level::Professional, "professional"),
    (Level::Advanced, "advanced"),
    (Level::School, "school"),
];

fn in_a_line(one: &Instrument) -> String {
    let range = one.range(Level::Professional);
    let range = range.map_or(String::new(), |r| format!("{}–{}", r.sounding_min, r.sounding_max));
    format!("{:28} {:32} {range}\n", one.id, one.name)
}

/// Everything the table says of one, with the sources.
fn in_full(one: &Instrument) -> String {
    let mut text = format!("{} ({})\n", one.name, one.id);
    let _ = writeln!(text, "  clefs: {}", one.clefs.join(", "));
    if let Some(sound) = one.transposition.filter(|sound| sound.chromatic != 0) {
        let _ = writeln!(text, "  sounds {:+} semitones from what is written", sound.chromatic);
    }
    for (level, word) in LEVELS {
        if let Some(range) = one.range(level) {
            let (low, high) = (range.written_min, range.written_max);
            let (deep, top) = (range.sounding_min, range.sounding_max);
            let _ = writeln!(text, "  {word}: written {low}–{high}, sounding {deep}–{top}");
        }
    }
    for register in &one.registers {
        let range = register.range;
        let said = [&register.character, &register.caution].map(|text| text.trim());
        let said: Vec<&str> = said.into_iter().filter(|text| !text.is_empty()).collect();
        let (low, high) = (range.written_min, range.written_max);
        let _ = writeln!(text, "  {} {low}–{high}: {}", register.label, said.join("; "));
    }
    for zone in &one.zones {
        let (low, high) = (zone.range.written_min, zone.range.written_max);
        let _ = writeln!(text, "  {} {low}–{high}: {}", zone.label, zone.caution);
    }
    one.limits.iter().for_each(|limit| {
        let _ = writeln!(text, "  {limit}");
    });
    one.source.iter().for_each(|(what, source)| {
        let _ = writeln!(text, "  source ({what}): {source}");
    });
    text.push('\n');
    text
}

fn as_json(one: &Instrument) -> Value {
    let ranges = LEVELS.iter().filter_map(|(level, word)| {
        let range = one.range(*level)?;
        let pair = |low: recte_theory::Pitch, high: recte_theory::Pitch| {
            json!([low.to_string(), high.to_string()])
        };
        let written = pair(range.written_min, range.written_max);
        let sounding = pair(range.sounding_min, range.sounding_max);
        Some(((*word).to_owned(), json!({ "written": written, "sounding": sounding })))
    });
    json!({
        "id": one.id,
        "name": one.name,
        "family": one.family,
        "names": one.names,
        "clefs": one.clefs,
        "pitched": one.pitched,
        "transposition": one.transposition.map(|t| json!({ "chromatic": t.chromatic, "diatonic": t.diatonic })),
        "ranges": Value::Object(ranges.collect()),
        "limits": one.limits,
        "source": one.source,
    })
}
