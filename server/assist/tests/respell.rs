//! What respelling promises, over real tunes, composed ones and imported scores, at every reach an accidental may
//! have: the same sound, nothing edited but notes, nothing more to do the second time, and the same names
//! whatever names were typed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_assist::{Passage, Style, respell};
use recte_notation::write::{Respelling, respell as respelling, same_sound};
use recte_notation::{Block, Document};
use recte_theory::PitchName;
use std::sync::Arc;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{Dice, imported, tunes_of, typed};

/// Longer imported scores than this, in bytes, take a debug build too long.
const LONGEST: usize = 12_000;

/// The typed scores, and the shorter ones of every second imported.
fn documents() -> impl Iterator<Item = Document> {
    let short = |document: &Document| document.rope().len_bytes() < LONGEST;
    let imported = imported(2).into_iter().map(|(_, document)| document).filter(short);
    typed().into_iter().map(|(_, document)| document).chain(imported)
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
    for document in documents() {
        for block in tunes_of(&document).step_by(2) {
            tally.prove(&block, &mut dice);
        }
    }
    let Tally { tunes, notes, left, scrambled } = tally;
    println!("{tunes} respelled, {notes} notes; {left} left as they were; {scrambled} scrambled");
    assert!(notes > 0 && scrambled > 0, "nothing was tried");
    assert!(left * 100 <= tunes, "{left} of {tunes} are left");
}
