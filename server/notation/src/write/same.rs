//! Whether two readings sound the same, or are the same score to the last sign.

use crate::lower::{Defaults, move_spans};
use crate::segment::{Found, first_block};
use crate::{Block, BlockKind, Lowered};
use recte_score::{Span, Tune, soundings};
use recte_theory::Time;
use std::sync::Arc;

/// Whether a rewritten text sounds as it did, and is no harder to read: no new problem.
pub fn reads_as_well(before: &Lowered, after: &Lowered) -> bool {
    after.problems.len() <= before.problems.len() && same_sound(&before.tune, &after.tune)
}

/// Whether all that hangs on the notes is where it was: words, decorations, chord symbols, texts, slurs.
pub fn same_signs(before: &Tune, after: &Tune) -> bool {
    words(before) == words(after) && marks(before) == marks(after)
}

/// Every syllable with the moment it is sung at.
fn words(tune: &Tune) -> Vec<(usize, u16, Time, &str, bool)> {
    let mut rows = Vec::new();
    for (index, voice) in tune.voices.iter().enumerate() {
        let sung = voice.syllables.iter().filter(|syllable| !syllable.held);
        rows.extend(sung.filter_map(|syllable| {
            let event = voice.events.get(syllable.event as usize)?;
            Some((index, syllable.verse, tune.onset(event), &*syllable.text, syllable.joined))
        }));
    }
    rows
}

/// The voice, by index, the moment and the text of a sign.
type Sign<'a> = (usize, Time, &'a str);

/// Every sign on a note or rest with its moment: decorations, chord symbols, texts; slurs from end to end.
fn marks(tune: &Tune) -> (Vec<Sign<'_>>, Vec<(usize, Time, Time)>) {
    let (mut signs, mut slurs) = (Vec::new(), Vec::new());
    for (index, voice) in tune.voices.iter().enumerate() {
        let event = |at: u32| voice.events.get(at as usize);
        let on = |mark: &recte_score::Mark| event(mark.event).map(|event| tune.onset(event));
        signs.extend(voice.marks.iter().filter_map(|mark| Some((index, on(mark)?, &*mark.text))));
        slurs.extend(voice.slurs.iter().filter_map(|slur| {
            let (from, to) = (event(slur.from)?, event(slur.to)?);
            Some((index, tune.onset(from), tune.onset(to) + to.duration))
        }));
    }
    signs.sort_unstable();
    slurs.sort_unstable();
    (signs, slurs)
}

/// Whether every voice has the same sounds at the same times, tied notes taken as one; grace notes by their order.
pub fn same_sound(a: &Tune, b: &Tune) -> bool {
    a.voices.len() == b.voices.len()
        && a.voices.iter().zip(&b.voices).all(|(a, b)| a.id == b.id)
        && sounds(a) == sounds(b)
        && graces(a) == graces(b)
}

fn sounds(tune: &Tune) -> Vec<(u32, Time, Time, i32)> {
    let mut rows: Vec<_> = soundings(tune)
        .into_iter()
        .map(|row| (row.voice, row.onset, row.end, row.pitch.midi()))
        .collect();
    rows.sort_unstable();
    rows
}

fn graces(tune: &Tune) -> Vec<(usize, Time, i32)> {
    let mut rows = Vec::new();
    for (index, voice) in tune.voices.iter().enumerate() {
        for event in voice.events.iter().filter(|event| event.grace) {
            let notes = voice.notes_of(event).iter();
            rows.extend(notes.map(|note| (index, tune.onset(event), note.pitch.midi())));
        }
    }
    rows
}

/// Whether two texts differ in spaces and tabs alone, and hold the same score: every pitch, length, accidental,
/// beam, bar, mark, word and text, each typed by the same signs, with the same problems.
pub fn same_score(before: &Block, after: &Block) -> bool {
    let (old, new) = (Inked::new(before), Inked::new(after));
    let file = |block: &Block| Defaults::of_file(block.kind, &block.text, &Arc::default());
    signs(&before.text).eq(signs(&after.text))
        && still_one(after, before.kind)
        && file(before) == file(after)
        && before.lowered().reach == after.lowered().reach
        && old.problems() == new.problems()
        && old.tune() == new.tune()
}

fn signs(text: &str) -> impl Iterator<Item = char> {
    text.chars().filter(|c| !matches!(c, ' ' | '\t'))
}

/// Whether a text is one block of this kind, as it was.
fn still_one(block: &Block, kind: BlockKind) -> bool {
    let found = first_block(&block.text, kind == BlockKind::FileHeader);
    found == Found { kind, len: block.text.len() }
}

/// A block whose places are counted in signs, white space left out.
struct Inked<'a> {
    block: &'a Block,
    /// The signs before each byte.
    before: Vec<u32>,
}

impl Inked<'_> {
    fn new(block: &Block) -> Inked<'_> {
        let mut before = Vec::with_capacity(block.text.len() + 1);
        let mut count = 0;
        for byte in block.text.bytes() {
            before.push(count);
            count += u32::from(!matches!(byte, b' ' | b'\t'));
        }
        before.push(count);
        Inked { block, before }
    }

    fn span(&self, span: Span) -> Span {
        let place = |at: u32| self.before.get(at as usize).copied().unwrap_or(u32::MAX);
        Span { start: place(span.start), end: place(span.end) }
    }

    fn tune(&self) -> Tune {
        let mut tune = self.block.lowered().tune.clone();
        move_spans(&mut tune, &|span| *span = self.span(*span));
        tune
    }

    /// Their kinds, their places, and what they say; a message may quote what is typed.
    fn problems(&self) -> Vec<(crate::ProblemKind, Span, String)> {
        let problems = self.block.lowered().problems.iter();
        let one = |problem: &crate::Problem| {
            (problem.kind, self.span(problem.span), signs(&problem.message).collect())
        };
        problems.map(one).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Document;

    fn same(before: &str, after: &str) -> bool {
        let block = |music: &str| {
            let document = Document::new(&format!("X:1\nL:1/8\nK:C\n{music}\n"));
            document.blocks().next().unwrap().1.clone()
        };
        same_score(&block(before), &block(after))
    }

    #[test]
    fn spaces_that_decide_nothing_are_the_same_score() {
        assert!(same("AB \t c2|d4 ", "AB c2 | d4"));
        assert!(same("\"Am  \"A | [1 B  :|", "\"Am  \"A|[1 B:|"));
    }

    #[test]
    fn spaces_that_decide_something_are_not() {
        for (before, after) in [
            ("AB c2|", "A B c2|"),
            ("A B c2|", "AB c2|"),
            ("A| 1 B|", "A|1 B|"),
            ("A| |B|", "A||B|"),
            ("A . |B|", "A .|B|"),
            ("\"Am \"A|", "\"Am\"A|"),
            ("A|\nw: a b\n B|", "A|\nw:ab\nB|"),
            ("A|\n X:2\nB|", "A|\nX:2\nB|"),
            ("AB|", "AB|C"),
        ] {
            assert!(!same(before, after), "{before} → {after}");
        }
    }
}
