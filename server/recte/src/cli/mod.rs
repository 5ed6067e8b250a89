//! The command line.

mod check;
mod chords;
mod compare;
mod config;
mod emend;
mod export;
mod import;
mod instruments;
mod layout;
mod listing;
mod narrow;
mod notes;
mod pairs;
mod report;
mod respell;
mod rewrite;
mod since;
mod tables;

use crate::files::{Input, complain, encoded, replace};
use crate::lsp;
use clap::{Args, Parser, Subcommand};
use recte_notation::Document;
use similar::TextDiff;
use std::path::PathBuf;
use std::process::ExitCode;

/// Reads scores typed in ABC over the composer's shoulder: spelling, bars, parts, harmony, form.
#[derive(Parser)]
#[command(name = "recte", version, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Run the language server on standard input and output
    Serve(ServeArgs),
    /// Say what a colleague would remark in scores
    Check(check::CheckArgs),
    /// Take every preferred fix: show the difference, or write the files
    Emend(emend::EmendArgs),
    /// Give every note its best name, whatever is typed: show the difference, or write the files
    Respell(respell::RespellArgs),
    /// Set white space in order and bar lines of voices under each other: show the difference, or write the files
    Layout(layout::LayoutArgs),
    /// List every note as it was understood
    Notes(notes::NotesArgs),
    /// List every harmony as it was understood
    Chords(chords::ChordsArgs),
    /// Make text to edit of MusicXML scores
    Import(import::ImportArgs),
    /// Write a tune as MusicXML, or as a MIDI file to listen to
    Export(export::ExportArgs),
    /// Say what became of a draft: which bars are changed, which remarks are settled, stand or are new
    Compare(compare::CompareArgs),
    /// Make a page for each score that a reviewer could send: remarks, harmony, parts, form, and bars to listen to
    Report(report::ReportArgs),
    /// List the rules
    Rules(tables::RulesArgs),
    /// Say what a rule looks for, why players mind, and what to do
    Explain(tables::ExplainArgs),
    /// List, search and explain the instruments and voices that are known
    Instruments(instruments::InstrumentsArgs),
    /// Show the settings that hold for a path, and where each comes from
    Config(config::ConfigArgs),
}

#[derive(Args)]
struct ServeArgs {
    /// Accepted for editors that always pass it: the server has no other way to talk
    #[arg(long, hide = true)]
    stdio: bool,
}

/// What a command reads.
#[derive(Args)]
struct PathArgs {
    /// Scores: files, folders (every score in them), or - for standard input
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Use this configuration file instead of the nearest recte.toml
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    /// How many scores to read at a time [default: as many as the machine can]
    #[arg(long, value_name = "NUMBER")]
    jobs: Option<usize>,
}

/// How a command ended.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Outcome {
    /// Nothing to say.
    Clean = 0,
    /// Something to say.
    Found = 1,
    /// Something could not be done.
    Failed = 2,
}

/// Runs the command that was typed.
pub(crate) fn run() -> ExitCode {
    let cli = Cli::parse();
    let outcome = match cli.command {
        Command::Serve(_) => return lsp::serve(),
        Command::Check(args) => check::run(&args),
        Command::Emend(args) => emend::run(&args),
        Command::Respell(args) => respell::run(&args),
        Command::Layout(args) => layout::run(&args),
        Command::Notes(args) => notes::run(&args),
        Command::Chords(args) => chords::run(&args),
        Command::Import(args) => import::run(&args),
        Command::Export(args) => export::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Report(args) => report::run(&args),
        Command::Rules(args) => tables::rules(&args),
        Command::Explain(args) => tables::explain(&args),
        Command::Instruments(args) => instruments::run(&args),
        Command::Config(args) => config::run(&args),
    };
    ExitCode::from(outcome as u8)
}

/// Prints, and says so when that fails.
fn print(output: &(impl AsRef<[u8]> + ?Sized), outcome: Outcome) -> Outcome {
    match crate::files::print(output.as_ref()) {
        Ok(()) => outcome,
        Err(error) => {
            complain(&format!("The output could not be written: {error}."));
            Outcome::Failed
        }
    }
}

/// What a text would become, as a difference; or, written, nothing but what goes to standard output.
fn show_or_write(
    input: &Input,
    document: &Document,
    text: &str,
    write: bool,
) -> Result<Vec<u8>, String> {
    let before = document.rope().to_string();
    match input {
        // What comes in by standard input goes out again, changed or not.
        Input::Standard if write => {
            encoded(document, text).map_err(|why| format!("-: nothing was written: {why}."))
        }
        _ if before == text => Ok(Vec::new()),
        Input::File(path) if write => replace(path, document, text).map(|()| Vec::new()),
        _ => {
            let name = input.name();
            let diff = TextDiff::from_lines(before.as_str(), text);
            Ok(diff.unified_diff().header(&name, &name).to_string().into_bytes())
        }
    }
}

/// Takes what was made of each score, in order. What could not be made is said; returns how many those are.
fn take_each<T>(made: Vec<Result<T, String>>, mut take: impl FnMut(T)) -> usize {
    let mut failed = 0;
    for one in made {
        match one {
            Ok(one) => take(one),
            Err(why) => {
                complain(&why);
                failed += 1;
            }
        }
    }
    failed
}

/// Runs something with as many threads as were asked for.
fn with_jobs<T: Send>(jobs: Option<usize>, work: impl FnOnce() -> T + Send) -> T {
    // More threads than this help no machine, and thousands of them take longer to start than the work.
    let threads = jobs.unwrap_or(0).min(256);
    match rayon::ThreadPoolBuilder::new().num_threads(threads).build() {
        Ok(pool) => pool.install(work),
        Err(_) => work(),
    }
}
