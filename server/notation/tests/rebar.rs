//! What splitting a bar promises, over real scores: every voice has the two bars, sounds as it did and reads as
//! well, or the split is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::Block;
use recte_notation::write::{reads_as_well, split_bar};
use recte_score::{Tune, Voice};
use recte_theory::{Metre, Time};
use std::sync::Arc;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{Dice, documents, tunes_of};

/// Bytes that are read again for one tune; with `RECTE_ALL=1` every split is tried.
const READ_AGAIN: usize = 20_000;

#[derive(Default)]
struct Tally {
    right: usize,
    refused: usize,
    wrong: Vec<String>,
}

/// Every bar that can be cut at an eighth, with the eighths before the cut and after it.
fn places(block: &Block) -> Vec<(u32, [i64; 2])> {
    let bars = block.lowered().tune.bars.iter().zip(0..);
    let eighths = bars.map(|(bar, index)| (index, bar.length.count_of(Time::new(1, 8))));
    let cuts = |(bar, eighths): (u32, Option<i64>)| {
        let all = eighths.unwrap_or(0).min(256);
        (1..all).map(move |before| (bar, [before, all - before]))
    };
    eighths.flat_map(cuts).collect()
}

impl Tally {
    fn split(&mut self, block: &Block, bar: u32, eighths: [i64; 2]) {
        let read = block.lowered();
        let [first, second] = eighths.map(|n| Metre::fraction(n as u32, 8).unwrap());
        let at = Time::new(eighths[0], 8);
        let Ok(edits) = split_bar(&block.text, read, bar, at, [&first, &second]) else {
            self.refused += 1;
            return;
        };
        let after = block.edited(&edits).unwrap();
        match is_right(block, &after, bar, eighths) {
            Ok(()) => self.right += 1,
            Err(why) => self.wrong.push(format!(
                "{why}, bar {bar} at {at}:\n{}",
                changed_lines(&block.text, &after.text)
            )),
        }
    }
}

/// The first lines, for the header, and those that are not the same; a split adds no line.
fn changed_lines(before: &str, after: &str) -> String {
    let mut shown: String = before.lines().take(9).map(|line| format!("  {line}\n")).collect();
    for (old, new) in before.lines().zip(after.lines()).filter(|(old, new)| old != new) {
        shown.push_str(&format!("- {old}\n+ {new}\n"));
    }
    shown
}

fn is_right(block: &Block, after: &Block, bar: u32, eighths: [i64; 2]) -> Result<(), String> {
    let (old, new) = (block.lowered(), after.lowered());
    if !reads_as_well(old, new) {
        return Err("another sound, or harder to read".to_owned());
    }
    let wanted = eighths.map(|n| Time::new(n, 8));
    for (before, voice) in old.tune.voices.iter().zip(&new.tune.voices) {
        if before.bars.len() <= bar as usize {
            continue;
        }
        if voice.bars.len() != before.bars.len() + 1 {
            return Err(format!("voice {} has not one bar more", voice.id));
        }
        for (half, length) in voice.bars[bar as usize..].iter().zip(wanted) {
            if half.length != length || new.tune.metre(half).length() != Some(length) {
                return Err(format!("voice {} has no bar of {length} there", voice.id));
            }
        }
        let metre_after = |voice: &Voice, tune: &Tune, at: u32| {
            voice.bars.get(at as usize).map(|bar| tune.metre(bar).clone())
        };
        if metre_after(before, &old.tune, bar + 1) != metre_after(voice, &new.tune, bar + 2) {
            return Err(format!("in voice {} the signature does not come back", voice.id));
        }
    }
    Ok(())
}

#[test]
fn real_bars_are_split_in_every_voice_or_not_at_all() {
    let all = std::env::var_os("RECTE_ALL").is_some();
    let mut dice = Dice(11);
    let mut tally = Tally::default();
    let blocks: Vec<Arc<Block>> = documents(1)
        .iter()
        .flat_map(|(_, document)| tunes_of(document).collect::<Vec<_>>())
        .collect();
    for block in blocks {
        let mut places = places(&block);
        let wanted = if all { places.len() } else { 1 + READ_AGAIN / block.text.len().max(1) / 8 };
        while places.len() > wanted {
            places.swap_remove(dice.roll(places.len()));
        }
        for (bar, eighths) in places {
            tally.split(&block, bar, eighths);
        }
    }
    let Tally { right, refused, wrong } = tally;
    println!("{right} split, {refused} refused, {} wrong", wrong.len());
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert!(right > refused, "{right} split, {refused} refused");
}
