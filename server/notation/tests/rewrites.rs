//! What rewriting bars promises, over real scores: in every voice, the same sound, everything on the page at its
//! moment, nothing changed outside the bars, the old signature after them; or a refusal. Splitting, then joining
//! gives the text back.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::write::{
    MovedLines, NewBar, Refusal, Scale, TextEdit, join_bars, move_lines, moved_lines, proved,
    scale_values, scaled_exactly, set_metre, split_bar_as_typed, write_bars,
};
use recte_notation::{Block, BlockKind, Document};
use recte_score::{Bar, Tune};
use recte_theory::{Metre, Time};
use std::collections::BTreeMap;
use std::sync::Arc;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{Dice, documents, tunes_of};

/// Bytes that are read again for one tune; with `RECTE_ALL=1` twenty times as many.
const READ_AGAIN: usize = 12_000;

/// What came of one kind of rewriting.
#[derive(Default)]
struct Count {
    right: usize,
    refused: BTreeMap<String, usize>,
}

#[derive(Default)]
struct Tally {
    counts: BTreeMap<&'static str, Count>,
    wrong: Vec<String>,
    not_given_back: Vec<String>,
    /// Rewritings that were worked out and did not hold.
    unproved: usize,
}

fn metre(text: &str) -> Metre {
    Metre::parse(text).unwrap()
}

/// So long a bar, in quarters if they fit.
fn plain(length: Time) -> Option<Metre> {
    let of = |unit: u32| {
        let count = length.count_of(Time::new(1, i64::from(unit)))?;
        Metre::fraction(u32::try_from(count).ok()?, unit).ok()
    };
    [4, 8, 16, 32].into_iter().find_map(of)
}

/// The lines that differ, after the first, for the header.
fn shown(before: &str, after: &str) -> String {
    let mut shown: String = before.lines().take(8).map(|line| format!("  {line}\n")).collect();
    for (old, new) in before.lines().zip(after.lines()).filter(|(old, new)| old != new).take(12) {
        shown.push_str(&format!("- {old}\n+ {new}\n"));
    }
    shown
}

/// A reason without the name of a voice.
fn reason(refusal: &Refusal) -> String {
    let text = refusal.to_string();
    match text.split_once(" has ") {
        Some((voice, rest)) if voice.starts_with("Voice ") => format!("A voice has {rest}"),
        _ => text,
    }
}

impl Tally {
    fn refuse(&mut self, what: &'static str, why: String) {
        *self.counts.entry(what).or_default().refused.entry(why).or_default() += 1;
    }

    /// Proves a rewriting of the bars `from` to `to` into bars of these lengths; gives the tune after it.
    fn prove(
        &mut self,
        what: &'static str,
        block: &Block,
        edits: Result<Vec<TextEdit>, Refusal>,
        (from, to): (u32, u32),
        new: &[NewBar],
    ) -> Option<Arc<Block>> {
        let edits = match edits {
            Ok(edits) => edits,
            Err(refusal) => {
                self.refuse(what, reason(&refusal));
                return None;
            }
        };
        if let Err(refusal) = proved(block, edits.clone()) {
            self.unproved += 1;
            if std::env::var_os("RECTE_SHOW").is_some() {
                let text = block.edited(&edits).map(|after| after.text.to_string());
                let lines = shown(&block.text, &text.unwrap_or_default());
                println!("not proved: {what}, bars {from} to {to}:\n{lines}");
            }
            self.refuse(what, reason(&refusal));
            return None;
        }
        let outcome = match block.edited(&edits) {
            Ok(after) => {
                let fault = fault(block, &after, (from, to), new);
                fault.map_or(Ok(after.clone()), |why| Err((why, after.text.to_string())))
            }
            Err(_) => Err(("edits overlap".to_owned(), format!("{edits:?}"))),
        };
        match outcome {
            Ok(after) => {
                self.counts.entry(what).or_default().right += 1;
                Some(after)
            }
            Err((why, text)) => {
                let lines = shown(&block.text, &text);
                self.wrong.push(format!("{what}: {why}, bars {from} to {to}:\n{lines}"));
                None
            }
        }
    }

