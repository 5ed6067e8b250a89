//! A ratio taken in one run on one thread: the import of scores against the bare reading of the XML events of
//! the same texts.
//!
//! `cargo bench -p recte-exchange`. The scores are those of `RECTE_BENCH`, a folder, by default
//! `target/corpus/scores` (laid out by `tests/run`), else the scores in `tests/scores`.

#![allow(clippy::print_stdout, clippy::expect_used)]

use quick_xml::Reader;
use quick_xml::events::Event;
use recte_exchange::import_musicxml;
use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

const ROUNDS: usize = 7;
/// So many bytes of scores are enough.
const BYTES: usize = 16 << 20;

/// Uncompressed scores in UTF-8, so that unpacking is on neither side.
fn scores() -> (PathBuf, Vec<String>) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let choices = [
        std::env::var_os("RECTE_BENCH").map(PathBuf::from),
        Some(root.join("target/corpus/scores")),
        Some(root.join("tests/scores")),
    ];
    let folder = choices.into_iter().flatten().find(|path| path.exists()).expect("scores");
    let mut texts = Vec::new();
    collect(&folder, &mut texts);
    assert!(!texts.is_empty(), "there is no score in {}", folder.display());
    (folder, texts)
}

fn collect(folder: &Path, texts: &mut Vec<String>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    entries.sort();
    for path in entries {
        let full = texts.iter().map(String::len).sum::<usize>() > BYTES;
        if path.is_dir() {
            collect(&path, texts);
        } else if !full && path.extension().is_some_and(|end| end == "xml" || end == "musicxml") {
            texts.extend(fs::read_to_string(&path).ok());
        }
    }
}

/// The median of several rounds.
fn median(mut round: impl FnMut() -> Duration) -> Duration {
    let mut times: Vec<Duration> = (0..ROUNDS).map(|_| round()).collect();
    times.sort();
    times[ROUNDS / 2]
}

fn events(texts: &[String]) -> Duration {
    let start = Instant::now();
    for text in texts {
        let mut reader = Reader::from_str(text);
        while !matches!(black_box(reader.read_event()), Ok(Event::Eof) | Err(_)) {}
    }
    start.elapsed()
}

fn imports(texts: &[String]) -> Duration {
    let start = Instant::now();
    for text in texts {
        black_box(import_musicxml(text.as_bytes(), "").expect("a score"));
    }
    start.elapsed()
}

fn main() {
    // `cargo test --benches` runs this too; it has nothing to measure there.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    let (folder, texts) = scores();
    let bytes: usize = texts.iter().map(String::len).sum();
    let bare = median(|| events(&texts));
    let whole = median(|| imports(&texts));
    println!("{}: {} scores, {bytes} bytes", folder.display(), texts.len());
    println!("import / bare XML events: {:.2}", whole.as_secs_f64() / bare.as_secs_f64());
}
