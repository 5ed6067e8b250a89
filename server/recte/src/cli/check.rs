//! `recte check`: findings of many scores.

use super::{Outcome, PathArgs, print, take_each, with_jobs};
use crate::files::{Input, SCORES, complain, gather, without_music};
use crate::render::{Report, Scores, family_of, json, text};
use crate::score;
use crate::settings::Settings;
use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;
use recte_assist::{Snapshot, check};
use recte_review::{Config, Family, RuleSetting, Severity, find_rule};
use std::io::{IsTerminal, stderr};
use std::path::Path;
use std::sync::Arc;

/// From so many scores on, progress is shown.
const MANY: usize = 200;

#[derive(Args)]
pub(super) struct CheckArgs {
    #[command(flatten)]
    paths: PathArgs,
    /// How to say it
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
    /// End with 1 if a remark matters at least this much
    #[arg(long, value_enum, default_value = "warning", value_name = "SEVERITY")]
    fail_on: FailOn,
    #[command(flatten)]
    only: OnlyArgs,
}

/// Which remarks are wanted.
#[derive(Args)]
pub(super) struct OnlyArgs {
    /// Only remarks of this rule; may be given several times
    #[arg(long, value_name = "RULE", value_parser = known_rule)]
    rule: Vec<String>,
    /// Only remarks of this family; may be given several times
    #[arg(long, value_name = "FAMILY", value_parser = known_family)]
    family: Vec<Family>,
}

impl OnlyArgs {
    /// The settings, with the rules named that are asked for: those that only observe speak only then.
    pub(super) fn asking(&self, config: Arc<Config>) -> Arc<Config> {
        if self.rule.is_empty() {
            return config;
        }
        let mut config = (*config).clone();
        for rule in self.rule.iter().filter_map(|id| find_rule(id)) {
            config.rules.entry(rule.id.to_owned()).or_insert(RuleSetting::of(rule.severity));
        }
        Arc::new(config)
    }

    /// Whether a rule is among those asked for; where none is, all are.
    pub(super) fn keeps(&self, rule: &str) -> bool {
        (self.rule.is_empty() || self.rule.iter().any(|wanted| wanted == rule))
            && (self.family.is_empty() || self.family.contains(&family_of(rule)))
    }
}

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    /// For reading
    Text,
    /// One JSON object
    Json,
    /// One JSON object a remark, a line each
    Jsonl,
}

#[derive(Clone, Copy, ValueEnum)]
pub(super) enum FailOn {
    Error,
    Warning,
    Info,
    Hint,
    Never,
}

impl FailOn {
    pub(super) fn severity(self) -> Option<Severity> {
        match self {
            FailOn::Error => Some(Severity::Error),
            FailOn::Warning => Some(Severity::Warning),
            FailOn::Info => Some(Severity::Info),
            FailOn::Hint => Some(Severity::Hint),
            FailOn::Never => None,
        }
    }
}

/// A score and the settings that hold for it.
pub(super) type Score = (Input, Arc<Config>);

/// A rule's id, or a sentence with the nearest.
pub(super) fn known_rule(id: &str) -> Result<String, String> {
    if find_rule(id).is_some() || id == "accept" {
        return Ok(id.to_owned());
    }
    Err(recte_review::unused_message(id))
}

fn known_family(name: &str) -> Result<Family, String> {
    Family::ALL
        .into_iter()
        .find(|family| family.name() == name)
        .ok_or_else(|| format!("the families are {}", Family::ALL.map(Family::name).join(", ")))
}

pub(super) fn run(args: &CheckArgs) -> Outcome {
    let (scores, failed) = match read_all(&args.paths, SCORES) {
        Ok(read) => read,
        Err(outcome) => return outcome,
    };
    let reports = with_jobs(args.paths.jobs, || all(args, scores));
    let mut done = Vec::new();
    let unread = failed + take_each(reports, |report| done.push(report));
    let scores = Scores { reports: done, unread };
    let output = match args.format {
        Format::Text => text::render(&scores),
        Format::Json => json::render(&scores),
        Format::Jsonl => json::render_lines(&scores),
    };
    let worst = scores.remarks().map(|(_, one)| one.finding().severity).max();
    let fails = args.fail_on.severity().is_some_and(|least| worst >= Some(least));
    let outcome = if fails { Outcome::Found } else { Outcome::Clean };
    print(&output, if unread > 0 { Outcome::Failed } else { outcome })
}

/// What paths stand for, each with its settings; and how many folders could not be read.
pub(super) fn read_all(paths: &PathArgs, endings: &[&str]) -> Result<(Vec<Score>, usize), Outcome> {
    let (inputs, unreadable) = gather(&paths.paths, endings);
    unreadable.iter().for_each(|why| complain(why));
    let settings = Settings::new(paths.config.clone());
    let mut scores = Vec::new();
    for input in inputs {
        match settings.config(input.path()) {
            Ok(config) => scores.push((input, config)),
            Err(mistakes) => {
                mistakes.iter().for_each(|mistake| complain(mistake));
                return Err(Outcome::Failed);
            }
        }
    }
    settings.warn();
    Ok((scores, unreadable.len()))
}

fn all(args: &CheckArgs, scores: Vec<Score>) -> Vec<Result<Report, String>> {
    let progress = progress(scores.len());
    let one = |(input, config): Score| {
        let report = one(args, &input, config);
        progress.inc(1);
        report
    };
    let reports = scores.into_par_iter().map(one).collect();
    progress.finish_and_clear();
    reports
}

fn progress(count: usize) -> ProgressBar {
    if count < MANY || !stderr().is_terminal() {
        return ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    }
    let bar = ProgressBar::new(count as u64);
    match ProgressStyle::with_template("{pos} of {len} scores {wide_bar} {eta}") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

fn one(args: &CheckArgs, input: &Input, config: Arc<Config>) -> Result<Report, String> {
    let score = read(input)?;
    let snapshot = Snapshot::new(score.document, args.only.asking(config));
    let mut remarks = check(&snapshot);
    remarks.retain(|one| args.only.keeps(one.finding().rule));
    Ok(Report { name: input.name(), document: snapshot.document, bars: score.bars, remarks })
}

/// Reads a score, and says what it lacks.
pub(super) fn read(input: &Input) -> Result<score::Score, String> {
    let score = score::read(input)?;
    if score.left_out > 0 {
        let things = match score.left_out {
            1 => "one thing".to_owned(),
            count => format!("{count} things"),
        };
        complain(&format!(
            "{}: read without {things} that a text cannot hold; `recte import` says which.",
            input.name()
        ));
    }
    if let Some(why) = without_music(&score.document) {
        complain(&format!("{}: {why}", input.name()));
    }
    Ok(score)
}

/// Remarks on a text that lies, or will lie, at a path; and how they would end `check`.
pub(super) fn of_text(name: &str, text: &str, path: &Path) -> (String, Outcome) {
    let settings = Settings::new(None);
    let config = match settings.config(path) {
        Ok(config) => config,
        Err(mistakes) => return (mistakes.join("\n"), Outcome::Failed),
    };
    settings.warn();
    let snapshot = Snapshot::new(recte_notation::Document::new(text), config);
    let remarks = check(&snapshot);
    let worst = remarks.iter().map(|one| one.finding().severity).max();
    let outcome = if worst >= Some(Severity::Warning) { Outcome::Found } else { Outcome::Clean };
    let report = Report { name: name.to_owned(), document: snapshot.document, bars: None, remarks };
    (text::render(&Scores { reports: vec![report], unread: 0 }), outcome)
}
