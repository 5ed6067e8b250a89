//! What laying out promises, over real tunes, composed ones and text no person would write: the same score to the
//! last sign, nothing else touched, nothing more to do the second time.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use recte_notation::write::{Layout, apply, layout, layout_at_bar, same_score};
use recte_notation::{Block, BlockKind, Document, parse};
use std::ops::Range;
use std::sync::Arc;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{Dice, documents};

/// What must not change in any text: all but spaces and tabs.
fn signs(text: &str) -> String {
    text.replace([' ', '\t'], "")
}

/// The comments of a text, as typed, in order.
fn comments(text: &str) -> Vec<&str> {
    let tree = parse(text).unwrap();
    let mut found = Vec::new();
    let mut cursor = tree.walk();
    loop {
        if cursor.node().kind() == "comment" {
            found.push(&text[cursor.node().byte_range()]);
        }
        if cursor.goto_first_child() || cursor.goto_next_sibling() {
            continue;
        }
        while cursor.goto_parent() {
            if cursor.goto_next_sibling() {
                break;
            }
        }
        if cursor.node().parent().is_none() {
            return found;
        }
    }
}

/// The beams, read off the score: which events share one with the event before.
fn beams(block: &Block) -> Vec<Vec<bool>> {
    let voices = block.lowered().tune.voices.iter();
    voices.map(|voice| voice.events.iter().map(|event| event.joined).collect()).collect()
}

/// Lays out the lines in a range and proves every promise of it.
fn laid(block: &Block, within: Range<usize>) -> (Arc<Block>, Layout) {
    let layout = layout(block, within.clone());
    let text = &block.text;
    for edit in &layout.edits {
        let range = edit.span.range();
        assert!(within.start <= range.start && range.end <= within.end, "{edit:?} in\n{text}");
        let blank = |text: &str| text.chars().all(|c| matches!(c, ' ' | '\t'));
        assert!(blank(&text[range.clone()]) && blank(&edit.text), "{edit:?} in\n{text}");
        assert_ne!(text[range], edit.text, "nothing is changed by {edit:?} in\n{text}");
    }
    assert!(layout.edits.windows(2).all(|pair| pair[0].span.end < pair[1].span.start), "{text}");
    let after = block.edited(&layout.edits).unwrap();
    assert_eq!(signs(text), signs(&after.text));
    assert_eq!(comments(text), comments(&after.text), "{text}");
    assert_eq!(beams(block), beams(&after), "{text}");
    assert!(same_score(block, &after), "{text}\nbecomes\n{}", after.text);
    (after, layout)
}

/// How a whole document was laid out.
#[derive(Default)]
struct Tally {
    tunes: usize,
    lines: usize,
    edits: usize,
    left: usize,
}

impl Tally {
    fn document(&mut self, document: &Document) {
        let mut text = String::new();
        for (_, block) in document.blocks() {
            let (after, layout) = laid(block, 0..block.text.len());
            let (again, second) = laid(&after, 0..after.text.len());
            assert_eq!(again.text, after.text, "not settled: {}", block.text);
            assert_eq!(layout.left, second.left);
            assert!(block.kind != BlockKind::FreeText || layout.edits.is_empty());
            text.push_str(&after.text);
            self.tunes += 1;
            self.lines += block.text.lines().count();
            self.edits += layout.edits.len();
            self.left += layout.left;
        }
        let fresh = Document::new(&text);
        assert_eq!(fresh.blocks().count(), document.blocks().count());
        for ((_, old), (_, new)) in document.blocks().zip(fresh.blocks()) {
            assert!(same_score(old, new), "{}\nbecomes\n{}", old.text, new.text);
        }
    }
}

#[test]
fn real_scores_stay_what_they_are() {
    let mut tally = Tally::default();
    documents(2).iter().for_each(|(_, document)| tally.document(document));
    let Tally { tunes, lines, edits, left } = tally;
    println!("{edits} edits in {lines} lines of {tunes} blocks; {left} lines left");
    assert!(edits > 0, "nothing was tried");
    assert!(left * 10_000 <= lines, "{left} lines of {lines} had to be left");
}

#[test]
fn parts_of_real_scores_stay_what_they_are() {
    let mut dice = Dice(7);
    for (_, document) in documents(2).iter().filter(|(_, document)| document.blocks().count() > 0) {
        let blocks: Vec<_> = document.blocks().collect();
        let block = blocks[dice.roll(blocks.len())].1;
        let line = |byte: usize| block.text[..byte].rfind('\n').map_or(0, |end| end + 1);
        let mut places = [0; 2].map(|_| dice.roll(block.text.len()));
        places.sort_unstable();
        let mut starts = places;
        for place in &mut starts {
            while !block.text.is_char_boundary(*place) {
                *place -= 1;
            }
            *place = line(*place);
        }
        let (after, _) = laid(block, starts[0]..starts[1]);
        let grown = after.text.len() as isize - block.text.len() as isize;
        let (again, _) = laid(&after, starts[0]..starts[1].saturating_add_signed(grown));
        assert_eq!(again.text, after.text, "not settled: {}", block.text);
    }
}

