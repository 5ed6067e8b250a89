//! `recte report`: a page for each tune of some scores, and an index.

use super::check::{Score, read_all};
use super::since::LastDrafts;
use super::{Outcome, PathArgs, print, with_jobs};
use crate::files::{Input, SCORES, complain, create, without_music};
use crate::render::html::{OURS, Sheet, index, page};
use crate::render::table::{Line, csv};
use crate::render::{markdown, report_json};
use crate::score;
use clap::{Args, ValueEnum};
use rayon::prelude::*;
use recte_assist::report::{TuneReport, report, report_since};
use recte_review::Config;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[derive(Args)]
pub(super) struct ReportArgs {
    #[command(flatten)]
    paths: PathArgs,
    /// The folder to write to: a page for each tune, and an index. Without it the report goes to standard output, as Markdown
    /// of one tune or as JSON
    #[arg(short, long, value_name = "DIR")]
    output: Option<PathBuf>,
    /// What to make
    #[arg(long, value_enum, default_value = "html")]
    format: Format,
    /// The last draft, to say what became of it: a score, or a folder that has scores of the same names
    #[arg(long, value_name = "OLD")]
    since: Option<PathBuf>,
    /// Write the table of the batch as well, with commas: remarks by family and score, the longest to review first
    #[arg(long, value_name = "FILE")]
    table: Option<PathBuf>,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Pages that need nothing else, for a browser
    Html,
    /// Text with marks
    Markdown,
    /// One JSON object
    Json,
}

/// What came of one score: its tunes, those that only the last draft has, and whether that one could be read.
struct One {
    tunes: Vec<Read>,
    gone: Vec<String>,
    failed: bool,
}

/// All that was read.
struct Batch {
    reads: Vec<Read>,
    /// Tunes and scores that only the last drafts have.
    gone: Vec<String>,
    /// What could not be read, and why.
    unread: Vec<String>,
}

/// A tune that was read.
struct Read {
    path: String,
    /// The name of its page, without its ending.
    name: String,
    /// Whether its score holds others.
    several: bool,
    report: TuneReport,
    config: Arc<Config>,
}

pub(super) fn run(args: &ReportArgs) -> Outcome {
    let (scores, failed) = match read_all(&args.paths, SCORES) {
        Ok(read) => read,
        Err(outcome) => return outcome,
    };
    let (drafts, failed) = match last_drafts(args, scores.len()) {
        Ok((drafts, more)) => (drafts, failed + more),
        Err(why) => {
            complain(&why);
            return Outcome::Failed;
        }
    };
    let gone = drafts.as_ref().map(|drafts| drafts.gone(scores.iter().map(|(input, _)| input)));
    let mut batch = Batch { reads: Vec::new(), gone: gone.unwrap_or_default(), unread: Vec::new() };
    let one = |(input, config): Score| one(&input, &config, drafts.as_ref());
    let done: Vec<Result<One, String>> =
        with_jobs(args.paths.jobs, || scores.into_par_iter().map(one).collect());
    let mut failed = failed > 0;
    for one in done {
        match one {
            Ok(one) => {
                batch.reads.extend(one.tunes);
                batch.gone.extend(one.gone);
                failed |= one.failed;
            }
            Err(why) => {
                complain(&why);
                batch.unread.push(why);
            }
        }
    }
    batch.reads.sort_by_key(|read| std::cmp::Reverse(Line::of(&read.path, &read.report).work()));
    name_apart(&mut batch.reads);
    let written = match &args.output {
        Some(folder) => write_all(args, folder, &batch),
        None => to_standard_output(args, &batch),
    };
    match written.and_then(|outcome| write_table(args, &batch.reads).map(|()| outcome)) {
        Ok(outcome) if !failed && batch.unread.is_empty() => outcome,
        Ok(_) => Outcome::Failed,
        Err(why) => {
            complain(&why);
            Outcome::Failed
        }
    }
}

fn last_drafts(args: &ReportArgs, scores: usize) -> Result<(Option<LastDrafts>, usize), String> {
    let Some(old) = &args.since else { return Ok((None, 0)) };
    LastDrafts::at(old, &args.paths.paths, scores).map(|(drafts, failed)| (Some(drafts), failed))
}

/// The reports on the tunes of a score.
fn one(input: &Input, config: &Arc<Config>, drafts: Option<&LastDrafts>) -> Result<One, String> {
    let score::Score { document, bars, left_out } = score::read(input)?;
    if left_out > 0 {
        let things = if left_out == 1 { "one thing" } else { &format!("{left_out} things") };
        complain(&format!(
            "{}: read without {things} that a text cannot hold; `recte import` says which.",
            input.name()
        ));
    }
    if let Some(why) = without_music(&document) {
        complain(&format!("{}: {why}", input.name()));
    }
    let last = drafts.map(|drafts| drafts.of(input));
    let (reports, gone) = match &last {
        Some(last) => report_since(&document, config, bars.as_deref(), &last.draft()),
        None => (report(&document, config, bars.as_deref()), Vec::new()),
    };
    let name_of = |title: String| format!("{}: {title}", input.name());
    let stem = stem(input);
    let several = reports.len() > 1;
    let read = |(at, report): (usize, TuneReport)| {
        let number = report.reference.clone().unwrap_or_else(|| (at + 1).to_string());
        let name =
            if several { format!("{stem}-{}", fit_for_a_name(&number)) } else { stem.clone() };
        Read { path: input.name(), name, several, report, config: config.clone() }
    };
    Ok(One {
        tunes: reports.into_iter().enumerate().map(read).collect(),
        gone: gone.into_iter().map(name_of).collect(),
        failed: last.is_some_and(|last| last.failed),
    })
}

