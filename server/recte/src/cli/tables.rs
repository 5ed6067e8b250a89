//! `recte rules`, `recte explain`: what the program looks for.

use super::{Outcome, print};
use crate::files::complain;
use crate::render::{json, severity_word};
use clap::{Args, ValueEnum};
use recte_review::{RULES, Rule, find_rule, unused_message};
use serde_json::json;

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
