//! bar-length on real tunes: how rarely it speaks of clean ones, and whether it finds a bar of which one duration
//! was changed. Tunes as in `real/mod.rs`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::write::TextEdit;
use recte_notation::{Block, Document};
use recte_review::{Around, Config, Finding, RULES, RuleSetting, check_block};
use recte_score::{Event, EventKind, Span};
use std::fs;
use std::path::Path;
use std::sync::Arc;

mod real;
use real::{Dice, imported, tunes_of, typed};

fn only_bar_length() -> Config {
    let mut config = Config::default();
    for rule in RULES.iter().filter(|rule| rule.id != "bar-length") {
        config.rules.insert(rule.id.to_owned(), RuleSetting::Off);
    }
    config
}

fn alarms(block: &Block, config: &Config) -> Vec<Finding> {
    let all = check_block(block, config, &Around::default()).findings;
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

/// Whether the bar by itself holds what its signature asks for: only its pickup is too much.
fn is_full(block: &Block, finding: &Finding) -> bool {
    let tune = &block.lowered().tune;
    let voice = &tune.voices[finding.voice.unwrap() as usize];
    let bar = &voice.bars[finding.bar.unwrap() as usize];
    tune.metre(bar).length() == Some(bar.length)
}

/// One line of the list: file, tune, bar and what is said.
fn line(file: &str, block: &Block, finding: &Finding) -> String {
    let reference = block.lowered().tune.reference.clone().unwrap_or_default();
    format!("{file}\t{reference}\t{}\t{}", finding.bar.unwrap_or(0), finding.message)
}

/// What is said of clean bars, and of bars that were damaged.
#[derive(Default)]
struct Survey {
    bars: usize,
    /// Bars that do not hold what their signature asks for.
    certain: Vec<String>,
    /// Full bars with a pickup on top.
    taste: Vec<String>,
    harmed: usize,
    missed: Vec<String>,
}

impl Survey {
    /// Looks at every tune, and at each that is clean with one duration changed, so many times.
    fn of(scores: &[(String, Document)], damages: usize) -> Survey {
        let config = only_bar_length();
        let mut dice = Dice(7);
        let mut survey = Survey::default();
        for (file, document) in scores {
            for block in tunes_of(document) {
                survey.take(file, &block, &config);
                for _ in 0..damages {
                    survey.damage(file, &block, &config, &mut dice);
                }
            }
        }
        survey.tell();
        survey
    }

    fn take(&mut self, file: &str, block: &Block, config: &Config) {
        let tune = &block.lowered().tune;
        self.bars += tune.voices.iter().map(|voice| voice.bars.len()).sum::<usize>();
        for finding in alarms(block, config) {
            let list = if is_full(block, &finding) { &mut self.taste } else { &mut self.certain };
            list.push(line(file, block, &finding));
        }
    }

    fn damage(&mut self, file: &str, block: &Block, config: &Config, dice: &mut Dice) {
        let tune = &block.lowered().tune;
        let measured =
            |v: &recte_score::Voice| v.bars.iter().all(|b| tune.metre(b).length().is_some());
        if !alarms(block, config).is_empty() || !tune.voices.iter().all(measured) {
            return;
        }
        let Some((bad, bar)) = damaged(block, dice) else { return };
        self.harmed += 1;
        if alarms(&bad, config).is_empty() {
            self.missed.push(format!("{file} bar {bar}\n{}", bad.text));
        }
    }

    fn tell(&self) {
        println!(
            "{} clean bars: {} do not hold what their signature asks for, {} are full and have a pickup on top; \
             {} of {} damaged bars missed",
            self.bars,
            self.certain.len(),
            self.taste.len(),
            self.missed.len(),
            self.harmed
        );
        if std::env::var_os("RECTE_SHOW").is_some() {
            println!("{}\n{}", self.certain.join("\n"), self.missed.join("\n"));
        }
        assert!(
            self.missed.len() * 100 <= self.harmed,
            "{} damaged bars missed",
            self.missed.len()
        );
        assert!(self.taste.len() * 1000 <= self.bars, "{} alarms", self.taste.len());
    }
}

#[test]
fn clean_bars_of_typed_tunes_are_quiet_and_damaged_ones_found() {
    let survey = Survey::of(&typed(), 1);
    // A bar that holds more than its signature, or less with nothing that makes it whole, is a fault of the
    // encoding, most of them songs whose changes of signature were lost: the list has them all.
    keep_list("tests/bar-faults.tsv", &survey.certain);
}

#[test]
fn clean_bars_of_imported_scores_are_quiet_and_damaged_ones_found() {
    let survey = Survey::of(&imported(1), 4);
    // Measures with a rest too many (scores that were read by a machine), and madrigals in long bars under C.
    keep_list("tests/score-faults.tsv", &survey.certain);
    assert!(survey.certain.len() * 500 <= survey.bars, "{}", survey.certain.len());
}

/// Compares with the committed list, or writes it where `RECTE_REWRITE` is set. Without the corpus there is
/// nothing to compare.
fn keep_list(name: &str, lines: &[String]) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    let mut now = lines.to_vec();
    now.sort();
    if std::env::var_os("RECTE_REWRITE").is_some() {
        fs::write(&path, format!("file\ttune\tbar\tremark\n{}\n", now.join("\n"))).unwrap();
    }
    let kept = fs::read_to_string(&path).unwrap();
    let kept: Vec<&str> = kept.lines().skip(1).collect();
    if !now.is_empty() {
        assert_eq!(now, kept, "{name} has changed; look at what, then set RECTE_REWRITE=1");
    }
}