fn stem(input: &Input) -> String {
    let stem = match input {
        Input::Standard => "score".to_owned(),
        Input::File(path) => path.file_stem().unwrap_or_default().to_string_lossy().into_owned(),
    };
    fit_for_a_name(&stem)
}

/// Letters, digits and hyphens; the rest would have to be escaped in a link, or leads elsewhere.
fn fit_for_a_name(text: &str) -> String {
    let letters: String = text.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    let joined = letters.split('-').filter(|word| !word.is_empty()).collect::<Vec<_>>().join("-");
    if joined.is_empty() { "score".to_owned() } else { joined }
}

/// Gives a number to names that are there already; "index" is the index's.
fn name_apart(reads: &mut [Read]) {
    // Names that differ in case alone are one file on some systems.
    let mut taken: BTreeSet<String> = BTreeSet::from(["index".to_owned()]);
    for read in reads {
        let free = (2..).map(|number| format!("{}-{number}", read.name));
        let names = std::iter::once(read.name.clone()).chain(free);
        if let Some(name) = names.into_iter().find(|name| !taken.contains(&name.to_lowercase())) {
            taken.insert(name.to_lowercase());
            read.name = name;
        }
    }
}

fn to_standard_output(args: &ReportArgs, batch: &Batch) -> Result<Outcome, String> {
    let reads = &batch.reads;
    let text = match args.format {
        Format::Html => return Err("Pages need a folder to go to; name it with -o.".to_owned()),
        Format::Json => {
            let all = reads.iter().map(|read| (&*read.path, &read.report));
            report_json::render(all, &batch.gone)
        }
        Format::Markdown => match &reads[..] {
            [] => return Ok(Outcome::Clean),
            [one] => markdown::render(&one.path, &one.report, &one.config.report),
            _ => return Err("Several reports need a folder to go to; name it with -o.".to_owned()),
        },
    };
    Ok(print(&text, Outcome::Clean))
}

fn write_all(args: &ReportArgs, folder: &Path, batch: &Batch) -> Result<Outcome, String> {
    let Batch { reads, gone, unread } = batch;
    std::fs::create_dir_all(folder)
        .map_err(|error| format!("{} cannot be written: {error}.", folder.display()))?;
    let lines: Vec<Line> = reads.iter().map(|read| Line::of(&read.path, &read.report)).collect();
    match args.format {
        Format::Json => {
            let all = reads.iter().map(|read| (&*read.path, &read.report));
            let text = report_json::render(all, gone);
            write(&folder.join("report.json"), &text, "\"scores\":")?;
        }
        Format::Html => {
            let one = |read: &Read| {
                let (report, template) = (&read.report, &read.config.report);
                let number = report.reference.as_deref().filter(|_| read.several);
                let text = page(&Sheet { report, path: &read.path, number, template });
                write(&folder.join(format!("{}.html", read.name)), &text, OURS)
            };
            let written: Vec<Result<(), String>> =
                with_jobs(args.paths.jobs, || reads.par_iter().map(one).collect());
            written.into_iter().collect::<Result<(), String>>()?;
            let pages: Vec<String> =
                reads.iter().map(|read| format!("{}.html", read.name)).collect();
            let greeting = reads.first().map_or("", |read| &read.config.report.greeting);
            write(
                &folder.join("index.html"),
                &index(&lines, &pages, greeting, gone, unread),
                OURS,
            )?;
        }
        Format::Markdown => {
            for read in reads {
                let text = marked(&markdown::render(&read.path, &read.report, &read.config.report));
                write(&folder.join(format!("{}.md", read.name)), &text, OURS)?;
            }
            let pages: Vec<String> = reads.iter().map(|read| format!("{}.md", read.name)).collect();
            write(
                &folder.join("index.md"),
                &marked(&markdown::index(&lines, &pages, gone, unread)),
                OURS,
            )?;
        }
    }
    Ok(Outcome::Clean)
}

/// With the sign by which a report is known for ours.
fn marked(text: &str) -> String {
    format!("{text}\n<!-- {OURS} -->\n")
}

/// Writes a file of ours; one of somebody else's is left alone.
fn write(path: &Path, text: &str, ours: &str) -> Result<(), String> {
    if let Ok(present) = std::fs::read(path)
        && !String::from_utf8_lossy(&present).contains(ours)
    {
        return Err(format!(
            "{} was left as it is: it is no report; choose another folder, or move it.",
            path.display()
        ));
    }
    create(path, text.as_bytes())
}

fn write_table(args: &ReportArgs, reads: &[Read]) -> Result<(), String> {
    let Some(path) = &args.table else { return Ok(()) };
    let lines: Vec<Line> = reads.iter().map(|read| Line::of(&read.path, &read.report)).collect();
    let bytes =
        csv(&lines).map_err(|error| format!("{} cannot be written: {error}.", path.display()))?;
    create(path, &bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_pages() {
        assert_eq!(fit_for_a_name("../a b/ä.c"), "a-b-ä-c");
        assert_eq!(fit_for_a_name("..."), "score");
    }
}
