//! bar-length on real tunes: how rarely it speaks of clean ones, and whether it finds a bar of which one duration
//! was changed. Tunes as in `real/mod.rs`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::write::TextEdit;
use recte_notation::{Block, Document};
use recte_review::{Config, Finding, RULES, RuleSetting, check_block};
use recte_score::{Event, EventKind, Span};
use std::sync::Arc;

mod real;
use real::{Dice, documents, tunes_of};

fn only_bar_length() -> Config {
    let mut config = Config::default();
    for rule in RULES.iter().filter(|rule| rule.id != "bar-length") {
        config.rules.insert(rule.id.to_owned(), RuleSetting::Off);
    }
    config
}

fn tunes() -> Vec<(String, Arc<Block>)> {
    let named = |(name, document): (String, Document)| {
        tunes_of(&document).map(|tune| (name.clone(), tune)).collect::<Vec<_>>()
    };
    documents().into_iter().flat_map(named).collect()
}

fn alarms(block: &Block, config: &Config) -> Vec<Finding> {
    let all = check_block(block, config, &[]).findings;
    all.into_iter().filter(|finding| finding.rule == "bar-length").collect()
}

/// The tune with the duration of one event doubled or halved, and the bar it stands in.
fn damaged(block: &Block, dice: &mut Dice) -> Option<(Arc<Block>, u32)> {
    let tune = &block.lowered().tune;
    let voice = tune.voices.get(dice.roll(tune.voices.len().max(1)))?;
    let takes_time = |event: &&Event| {
        !event.grace
            && !matches!(event.kind, EventKind::BarRest(_))
            && event.duration > recte_theory::Time::ZERO
    };
    let events: Vec<&Event> = voice.events.iter().filter(takes_time).collect();
    let event = *events.get(dice.roll(events.len().max(1)))?;
    let typed = &block.text[event.length.range()];
    let text = match typed.parse::<u32>() {
        Ok(length) if dice.roll(2) == 0 => (length + 1).to_string(),
        Ok(length) if length > 1 => (length - 1).to_string(),
        _ if typed.is_empty() => "2".to_owned(),
        _ => return None,
    };
    let edit = TextEdit { span: Span { start: event.length.start, end: event.length.end }, text };
    Some((block.edited(&[edit]).ok()?, event.bar))
}

#[test]
fn clean_bars_are_quiet_and_damaged_ones_found() {
    let config = only_bar_length();
    let mut dice = Dice(7);
    let (mut bars, mut spoken, mut harmed, mut found) = (0, 0, 0, 0);
    let mut told = Vec::new();
    let mut missed = Vec::new();
    for (file, block) in tunes() {
        let tune = &block.lowered().tune;
        bars += tune.voices.iter().map(|voice| voice.bars.len()).sum::<usize>();
        let clean = alarms(&block, &config);
        spoken += clean.len();
        if !clean.is_empty() {
            let reference = tune.reference.clone().unwrap_or_default();
            let first = &clean[0];
            told.push(format!("{file} {reference} {}: {}", first.bar.unwrap_or(0), first.message));
            continue;
        }
        let bars_of =
            |v: &recte_score::Voice| v.bars.iter().all(|b| tune.metre(b).length().is_some());
        if !tune.voices.iter().all(bars_of) {
            continue;
        }
        let Some((bad, bar)) = damaged(&block, &mut dice) else { continue };
        harmed += 1;
        if alarms(&bad, &config).is_empty() {
            missed.push(format!("{file} bar {bar}\n{}", bad.text));
        } else {
            found += 1;
        }
    }
    println!("{spoken} alarms in {bars} clean bars; {found} of {harmed} damaged bars found");
    if std::env::var_os("RECTE_SHOW").is_some() {
        println!(
            "{}\n{}",
            told.join("\n"),
            missed.iter().take(12).cloned().collect::<Vec<_>>().join("\n")
        );
    }
    assert!(bars > 0);
    // What is missed is a bar that a pickup excuses, or that the damage has just filled up. What is told of is
    // nearly all in songs whose changes of signature were lost before they came to us.
    assert!(found * 100 >= harmed * 94, "{found} of {harmed} damaged bars found");
    assert!(spoken * 1000 <= bars * 12, "{spoken} alarms in {bars} clean bars");
}
