//! bar-length on real tunes: how rarely it speaks of clean ones, and whether it finds a bar of which one duration
//! was changed. Tunes as in `promises.rs`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::write::TextEdit;
use recte_notation::{Block, BlockKind, Document};
use recte_review::{Config, Finding, RULES, RuleSetting, check_block};
use recte_score::{Event, EventKind, Span};
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn only_bar_length() -> Config {
    let mut config = Config::default();
    for rule in RULES.iter().filter(|rule| rule.id != "bar-length") {
        config.rules.insert(rule.id.to_owned(), RuleSetting::Off);
    }
    config
}

fn tunes() -> Vec<(String, Arc<Block>)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let corpus = std::env::var("RECTE_CORPUS").map(PathBuf::from);
    let corpus = corpus.unwrap_or_else(|_| root.join("target/corpus/native"));
    let mut files = Vec::new();
    for folder in [root.join("tests/scores"), corpus] {
        collect(&folder, &mut files);
    }
    files.sort();
    let mut tunes = Vec::new();
    for file in files {
        let document = Document::from_bytes(std::fs::read(&file).unwrap());
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        let found = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
        tunes.extend(found.map(|(_, block)| (name.clone(), block.clone())));
    }
    tunes
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

fn alarms(block: &Block, config: &Config) -> Vec<Finding> {
    let all = check_block(block, config, &[]).findings;
    all.into_iter().filter(|finding| finding.rule == "bar-length").collect()
}

/// The tune with the duration of one event doubled or halved, and the bar it stands in.
fn damaged(block: &Block, roll: &mut impl FnMut(usize) -> usize) -> Option<(Arc<Block>, u32)> {
    let tune = &block.lowered().tune;
    let voice = tune.voices.get(roll(tune.voices.len().max(1)))?;
    let takes_time = |event: &&Event| {
        !event.grace
            && !matches!(event.kind, EventKind::BarRest(_))
            && event.duration > recte_theory::Time::ZERO
    };
    let events: Vec<&Event> = voice.events.iter().filter(takes_time).collect();
    let event = *events.get(roll(events.len().max(1)))?;
    let typed = &block.text[event.length.range()];
    let text = match typed.parse::<u32>() {
        Ok(length) if roll(2) == 0 => (length + 1).to_string(),
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
    let mut state = 7u64;
    let mut roll = |sides: usize| {
        state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        ((state >> 33) as usize) % sides.max(1)
    };
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
        let Some((bad, bar)) = damaged(&block, &mut roll) else { continue };
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
