//! Real scores for tests, and dice that fall the same way in every run.
//!
//! Scores come from `RECTE_CORPUS` (laid out by `tests/run`, by default `target/corpus/native`) and from
//! `tests/scores`.

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

/// The scores with the names of their files, in one order.
pub(crate) fn documents() -> Vec<(String, Document)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let corpus = std::env::var("RECTE_CORPUS").map(PathBuf::from);
    let corpus = corpus.unwrap_or_else(|_| root.join("target/corpus/native"));
    let mut files = Vec::new();
    for folder in [root.join("tests/scores"), corpus] {
        collect(&folder, &mut files);
    }
    files.sort();
    assert!(!files.is_empty(), "no score found");
    let name = |file: &PathBuf| file.file_name().unwrap().to_string_lossy().into_owned();
    let read = |file: &PathBuf| Document::from_bytes(std::fs::read(file).unwrap());
    files.iter().map(|file| (name(file), read(file))).collect()
}

/// The tunes of a score.
pub(crate) fn tunes_of(document: &Document) -> impl Iterator<Item = Arc<Block>> {
    let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    tunes.map(|(_, block)| block.clone())
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|extension| extension == "abc") {
            files.push(path);
        }
    }
}
