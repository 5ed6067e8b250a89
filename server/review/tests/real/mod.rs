//! Real scores for tests, and dice that fall the same way in every run.
//!
//! Three folders: `tests/scores` (composed for the tests), `RECTE_CORPUS` (tunes typed as text, mostly of one voice;
//! by default `target/corpus/native`) and `RECTE_IMPORTED` (texts imported from MusicXML, mostly of several voices;
//! by default `target/imported`). `tests/run` lays out the last two and names them: then they must be there. Without
//! them the tests run over what there is and say so.
//!
//! Imported scores are long, so most tests take some of them, chosen by their names; `RECTE_ALL=1` takes all.

#![allow(dead_code)] // each test file uses some of it

use recte_notation::{Block, BlockKind, Document};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A small generator of numbers (Knuth's MMIX constants).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        ((self.0 >> 33) as usize) % sides.max(1)
    }
}

/// The scores that are typed, with the names of their files, in one order.
pub(crate) fn typed() -> Vec<(String, Document)> {
    let mut files = files(&root().join("tests/scores"), &["abc"]);
    files.extend(laid_out("RECTE_CORPUS", "target/corpus/native"));
    files.sort();
    assert!(!files.is_empty(), "no score found");
    let name = |file: &PathBuf| file.file_name().unwrap().to_string_lossy().into_owned();
    files.iter().map(|file| (name(file), read(file))).collect()
}

/// One in so many of the imported scores (all with `RECTE_ALL=1`), with their folders and names, in one order.
pub(crate) fn imported(one_in: u64) -> Vec<(String, Document)> {
    let one_in = if std::env::var_os("RECTE_ALL").is_some() { 1 } else { one_in };
    let folder = folder("RECTE_IMPORTED", "target/imported");
    let files = laid_out("RECTE_IMPORTED", "target/imported");
    let name = |file: &PathBuf| file.strip_prefix(&folder).unwrap().to_string_lossy().into_owned();
    let named = files.iter().map(|file| (name(file), file));
    let chosen = named.filter(|(name, _)| hash(name).is_multiple_of(one_in));
    chosen.map(|(name, file)| (name, read(file))).collect()
}

/// Typed scores and one in so many of the imported.
pub(crate) fn documents(one_in: u64) -> Vec<(String, Document)> {
    typed().into_iter().chain(imported(one_in)).collect()
}

/// The tunes of a score.
pub(crate) fn tunes_of(document: &Document) -> impl Iterator<Item = Arc<Block>> {
    let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    tunes.map(|(_, block)| block.clone())
}

/// The same number for the same name in every run (FNV-1a, with its published constants).
pub(crate) fn hash(name: &str) -> u64 {
    name.bytes()
        .fold(0xcbf29ce484222325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x100000001b3))
}

pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

pub(crate) fn read(file: &Path) -> Document {
    Document::from_bytes(std::fs::read(file).unwrap())
}

fn folder(variable: &str, usual: &str) -> PathBuf {
    std::env::var_os(variable).map_or_else(|| root().join(usual), PathBuf::from)
}

/// The scores of a folder that a variable may name. One that is named must hold some.
fn laid_out(variable: &str, usual: &str) -> Vec<PathBuf> {
    let folder = folder(variable, usual);
    let found = files(&folder, &["abc"]);
    let named = std::env::var_os(variable).is_some();
    assert!(!named || !found.is_empty(), "{variable} names no score: {}", folder.display());
    if found.is_empty() {
        println!("left out: no score in {}; tests/run lays them out", folder.display());
    }
    found
}

/// The files with one of these endings in a folder and those in it, in one order.
pub(crate) fn files(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let wanted = |path: &Path| endings.iter().any(|end| path.extension() == Some(end.as_ref()));
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(files(&path, endings));
        } else if wanted(&path) {
            found.push(path);
        }
    }
    found.sort();
    found
}