    fn split(&mut self, block: &Block, bar: u32, dice: &mut Dice) {
        let read = block.lowered();
        let length = read.tune.bars[bar as usize].length;
        let unit = if dice.roll(4) > 0 { Time::new(1, 4) } else { Time::new(1, 8) };
        let Some(all) = length.count_of(unit).filter(|all| (2..256).contains(all)) else { return };
        let at = unit * Time::new(1 + dice.roll(all as usize - 1) as i64, 1);
        let (Some(first), Some(second)) = (plain(at), plain(length - at)) else { return };
        let edits = split_bar_as_typed(&block.text, read, bar, &[first.clone(), second.clone()]);
        let new = [NewBar::full(&first), NewBar::full(&second)];
        let Some(after) = self.prove("split", block, edits, (bar, bar), &new) else { return };
        let own = read.tune.voices.iter().find(|voice| voice.bars.len() > bar as usize).unwrap();
        let old = read.tune.metre(&own.bars[bar as usize]).clone();
        if old.length() != Some(length) {
            return;
        }
        let edits = join_bars(&after.text, after.lowered(), bar, bar + 1, &old);
        let new = [NewBar::full(&old)];
        let Some(again) = self.prove("join again", &after, edits, (bar, bar + 1), &new) else {
            return;
        };
        // An accidental that is typed twice in a bar was needed when the bar was two.
        let letters = |text: &str| text.chars().filter(|c| !"^_=".contains(*c)).collect::<String>();
        if again.text != block.text && letters(&again.text) == letters(&block.text) {
            self.refuse("given back", "an accidental typed twice in the bar".to_owned());
        } else if again.text == block.text {
            self.counts.entry("given back").or_default().right += 1;
        } else {
            let split = shown(&block.text, &after.text);
            let lines = shown(&block.text, &again.text);
            self.not_given_back.push(format!("bar {bar} at {at}:\n{split}becomes\n{lines}"));
        }
    }

    fn join(&mut self, block: &Block, bar: u32) {
        let read = block.lowered();
        let Some(next) = read.tune.bars.get(bar as usize + 1) else { return };
        let length = read.tune.bars[bar as usize].length + next.length;
        let Some(sign) = plain(length) else { return };
        let edits = join_bars(&block.text, read, bar, bar + 1, &sign);
        self.prove("join", block, edits, (bar, bar + 1), &[NewBar::full(&sign)]);
    }

    fn rewrite(&mut self, block: &Block, bar: u32, dice: &mut Dice) {
        let read = block.lowered();
        let Some(voice) = read.tune.voices.iter().find(|voice| voice.bars.len() > bar as usize)
        else {
            return;
        };
        let old = read.tune.metre(&voice.bars[bar as usize]).clone();
        let Some(length) = old.length() else { return };
        let full = |bar: &&Bar| *read.tune.metre(bar) == old && bar.length == length;
        let run = voice.bars[bar as usize..].iter().take(8).take_while(full).count() as u32;
        let others: &[&str] = match old.numbers() {
            Some((6, 8)) => &["3/4", "3/8", "12/8"],
            Some((3, 4)) => &["6/8", "2/4", "4/4"],
            Some((9, 8)) => &["5/8 2/4", "3+2+2+2/8", "3/8"],
            Some((4, 4)) => &["2/2", "C|", "3+3+2/8", "2/4", "3/4", "3/4 5/4"],
            Some((2, 2)) => &["4/4", "2/4", "3/2"],
            Some((2, 4)) => &["4/4", "3/4", "4/8"],
            Some((12, 8)) => &["6/8", "3/4", "4/4"],
            Some((3, 2)) => &["6/4", "3/4", "2/2"],
            _ => &["4/4", "3/4"],
        };
        let other: Vec<Metre> = others[dice.roll(others.len())].split(' ').map(metre).collect();
        let whole: Time = other.iter().filter_map(Metre::length).sum();
        // As many bars as come out even.
        let fits =
            |count: &u32| (length * Time::new(i64::from(*count), 1)).count_of(whole).is_some();
        let Some(count) = (1..=run).rev().find(fits) else { return };
        let times = (length * Time::new(i64::from(count), 1)).count_of(whole).unwrap();
        let new: Vec<NewBar> = (0..times).flat_map(|_| other.iter().map(NewBar::full)).collect();
        let to = bar + count - 1;
        if other.len() == 1 && whole == length {
            let edits = set_metre(&block.text, read, bar, to, &other[0]);
            self.prove("another signature", block, edits, (bar, to), &new);
        } else {
            let edits = write_bars(&block.text, read, bar, to, &new);
            self.prove("other bars", block, edits, (bar, to), &new);
        }
    }
}

impl Tally {
    fn move_lines(&mut self, block: &Block, bar: u32, dice: &mut Dice) {
        let read = block.lowered();
        let by = Time::new([1, -1][dice.roll(2)], [4, 8][dice.roll(2)]);
        match moved_lines(read, bar, by) {
            Err(refusal) => self.refuse("move the lines", reason(&refusal)),
            Ok(MovedLines { from, to, bars }) => {
                let edits = move_lines(&block.text, read, bar, by);
                self.prove("move the lines", block, edits, (from, to), &bars);
            }
        }
    }