/// Two or three voices with the same bars, typed in any way.
fn voices() -> impl Strategy<Value = String> {
    let note = prop::sample::select(vec![
        "A", "B2", "c/", "[CE]2", "z", "(3abc", "{g}d", "\"Am\"e", "!p!f", "^g>a", "y", "(a b)",
        "c-c", ".d", "`e", "~f", "[M:3/4]", "[K:G]g", "$", "!", "\"^é  ", "& c", "Z2", "\\",
    ]);
    let gap = prop::sample::select(vec!["", " ", "  ", "\t", " ` "]);
    let bar = prop::sample::select(vec![
        "|", "||", "|]", "|:", ":|", "::", "|1", ":|2", "| [2", "[|", ".|", "| |", "| 1", "|[V:1]",
    ]);
    let bar = (prop::collection::vec((note, gap.clone()), 0..5), bar, gap.clone()).prop_map(
        |(notes, bar, gap)| {
            let notes: String = notes.iter().flat_map(|(note, gap)| [*note, *gap]).collect();
            format!("{notes}{bar}{gap}")
        },
    );
    let between = prop::sample::select(vec![
        "",
        "w: la  la  \n",
        "% so  \n",
        "%%x  y \n",
        "M:3/4 \n",
        "s: !f!  * \n",
        "K:D \\ \n",
        "  % in\n",
    ]);
    let line = (0..3usize, gap, prop::collection::vec(bar, 0..4), between);
    let lines = prop::collection::vec(line, 1..8);
    let head = prop::sample::select(vec![
        "",
        "%abc-2.1\n",
        "m: A | = B|\n",
        "m: c| = d\n",
        "I:linebreak !\n",
    ]);
    let shape = prop::sample::select(vec![0, 1]);
    (head, shape, lines).prop_map(|(head, shape, lines)| {
        let mut text = format!("X:1 \n{head}V:1\nV:2\nV:3\nK:C\n");
        for (voice, gap, bars, between) in lines {
            let voice = voice + 1;
            let voice = if shape == 0 { format!("V:{voice}\n") } else { format!("[V:{voice}]") };
            text.push_str(&format!("{voice}{gap}{}\n{between}", bars.concat()));
        }
        text
    })
}

/// Scraps that mean something, in any order.
fn scraps() -> impl Strategy<Value = String> {
    let scrap = prop::sample::select(vec![
        "X:1",
        "\n",
        "\n",
        "K:C\n",
        "V:1\n",
        "[V:2]",
        "|",
        ":",
        "[",
        "]",
        "{",
        "}",
        "(",
        ")",
        "\"",
        "!",
        "+",
        "%",
        "%%begintext\n",
        "%%endtext\n",
        "\\",
        "&",
        "A",
        "b2",
        "z",
        " ",
        "  ",
        "\t",
        "`",
        ".",
        "-",
        ">",
        "1",
        "3",
        "$",
        "m:A |=B\n",
        "w:",
        "~",
        "\r\n",
        "\r",
        "\u{a0}",
        "é",
        "U:T=!x!\n",
        "I:",
        "n",
        ",",
    ]);
    prop::collection::vec(scrap, 0..60).prop_map(|scraps| scraps.concat())
}

proptest! {
    // The same texts in every run.
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::with_cases(1500)
    })]

    #[test]
    fn composed_voices_stay_what_they_are(text in voices()) {
        Tally::default().document(&Document::new(&text));
    }

    #[test]
    fn any_text_stays_what_it_is(text in scraps()) {
        Tally::default().document(&Document::new(&text));
    }

    #[test]
    fn a_typed_bar_line_touches_its_line_and_nothing_after(text in voices(), place in 0.0..1.0) {
        let bars: Vec<usize> = text.match_indices('|').map(|(at, _)| at + 1).collect();
        let Some(&cursor) = bars.get((bars.len() as f64 * place) as usize) else { return Ok(()) };
        let document = Document::new(&text);
        let (start, block) = document.block_at(cursor - 1).unwrap();
        let layout = layout_at_bar(block, cursor - start);
        let line = block.text[..cursor - start].rfind('\n').map_or(0, |end| end + 1);
        for edit in &layout.edits {
            let range = edit.span.range();
            prop_assert!(line <= range.start && range.end < cursor - start, "{edit:?} in\n{text}");
        }
        let after = block.edited(&layout.edits).unwrap();
        prop_assert!(same_score(block, &after));
        prop_assert_eq!(after.text.as_ref(), apply(&block.text, &layout.edits).unwrap());
    }
}
