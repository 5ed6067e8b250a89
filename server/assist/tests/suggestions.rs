//! What suggestions promise, over imported scores: nothing outside the bars asked for is changed, no note changes its
//! time, the highest voice keeps its notes, and no rule has more to say. How many are made, and why others are refused, is printed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_assist::{Snapshot, Wanted, check, suggestions_for};
use recte_notation::{BlockKind, Document};
use recte_score::{Sounding, Tune, soundings};
use recte_theory::Time;
use std::collections::BTreeMap;
use std::sync::Arc;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{Dice, imported};

/// Longer scores, in bytes, take too long: each suggestion is a reading of the whole.
const LONGEST: usize = 30_000;
/// So many passages of each score are asked about.
const PASSAGES: usize = 3;

/// What sounds, by voice, from when to when; outside a stretch of time or everything.
fn sounds(tune: &Tune, outside: Option<(Time, Time)>) -> Vec<(u32, Time, Time, i32)> {
    let all = soundings(tune).into_iter();
    let kept =
        all.filter(|one| outside.is_none_or(|(from, to)| one.end <= from || one.onset >= to));
    let mut kept: Vec<_> =
        kept.map(|one: Sounding| (one.voice, one.onset, one.end, one.pitch.midi())).collect();
    kept.sort_unstable();
    kept
}

/// The highest sound of each moment at which something begins in a stretch.
fn melody(tune: &Tune, (from, to): (Time, Time)) -> Vec<(Time, i32)> {
    let all = soundings(tune);
    let mut moments: Vec<Time> =
        all.iter().map(|one| one.onset).filter(|at| from <= *at && *at < to).collect();
    moments.sort_unstable();
    moments.dedup();
    let highest = |at: Time| {
        let here = all.iter().filter(|one| one.onset <= at && at < one.end);
        here.map(|one| one.pitch.midi()).max()
    };
    moments.into_iter().filter_map(|at| Some((at, highest(at)?))).collect()
}

fn remarks(document: &Document) -> BTreeMap<&'static str, usize> {
    let mut counts = BTreeMap::new();
    for one in check(&Snapshot::new(document.clone(), Arc::default())) {
        *counts.entry(one.finding().rule).or_default() += 1;
    }
    counts
}

#[test]
fn over_imported_scores() {
    let mut dice = Dice(7);
    let mut told: BTreeMap<String, usize> = BTreeMap::new();
    let mut made = 0;
    for (name, document) in imported(8) {
        if document.rope().len_bytes() > LONGEST {
            continue;
        }
        let snapshot = Snapshot::new(document.clone(), Arc::default());
        let mut tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
        let Some((start, block)) = tunes.next() else { continue };
        let tune = &block.lowered().tune;
        let before = remarks(&document);
        for _ in 0..PASSAGES {
            let from = dice.roll(tune.bars.len()) as u32;
            let to = (from + dice.roll(3) as u32).min(tune.bars.len() as u32 - 1);
            let own = &tune.bars[from as usize..=to as usize];
            let time = (own[0].start, own[own.len() - 1].start + own[own.len() - 1].length);
            for one in suggestions_for(&snapshot, (start, block), (from, to), Wanted::Proved) {
                let kind = one.title.split(' ').next().unwrap().to_owned();
                let changes = match one.changes {
                    Ok(changes) => changes,
                    Err(reason) => {
                        let reason = reason.split(": ").next().unwrap();
                        *told.entry(format!("{kind}: {reason}")).or_default() += 1;
                        continue;
                    }
                };
                made += 1;
                *told.entry(format!("{kind}: made")).or_default() += 1;
                let after = Document::new(&document.text_with(&changes));
                let (_, changed) =
                    after.blocks().find(|(_, block)| block.kind == BlockKind::Tune).unwrap();
                let now = &changed.lowered().tune;
                let what = format!("{name}, bars {from} to {to}: {}", one.title);
                assert_eq!(sounds(tune, Some(time)), sounds(now, Some(time)), "{what}");
                if kind != "Add" {
                    // A held note may begin where nothing did.
                    let (was, is) = (melody(tune, time), melody(now, time));
                    assert!(was.iter().all(|one| is.contains(one)), "{what}: {was:?} {is:?}");
                }
                let held = usize::from(kind == "Hold");
                assert!(now.voices.len() - tune.voices.len() <= held, "{what}");
                let timed = |tune: &Tune| {
                    let voices = tune.voices.iter().flat_map(|voice| &voice.events);
                    voices
                        .map(|event| (event.bar, event.offset, event.duration))
                        .collect::<Vec<_>>()
                };
                assert!(timed(now).starts_with(&timed(tune)), "{what}");
                for (rule, count) in remarks(&after) {
                    assert!(before.get(rule).copied().unwrap_or(0) >= count, "{what}: {rule}");
                }
            }
        }
    }
    told.iter().for_each(|(what, count)| println!("{count:5} {what}"));
    assert!(made > 30 || std::env::var_os("RECTE_IMPORTED").is_none(), "{made} made");
}