    fn scale(&mut self, block: &Block, bar: u32, dice: &mut Dice) {
        // Most old tunes give no tempo; one is given to them.
        let with_tempo = block.text.replacen("\nK:", "\nQ:1/4=90\nK:", 1);
        let document = Document::new(&with_tempo);
        let found = document.blocks().find(|(_, block)| block.kind == BlockKind::Tune);
        let block: &Block = match found.filter(|_| dice.roll(4) > 0) {
            Some((_, found)) if found.lowered().tune.bars.len() > bar as usize => found,
            _ => block,
        };
        let read = block.lowered();
        let scale = [Scale::Half, Scale::Double][dice.roll(2)];
        let last = read.tune.bars.len() as u32 - 1;
        let (from, to) = match dice.roll(3) {
            0 => (0, last),
            _ => (bar, (bar + dice.roll(6) as u32).min(last)),
        };
        match scale_values(&block.text, read, from, to, scale) {
            Err(refusal) => self.refuse("scale", reason(&refusal)),
            Ok(edits) => match scaled_exactly(block, &edits, (from, to), scale) {
                Some(after) => {
                    self.counts.entry("scale").or_default().right += 1;
                    let bars = after.lowered().tune.bars.len();
                    assert_eq!(bars, read.tune.bars.len(), "{}", after.text);
                }
                None => {
                    self.unproved += 1;
                    if std::env::var_os("RECTE_SHOW").is_some() {
                        let text = block.edited(&edits).map(|after| after.text.to_string());
                        let lines = shown(&block.text, &text.unwrap_or_default());
                        println!("not proved: {scale:?}, bars {from} to {to}:\n{lines}");
                    }
                    self.refuse("scale", "not proved".to_owned());
                }
            },
        }
    }
}

/// What is wrong with a rewriting.
fn fault(block: &Block, after: &Block, (from, to): (u32, u32), new: &[NewBar]) -> Option<String> {
    let (old, now) = (block.lowered(), after.lowered());
    let moved = |bar: u32| (bar + new.len() as u32).wrapping_sub(to - from + 1);
    for (before, voice) in old.tune.voices.iter().zip(&now.tune.voices) {
        if before.bars.len() <= from as usize {
            continue;
        }
        if voice.bars.len() != moved(before.bars.len() as u32) as usize {
            return Some(format!("voice {} has not the bars it should", voice.id));
        }
        for (bar, wanted) in voice.bars[from as usize..].iter().zip(new) {
            if bar.length != wanted.length || *now.tune.metre(bar) != wanted.metre {
                return Some(format!("voice {} has no bar of {} there", voice.id, wanted.metre));
            }
        }
        for bar in (0..from).chain(to + 1..before.bars.len() as u32) {
            let other = if bar < from { bar } else { moved(bar) };
            let (own, then) = (&before.bars[bar as usize], &voice.bars[other as usize]);
            if old.tune.metre(own) != now.tune.metre(then) {
                return Some(format!("voice {}: another signature in bar {bar}", voice.id));
            }
            let counts = |tune: &Tune, bar: &Bar, text: &str| {
                let typed = text.get(bar.span.range()).unwrap_or_default().to_owned();
                (tune.metre(bar).clone(), bar.length, typed)
            };
            let same = counts(&old.tune, own, &block.text) == counts(&now.tune, then, &after.text);
            // A rest of several bars may be parted, and where no line is typed an accidental reaches on.
            let rest = block.text[own.span.range()].starts_with(['Z', 'X']);
            let open = bar > 0 && before.bars[bar as usize - 1].line.is_none();
            if !same && !rest && !open {
                return Some(format!("voice {}: bar {bar} is typed otherwise", voice.id));
            }
        }
    }
    None
}

#[test]
fn real_bars_are_rewritten_in_every_voice_or_not_at_all() {
    let all = std::env::var_os("RECTE_ALL").is_some();
    let mut dice = Dice(23);
    let mut tally = Tally::default();
    let blocks: Vec<Arc<Block>> = documents(2)
        .iter()
        .flat_map(|(_, document)| tunes_of(document).collect::<Vec<_>>())
        .collect();
    for block in blocks {
        let bars = block.lowered().tune.bars.len();
        if bars == 0 {
            continue;
        }
        let least = usize::from(dice.roll(4) == 0);
        let tries = (least + READ_AGAIN / block.text.len().max(1) / 8) * if all { 20 } else { 1 };
        for _ in 0..tries {
            let bar = dice.roll(bars) as u32;
            match dice.roll(5) {
                0 => tally.split(&block, bar, &mut dice),
                1 => tally.join(&block, bar),
                2 => tally.move_lines(&block, bar, &mut dice),
                3 => tally.scale(&block, bar, &mut dice),
                _ => tally.rewrite(&block, bar, &mut dice),
            }
        }
    }
    for (what, count) in &tally.counts {
        let refused: usize = count.refused.values().sum();
        println!("{what}: {} done, {refused} refused", count.right);
        for (why, times) in &count.refused {
            let share = 100.0 * *times as f64 / (count.right + refused) as f64;
            println!("  {share:5.1} % {why}");
        }
    }
    println!("{} not given back", tally.not_given_back.len());
    let few = |all: &[String]| all.iter().take(12).cloned().collect::<Vec<_>>().join("\n");
    let Tally { wrong, not_given_back, counts, unproved } = &tally;
    println!("{unproved} not proved");
    println!("{} not given back:\n{}", not_given_back.len(), few(not_given_back));
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), few(wrong));
    assert!(
        not_given_back.is_empty(),
        "{} not given back:\n{}",
        not_given_back.len(),
        few(not_given_back)
    );
    let done: usize = counts.values().map(|count| count.right).sum();
    assert!(done > 100, "{done} done");
}
