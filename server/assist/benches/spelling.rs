//! What the speller costs, by itself, on one thread: `tests/reference/spelling.py --speed` sets it beside ps13s1.
//!
//! `cargo bench -p recte-assist --bench spelling [-- FOLDER]` spells every text of a folder and prints how long a
//! note took, in the fastest of a few rounds. For counting instructions, `once TIMES FILE` reads a text whose music is repeated so often, and
//! `once TIMES FILE spell` spells it as well; the difference is the speller's.

#![allow(clippy::print_stdout, clippy::expect_used, clippy::unwrap_used)]

use recte_notation::Document;
use recte_score::Tune;
use recte_score::spelling::{Evidence, Speller};
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::Instant;

const ROUNDS: usize = 3;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{files, read, root};

fn spell(tune: &Tune) -> usize {
    black_box(Speller::new(tune, Evidence::Sound).best()).len()
}

fn spell_all(documents: &[Document]) -> usize {
    let blocks = documents.iter().flat_map(Document::blocks);
    blocks.map(|(_, block)| spell(&block.lowered().tune)).sum()
}

/// The tune with its music so many times over.
fn repeated(text: &str, times: usize) -> Document {
    let key = text.find("\nK:").expect("a key") + 1;
    let music = key + text[key..].find('\n').expect("music") + 1;
    Document::new(&(text[..music].to_owned() + &text[music..].repeat(times)))
}

fn once(arguments: &[String]) {
    let [times, file, then @ ..] = arguments else { panic!("once TIMES FILE [spell]") };
    let text = read(Path::new(file)).rope().to_string();
    let document = repeated(text.trim_end_matches('\n'), times.parse().expect("a number"));
    let notes = |tune: &Tune| tune.voices.iter().map(|voice| voice.notes.len()).sum::<usize>();
    let all: usize = document.blocks().map(|(_, block)| notes(&block.lowered().tune)).sum();
    let spelled = if then.is_empty() { 0 } else { spell_all(&[document]) };
    println!("{all} notes, {spelled} sounds spelled");
}

fn main() {
    // Cargo adds `--bench`; `cargo test --benches` runs this too and has nothing to measure.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    let arguments: Vec<String> =
        std::env::args().skip(1).filter(|argument| argument != "--bench").collect();
    if arguments.first().is_some_and(|first| first == "once") {
        return once(&arguments[1..]);
    }
    let folder = arguments.first().map(PathBuf::from);
    let folder = folder.unwrap_or_else(|| root().join("target/spelling/imported"));
    let files = files(&folder, &["abc"]);
    let documents: Vec<Document> = files.iter().map(|file| read(file)).collect();
    // Read once, so that only the spelling is timed.
    let notes = spell_all(&documents).max(1);
    let mut times: Vec<u64> = (0..ROUNDS)
        .map(|_| {
            let start = time();
            black_box(spell_all(&documents));
            time() - start
        })
        .collect();
    times.sort_unstable();
    println!("{} texts, {notes} notes, {} ns a note", files.len(), times[0] / notes as u64);
}

/// Nanoseconds: those this thread has worked, where the system says so, so that a busy machine does not count.
fn time() -> u64 {
    let worked = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let worked = worked.and_then(|all| all.split(' ').next()?.parse().ok()).filter(|&ns| ns > 0);
    worked.unwrap_or_else(|| {
        static START: OnceLock<Instant> = OnceLock::new();
        START.get_or_init(Instant::now).elapsed().as_nanos() as u64
    })
}
