//! The rules of beats, rests, beams and tuplets on real music: how rarely they speak of clean pieces, and whether they
//! find what is put in on purpose. Tunes as in `real/mod.rs`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::Block;
use recte_review::{Around, Config, Family, Finding, RULES, RuleSetting, Severity, check_block};
use std::collections::BTreeMap;

mod real;
use real::{imported, tunes_of, typed};

/// The rules tried here.
const OURS: [&str; 6] = [
    "beat-grouping",
    "rest-grouping",
    "beam-grouping",
    "tuplet-grouping",
    "metre-fit",
    "beat-unit",
];

fn config() -> Config {
    let mut config = Config::default();
    for rule in RULES.iter().filter(|rule| !OURS.contains(&rule.id)) {
        config.rules.insert(rule.id.to_owned(), RuleSetting::Off);
    }
    assert!(RULES.iter().all(|rule| !OURS.contains(&rule.id) || rule.family == Family::Metre));
    config
}

fn findings(block: &Block, config: &Config) -> Vec<Finding> {
    check_block(block, config, &Around::default()).findings
}

/// A warning is for what misleads: less than one in a thousand bars, rule by rule, typed and imported alike.
#[test]
fn clean_pieces_are_quiet() {
    let config = config();
    let show = std::env::var("RECTE_SHOW").ok();
    for (origin, scores) in [("typed", typed()), ("imported", imported(1))] {
        let mut bars = 0;
        let mut counts: BTreeMap<(&str, Severity), usize> = BTreeMap::new();
        for (file, document) in &scores {
            for block in tunes_of(document) {
                let tune = &block.lowered().tune;
                bars += tune.voices.iter().map(|voice| voice.bars.len()).sum::<usize>();
                for finding in findings(&block, &config) {
                    *counts.entry((finding.rule, finding.severity)).or_default() += 1;
                    if show.is_some() {
                        let voice = finding.voice.unwrap_or(0) as usize;
                        let own =
                            finding.bar.and_then(|bar| tune.voices[voice].bars.get(bar as usize));
                        let metre = own.map(|bar| tune.metre(bar).to_string()).unwrap_or_default();
                        let typed = |bar: &recte_score::Bar| {
                            block.text[bar.span.range()].replace(['\n', '\t'], " ")
                        };
                        let near = finding.bar.map_or(0, |bar| bar.saturating_sub(2)) as usize;
                        let near = tune.voices[voice].bars.iter().skip(near).take(5).map(typed);
                        let near = near.collect::<Vec<_>>().join(" | ");
                        let text = own.map(|bar| format!("{}\t{near}", typed(bar)));
                        println!(
                            "@\t{}\t{:?}\t{file}\t{}\t{}\t{metre}\t{}\t{}\t{}",
                            finding.rule,
                            finding.severity,
                            tune.reference.clone().unwrap_or_default(),
                            finding.bar.map_or(0, |bar| tune.bar_number(bar)),
                            finding.message,
                            finding.fixes.len(),
                            text.unwrap_or_default()
                        );
                    }
                }
            }
        }
        println!("{origin}: {bars} bars, {counts:?}");
        for ((rule, severity), count) in &counts {
            let loud = *severity >= Severity::Warning;
            assert!(!loud || count * 1000 <= bars, "{rule}: {count} alarms in {bars} bars");
        }
    }
}

/// Jigs, slip jigs and slides are what their signature says.
#[test]
fn compound_tunes_are_left_in_their_metre() {
    let config = config();
    let (mut tunes, mut told) = (0, Vec::new());
    for (file, document) in typed() {
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            let compound =
                |metre: &recte_theory::Metre| matches!(metre.numbers(), Some((6 | 9 | 12, 8)));
            let mut bars = tune.voices.iter().flat_map(|voice| &voice.bars).peekable();
            if bars.peek().is_none() || !bars.all(|bar| compound(tune.metre(bar))) {
                continue;
            }
            tunes += 1;
            let said = findings(&block, &config).iter().any(|finding| finding.rule == "metre-fit");
            told.extend(said.then(|| format!("{file} {}", tune.title())));
        }
    }
    if tunes < 50 {
        return;
    }
    println!("{tunes} tunes in compound time; metre-fit speaks of {told:?}");
    assert!(told.len() * 200 <= tunes, "{told:?}");
}
