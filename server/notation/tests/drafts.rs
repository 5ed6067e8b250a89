//! What comparing two drafts promises, over real scores: known edits are made, and the plan says just those. A draft
//! compared with itself is the same to the last bar, and comparing the other way round says the same mirrored.
//!
//! Where music repeats, one edit can be told in several ways (which of two equal bars is gone?); every one that is
//! true counts: as many bars are gone, and all others are as they were.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::Block;
use recte_notation::write::{NewBar, join_bars, proved, write_bars};
use recte_score::drafts::{Kind, Plan, Stretch, Transposition, Values, align};
use recte_score::{Tune, excerpt};
use recte_theory::{Metre, Time};
use std::collections::BTreeMap;
use std::sync::Arc;

mod edits;
#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{Dice, documents, hash, tunes_of};

/// Tunes shorter than this have no room for the edits.
const BARS: usize = 12;
/// Of the tunes typed as text so many are taken, one in so many.
const ONE_IN: u64 = 25;

#[derive(Default)]
struct Tally {
    right: BTreeMap<&'static str, usize>,
    wrong: BTreeMap<&'static str, Vec<String>>,
}

impl Tally {
    fn count(&mut self, what: &'static str, name: &str, plan: &Plan, right: bool) {
        if right {
            *self.right.entry(what).or_default() += 1;
        } else {
            let said: Vec<&Stretch> =
                plan.stretches.iter().filter(|stretch| stretch.kind != Kind::Same).collect();
            self.wrong.entry(what).or_default().push(format!("{name}: {what}: {said:?}"));
        }
    }
}

/// Real tunes with enough bars; tempi and names of sections are left out, because an edit here would move them.
fn tunes() -> Vec<(String, Arc<Block>, Tune)> {
    let all = documents(3);
    let blocks = all.iter().flat_map(|(name, document)| {
        tunes_of(document).map(move |block| {
            let reference = block.lowered().tune.reference.clone().unwrap_or_default();
            (format!("{name} {reference}"), block)
        })
    });
    let long = blocks.filter(|(name, block)| {
        let tune = &block.lowered().tune;
        tune.bars.len() >= BARS && (tune.voices.len() > 1 || hash(name).is_multiple_of(ONE_IN))
    });
    long.map(|(name, block)| {
        let tune = block.lowered().tune.clone();
        (name, block, Tune { tempi: Vec::new(), sections: Vec::new(), ..tune })
    })
    .collect()
}

/// Two places to cut at, with bars before, between and after.
fn passage(tune: &Tune, dice: &mut Dice) -> Option<(u32, u32)> {
    let last = tune.bars.len() as u32 - 1;
    let cuts: Vec<u32> = (2..last).filter(|bar| edits::is_clean_cut(tune, *bar)).collect();
    let at = dice.roll(cuts.len());
    let from = *cuts.get(at)?;
    let ends: Vec<u32> =
        cuts[at..].iter().copied().filter(|to| (1..9).contains(&(to - from))).collect();
    Some((from, *ends.get(dice.roll(ends.len()))?))
}

/// Whether all is as it was but for one stretch of this kind and size.
fn is_only(plan: &Plan, kind: Kind, bars: usize) -> bool {
    let other: Vec<&Stretch> =
        plan.stretches.iter().filter(|stretch| stretch.kind != Kind::Same).collect();
    matches!(other[..], [one] if one.kind == kind && one.old.len().max(one.new.len()) == bars)
}

fn both_ways(old: &Tune, new: &Tune) -> Plan {
    let plan = align(old, new);
    assert_eq!(align(new, old), plan.clone().mirrored());
    for (bars, of) in [
        (old.bars.len(), (|s| s.old.clone()) as fn(&Stretch) -> std::ops::Range<u32>),
        (new.bars.len(), |s| s.new.clone()),
    ] {
        let covered: Vec<u32> = plan.stretches.iter().flat_map(of).collect();
        assert_eq!(covered, (0..bars as u32).collect::<Vec<_>>());
    }
    plan
}

