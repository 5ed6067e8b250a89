//! `recte config`: what holds for a path, and why.

use super::{Outcome, print};
use crate::files::complain;
use crate::render::json;
use crate::settings::Settings;
use clap::Args;
use recte_assist::config::schema;
use std::fmt::Write;
use std::path::PathBuf;

#[derive(Args)]
pub(super) struct ConfigArgs {
    /// A score or a folder
    #[arg(default_value = ".", value_name = "PATH")]
    path: PathBuf,
    /// Use this configuration file instead of the nearest recte.toml
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    /// Print the JSON Schema of recte.toml instead
    #[arg(long)]
    schema: bool,
}

pub(super) fn run(args: &ConfigArgs) -> Outcome {
    if args.schema {
        return print(&json::text(&schema()), Outcome::Clean);
    }
    let settings = Settings::new(args.config.clone());
    // A folder stands for a score in it.
    let path = if args.path.is_dir() { args.path.join("-") } else { args.path.clone() };
    let resolved = match settings.resolve(&path, None) {
        Ok(resolved) => resolved,
        Err(mistakes) => {
            mistakes.iter().for_each(|mistake| complain(mistake));
            return Outcome::Failed;
        }
    };
    settings.warn();
    let mut text = String::new();
    for (key, value, source) in &resolved.origins {
        let source = source.as_ref().map_or("default".to_owned(), ToString::to_string);
        let _ = writeln!(text, "{:40} # {source}", format!("{key} = {value}"));
    }
    print(&text, Outcome::Clean)
}
