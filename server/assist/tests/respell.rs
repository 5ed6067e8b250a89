//! What respelling promises, over real tunes, composed ones and imported scores, at every reach an accidental may
//! have: the same sound, nothing edited but notes, nothing more to do the second time, and the same names
//! whatever names were typed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_assist::{Passage, Style, respell};
use recte_exchange::import_musicxml;
use recte_notation::write::{Respelling, respell as respelling, same_sound};
use recte_notation::{Block, Document};
use recte_theory::PitchName;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[path = "../../review/tests/real/mod.rs"]
#[allow(dead_code)] // each test file uses some of it
mod real;
use real::{Dice, documents, tunes_of};

/// Larger scores than this take a debug build too long.
const LARGEST: u64 = 30_000;

/// Imported scores: the composed ones, and every fourth small one of those laid out by `tests/run`.
fn imported() -> Vec<Document> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut files = Vec::new();
    for folder in ["tests/scores", "target/corpus/scores"] {
        scores_in(&root.join(folder), &mut files);
    }
    files.sort();
    assert!(!files.is_empty(), "no score found");
    let read = |file: &PathBuf| import_musicxml(&std::fs::read(file).unwrap(), "").ok();
    files.iter().step_by(4).filter_map(read).map(|score| Document::new(&score.text)).collect()
}

fn scores_in(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        let ending = path.extension().unwrap_or_default().to_string_lossy().into_owned();
        if path.is_dir() {
            scores_in(&path, files);
        } else if ["musicxml", "mxl", "xml"].contains(&ending.as_str())
            && entry.metadata().unwrap().len() < LARGEST
        {
            files.push(path);
        }
    }
}

/// The tune with accidentals that reach otherwise; it may sound otherwise too.
fn with_reach(block: &Block, reach: &str) -> Arc<Block> {
    let key = block.text.find("K:").unwrap_or(0);
    let (head, rest) = block.text.split_at(key);
    let text = format!("{head}%%propagate-accidentals {reach}\n{rest}");
    Document::new(&text).blocks().next().unwrap().1.clone()
}

/// The tune with one note in eight under its other name.
fn scrambled(block: &Block, dice: &mut Dice) -> Option<Arc<Block>> {
    let lowered = block.lowered();
    let mut wanted = Vec::new();
    for (voice, notes) in lowered.tune.voices.iter().map(|voice| &voice.notes).enumerate() {
        for (note, read) in notes.iter().enumerate().filter(|(_, note)| !note.tied_in) {
            let fifths = read.written.name.fifths();
            let other = if fifths > 2 { fifths - 12 } else { fifths + 12 };
            if dice.roll(8) == 0 {
                let (voice, note) = (voice as u32, note as u32);
                wanted.push(Respelling { voice, note, name: PitchName::from_fifths(other) });
            }
        }
    }
    let edits = respelling(&lowered.tune, lowered.reach, &wanted)?;
    let after = block.edited(&edits).ok()?;
    same_sound(&lowered.tune, &after.lowered().tune).then_some(after)
}

fn names(block: &Block) -> Vec<String> {
    let voices = block.lowered().tune.voices.iter();
    voices.flat_map(|voice| &voice.notes).map(|note| note.written.to_string()).collect()
}

/// Respells a tune and proves every promise of it; none if it is left as it is.
fn respelled(block: &Block, passage: &Passage, style: Style) -> Option<(Arc<Block>, usize)> {
    let text = &block.text;
    let respelled = respell(block, passage, style).ok()?;
    let tune = &block.lowered().tune;
    let mut spans: Vec<_> =
        tune.voices.iter().flat_map(|voice| voice.notes.iter().map(|note| note.span)).collect();
    spans.sort();
    for edit in &respelled.edits {
        assert!(spans.binary_search(&edit.span).is_ok(), "{edit:?} is no note of\n{text}");
        assert_ne!(text[edit.span.range()], edit.text, "nothing is changed by {edit:?} in\n{text}");
        assert!(edit.text.chars().all(|c| "^_=,'abcdefgABCDEFG".contains(c)), "{edit:?}");
    }
    let after = block.edited(&respelled.edits).unwrap();
    assert!(same_sound(tune, &after.lowered().tune), "{text}\nbecomes\n{}", after.text);
    let again = respell(&after, passage, style).unwrap();
    assert_eq!((again.notes, &again.edits[..]), (0, &[][..]), "{text}\nbecomes\n{}", after.text);
    Some((after, respelled.notes))
}

#[derive(Default)]
struct Tally {
    tunes: usize,
    notes: usize,
    left: usize,
    scrambled: usize,
}

impl Tally {
    fn prove(&mut self, block: &Block, dice: &mut Dice) {
        let mut one = |block: &Block, passage: &Passage, style| {
            let done = respelled(block, passage, style);
            self.tunes += 1;
            self.left += usize::from(done.is_none());
            let (after, notes) = done?;
            self.notes += notes;
            Some(after)
        };
        let Some(straight) = one(block, &Passage::Tune, Style::Best) else { return };
        // One more try each, so that all of them together do not take too long.
        match dice.roll(4) {
            0 => {
                let reach = ["not", "octave", "pitch"][dice.roll(3)];
                one(&with_reach(block, reach), &Passage::Tune, Style::Best);
            }
            1 => {
                let voices = vec![dice.roll(block.lowered().tune.voices.len())];
                one(block, &Passage::Bars { voices, bars: 2..=5 }, Style::Best);
            }
            2 => {
                let start = dice.roll(block.text.len());
                let typed = Passage::Typed(start..start + dice.roll(300));
                one(block, &typed, [Style::Flats, Style::Sharps][dice.roll(2)]);
            }
            _ => {
                let Some(scrambled) = scrambled(block, dice) else { return };
                let Some(after) = one(&scrambled, &Passage::Tune, Style::Best) else { return };
                self.scrambled += 1;
                assert_eq!(names(&straight), names(&after), "{}", scrambled.text);
            }
        }
    }
}

#[test]
fn respelling_keeps_its_promises() {
    let mut dice = Dice(1);
    let mut tally = Tally::default();
    for document in documents().into_iter().map(|(_, document)| document).chain(imported()) {
        for block in tunes_of(&document).step_by(2) {
            tally.prove(&block, &mut dice);
        }
    }
    let Tally { tunes, notes, left, scrambled } = tally;
    println!("{tunes} respelled, {notes} notes; {left} left as they were; {scrambled} scrambled");
    assert!(notes > 0 && scrambled > 0, "nothing was tried");
    assert!(left * 100 <= tunes, "{left} of {tunes} are left");
}