#[test]
fn known_edits_of_real_scores_are_told() {
    let mut tally = Tally::default();
    let mut dice = Dice(7);
    for (name, block, tune) in tunes() {
        assert!(align(&tune, &tune).is_same(), "{name}");
        let Some((from, to)) = passage(&tune, &mut dice) else { continue };
        let voices: Vec<usize> = (0..tune.voices.len()).collect();
        let last = tune.bars.len() as u32 - 1;
        let part = |bars: std::ops::RangeInclusive<u32>| excerpt(&tune, bars, &voices);
        let count = (to - from) as usize;
        let sounds = edits::sounds_in(&tune, from..to);

        let shorter = edits::joined(&part(0..=from - 1), &part(to..=last));
        let plan = both_ways(&tune, &shorter);
        tally.count("deleted", &name, &plan, is_only(&plan, Kind::Deleted, count));

        let strange = edits::inverted(&part(from..=to - 1));
        let longer =
            edits::joined(&edits::joined(&part(0..=from - 1), &strange), &part(from..=last));
        let plan = both_ways(&tune, &longer);
        tally.count("inserted", &name, &plan, is_only(&plan, Kind::Inserted, count));

        let steps = [(1, 2), (-1, -2), (3, 5), (4, 7), (2, 4), (2, 3)][dice.roll(6)];
        let by = Transposition { steps: steps.0, semitones: steps.1 };
        if sounds >= 3 {
            let higher = edits::transposed(&tune, from..to, by);
            let plan = both_ways(&tune, &higher);
            let right = edits::is_transposed_only(&tune, &plan, from..to, by);
            tally.count("transposed", &name, &plan, right);
        }

        let by = [1, -1, 2, -2, 3, 5][dice.roll(6)];
        if sounds >= 3 {
            let higher = edits::by_degrees(&tune, from..to, by);
            let plan = both_ways(&tune, &higher);
            let right = edits::is_by_degrees_only(&tune, &plan, from..to, by);
            tally.count("transposed within the key", &name, &plan, right);
        }

        let values = [Values::Doubled, Values::Halved][dice.roll(2)];
        if edits::begun_in(&tune, from..to) >= 3 {
            let other = edits::scaled(&part(from..=to - 1), values.times());
            let other =
                edits::joined(&edits::joined(&part(0..=from - 1), &other), &part(to..=last));
            let plan = both_ways(&tune, &other);
            let right = edits::is_scaled_only(&plan, from..to, values);
            tally.count("values doubled or halved", &name, &plan, right);
        }

        if let Some((voice, bar, changed)) = edits::one_note_changed(&tune, &mut dice) {
            let plan = both_ways(&tune, &changed);
            let there = |stretch: &Stretch| {
                let part = stretch.touched.first().map(|touched| touched.part as usize);
                stretch.old == (bar..bar + 1)
                    && stretch.new == stretch.old
                    && stretch.touched.len() == 1
                    && part.is_some_and(|part| plan.parts[part].new == Some(voice))
            };
            let right = is_only(&plan, Kind::Changed, 1)
                && plan.stretches.iter().filter(|s| s.kind == Kind::Changed).all(there);
            tally.count("one note changed", &name, &plan, right);
        }

        if tune.voices.len() > 1 {
            let (other, order) = edits::renamed_and_reordered(&tune, &mut dice);
            let plan = both_ways(&tune, &other);
            let right = plan.stretches.iter().all(|stretch| stretch.kind == Kind::Same)
                && edits::is_paired(&tune, &plan, &order);
            tally.count("voices renamed, reordered", &name, &plan, right);

            let gone = dice.roll(voices.len());
            let rest: Vec<usize> = voices.iter().copied().filter(|voice| *voice != gone).collect();
            let fewer = excerpt(&tune, 0..=last, &rest);
            // What only one voice says of repeats goes to another, and lengths may be its own.
            if fewer.bars == tune.bars {
                let plan = both_ways(&tune, &fewer);
                let without: Vec<_> = plan.parts.iter().filter(|part| part.new.is_none()).collect();
                let right = matches!(without[..], [part] if part.old.is_some_and(|old| {
                    edits::play_alike(&tune, old as usize, gone)
                })) && plan
                    .stretches
                    .iter()
                    .all(|stretch| matches!(stretch.kind, Kind::Same | Kind::Renotated));
                tally.count("a voice removed", &name, &plan, right);
            }
        }

        relined(&mut tally, &name, &block, &mut dice);
    }
    told(&tally);
}

