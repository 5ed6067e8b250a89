//! Ratios, all taken in one run on one thread: a whole check against the bare parse of the same bytes, one
//! keystroke, from the edit to the findings, against the whole check, a hover in a tune that was asked of before against the
//! search for its harmonies, and the rules of metre and of playing alone, over tunes that
//! are read already, against the bare parse, and the naming of what sounds at every moment; the last two also over the imported scores (`target/imported`).
//!
//! `cargo bench -p recte-assist`. The text is `RECTE_BENCH`, by default every tune of the test corpus in one
//! file (`target/corpus/native-all.abc`, laid out by `tests/run`), else the suite in `tests/scores`.

#![allow(clippy::print_stdout, clippy::expect_used)]

use recte_assist::{Snapshot, check, hover};
use recte_notation::{Change, Document};
use recte_review::{Around, Config, Context, Family, RULES};
use recte_score::{Sounding, soundings};
use recte_theory::{Pitch, sonority};
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

const ROUNDS: usize = 7;
const KEYS: usize = 200;

fn text() -> (PathBuf, String) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let choices = [
        std::env::var_os("RECTE_BENCH").map(PathBuf::from),
        Some(root.join("target/corpus/native-all.abc")),
        Some(root.join("tests/scores/harbour-suite.abc")),
    ];
    let path = choices.into_iter().flatten().find(|path| path.exists()).expect("a score");
    let bytes = std::fs::read(&path).expect("readable");
    let text = Document::from_bytes(bytes).rope().to_string();
    (path, text)
}

/// The median of several rounds.
fn median(mut round: impl FnMut() -> Duration) -> Duration {
    let mut times: Vec<Duration> = (0..ROUNDS).map(|_| round()).collect();
    times.sort();
    times[ROUNDS / 2]
}

fn bare_parse(text: &str) -> Duration {
    let mut parser = tree_sitter::Parser::new();
    parser.set_language(&recte_grammar::LANGUAGE.into()).expect("the grammar");
    let start = Instant::now();
    black_box(parser.parse(text, None));
    start.elapsed()
}

fn whole_check(text: &str) -> Duration {
    let start = Instant::now();
    let snapshot = Snapshot::new(Document::new(text), Arc::new(Config::default()));
    black_box(check(&snapshot));
    start.elapsed()
}

/// The rules of one family over every tune, which is read before.
fn rules_of(document: &Document, family: Family) -> Duration {
    let (config, around) = (Config::default(), Around::default());
    let tunes = || document.blocks().map(|(_, block)| block);
    tunes().for_each(|block| {
        black_box(block.lowered());
    });
    let start = Instant::now();
    for block in tunes() {
        let context = Context::new(block, &config, &around);
        let mut found = Vec::new();
        for rule in RULES.iter().filter(|rule| rule.family == family) {
            (rule.check)(&context, &mut found);
        }
        black_box(found);
    }
    start.elapsed()
}

/// A name for what sounds at each moment at which something begins, over every tune, which is read before.
fn named_slices(document: &Document) -> Duration {
    let tunes: Vec<_> =
        document.blocks().map(|(_, block)| soundings(&block.lowered().tune)).collect();
    let start = Instant::now();
    for mut sounds in tunes {
        sounds.sort_by_key(|sound| sound.onset);
        let mut open: Vec<Sounding> = Vec::new();
        for struck in sounds.chunk_by(|a, b| a.onset == b.onset) {
            open.retain(|sound| sound.end > struck[0].onset);
            open.extend(struck);
            let pitches: Vec<Pitch> = open.iter().map(|sound| sound.pitch).collect();
            black_box(sonority::name(&pitches));
        }
    }
    start.elapsed()
}

fn naming_ratio(text: &str) -> f64 {
    let document = Document::new(text);
    let named = median(|| named_slices(&document));
    named.as_secs_f64() / median(|| bare_parse(text)).as_secs_f64()
}

/// The imported scores in one text.
fn imported(folder: &Path) -> String {
    let mut text = String::new();
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            text.push_str(&imported(&path));
        } else if path.extension().is_some_and(|extension| extension == "abc") {
            let bytes = std::fs::read(&path).expect("readable");
            text.push_str(&Document::from_bytes(bytes).rope().to_string());
            text.push_str("\n\n");
        }
    }
    text
}

fn family_ratio(text: &str, family: Family) -> f64 {
    let document = Document::new(text);
    let rules = median(|| rules_of(&document, family));
    rules.as_secs_f64() / median(|| bare_parse(text)).as_secs_f64()
}

/// One key typed and taken back in the middle, many times over: the time for one of them.
fn keystroke(text: &str) -> Duration {
    let mut snapshot = Snapshot::new(Document::new(text), Arc::new(Config::default()));
    black_box(check(&snapshot));
    let middle = (text.len() / 2..).find(|&at| text.is_char_boundary(at)).unwrap_or(0);
    let start = Instant::now();
    for key in 0..KEYS {
        let (range, text) =
            if key % 2 == 0 { (middle..middle, "z") } else { (middle..middle + 1, "") };
        snapshot.document.apply(&Change { range, text: text.to_owned() });
        black_box(check(&snapshot));
    }
    start.elapsed() / KEYS as u32
}

/// The longest tune: the search for its harmonies, and the time for one of many hovers after it.
fn hovers(text: &str) -> (Duration, Duration) {
    let read = || {
        let document = Document::new(text);
        let blocks = document.blocks().map(|(start, block)| (start, block.clone()));
        let (start, block) = blocks.max_by_key(|(_, block)| block.text.len()).expect("a tune");
        black_box(block.lowered());
        (document, start, block)
    };
    let search = median(|| {
        let (_, _, block) = read();
        let begun = Instant::now();
        black_box(block.harmonies());
        begun.elapsed()
    });
    let (document, start, block) = read();
    let step = (block.text.len() / KEYS).max(1);
    black_box(block.harmonies());
    let begun = Instant::now();
    for at in 0..KEYS {
        black_box(hover(&document, start + at * step));
    }
    (search, begun.elapsed() / KEYS as u32)
}

fn main() {
    // `cargo test --benches` runs this too; it has nothing to measure there.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("one thread");
    pool.install(|| {
        let (path, text) = text();
        let parse = median(|| bare_parse(&text));
        let whole = median(|| whole_check(&text));
        let key = median(|| keystroke(&text));
        println!("{}: {} bytes", path.display(), text.len());
        println!("check / bare parse: {:.2}", whole.as_secs_f64() / parse.as_secs_f64());
        println!("keystroke / check:  1/{:.0}", whole.as_secs_f64() / key.as_secs_f64());
        println!("metre rules / bare parse: {:.2}", family_ratio(&text, Family::Metre));
        println!("rules of playing / bare parse: {:.2}", family_ratio(&text, Family::Idiom));
        println!("naming every moment / bare parse: {:.2}", naming_ratio(&text));
        let scores = imported(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/imported"));
        if !scores.is_empty() {
            println!("metre rules, imported scores: {:.2}", family_ratio(&scores, Family::Metre));
            println!(
                "rules of playing, imported scores: {:.2}",
                family_ratio(&scores, Family::Idiom)
            );
            println!("naming every moment, imported scores: {:.2}", naming_ratio(&scores));
            let (search, one) = hovers(&scores);
            let share = search.as_secs_f64() / one.as_secs_f64();
            println!("hover / harmonies of the longest: 1/{share:.0}");
        }
    });
}