/// Splits a bar, or joins two, or moves the lines of some by a beat, with the engine that editors use.
fn relined(tally: &mut Tally, name: &str, block: &Block, dice: &mut Dice) {
    let tune = &block.lowered().tune;
    let last = tune.bars.len() - 1;
    let quarter = Time::new(1, 4);
    let metre = |length: Time| {
        let count = length.count_of(quarter).filter(|count| (1..32).contains(count))?;
        Metre::fraction(count as u32, 4).ok()
    };
    let bar = 1 + dice.roll(last - 2) as u32;
    let length = tune.bars[bar as usize].length;
    let sounds = edits::sounds_in(tune, bar..bar + 2);
    if let (Some(first), Some(rest)) = (metre(quarter), metre(length - quarter)) {
        let new = [NewBar::full(&first), NewBar::full(&rest)];
        let edits = write_bars(&block.text, block.lowered(), bar, bar, &new);
        compare(tally, "a bar split", name, block, edits.ok(), (bar..bar + 1, 2), sounds);
    }
    let next = tune.bars[bar as usize + 1].length;
    if let Some(whole) = metre(length + next) {
        let edits = join_bars(&block.text, block.lowered(), bar, bar + 1, &whole);
        compare(tally, "two bars joined", name, block, edits.ok(), (bar..bar + 2, 1), sounds);
    }
    let to = (bar as usize + 3).min(last - 1) as u32;
    let lengths: Vec<Time> =
        tune.bars[bar as usize..=to as usize].iter().map(|b| b.length).collect();
    let even = lengths.iter().all(|other| *other == length);
    if let (true, Some(whole), Some(rest)) =
        (even && lengths.len() > 1, metre(length), metre(length - quarter))
    {
        let one = metre(quarter).unwrap();
        let mut new = vec![NewBar::full(&one)];
        new.extend(lengths[1..].iter().map(|_| NewBar::full(&whole)));
        new.push(NewBar::full(&rest));
        let edits = write_bars(&block.text, block.lowered(), bar, to, &new);
        let passage = (bar..to + 1, lengths.len() + 1);
        let sounds = edits::sounds_in(tune, bar..to + 1);
        compare(tally, "bar lines moved", name, block, edits.ok(), passage, sounds);
    }
}

fn compare(
    tally: &mut Tally,
    what: &'static str,
    name: &str,
    block: &Block,
    edits: Option<Vec<recte_notation::TextEdit>>,
    (old, count): (std::ops::Range<u32>, usize),
    sounds: usize,
) {
    // What the engine refuses is no edit; bars of rests are told as inserted or deleted rests.
    let Some(edits) = edits.filter(|edits| proved(block, edits.clone()).is_ok()) else { return };
    if sounds == 0 {
        return;
    }
    let after = block.edited(&edits).unwrap();
    let plan = both_ways(&block.lowered().tune, &after.lowered().tune);
    let relined: Vec<&Stretch> =
        plan.stretches.iter().filter(|stretch| stretch.kind == Kind::Rebarred).collect();
    let new = old.start..old.start + count as u32;
    let right = matches!(relined[..], [one] if one.old == old && one.new == new && one.touched.is_empty())
        && plan.stretches.iter().all(|s| matches!(s.kind, Kind::Same | Kind::Rebarred));
    tally.count(what, name, &plan, right);
}

/// At least 98 of 100 edits of every kind are told as what they are.
fn told(tally: &Tally) {
    let mut short = Vec::new();
    let kinds: std::collections::BTreeSet<&str> =
        tally.right.keys().chain(tally.wrong.keys()).copied().collect();
    for kind in kinds {
        let right = tally.right.get(kind).copied().unwrap_or(0);
        let wrong = tally.wrong.get(kind).map_or(&[][..], |wrong| &wrong[..]);
        println!("{kind}: {right} of {}", right + wrong.len());
        if std::env::var_os("RECTE_SHOW").is_some() {
            wrong.iter().for_each(|line| println!("  {line}"));
        }
        if 100 * right < 98 * (right + wrong.len()) {
            short.push((kind, wrong.first()));
        }
    }
    assert!(short.is_empty(), "{short:?}");
    assert!(tally.right.len() >= 4, "too few scores were found");
}
