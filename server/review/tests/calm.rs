//! Half-typed text is read calmly: at every prefix of every fixture only the bar being typed is remarked on, and
//! what is truly open; and typing on changes nothing that was said of other bars.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::Document;
use recte_review::{Around, Config, Finding, RULES, Severity, check_block};

mod real;
use real::{Dice, imported, tunes_of, typed};

/// What is said of a text, and the line and the bar in which it ends.
struct Reading {
    findings: Vec<Finding>,
    line: u32,
    bar: u32,
}

fn read(text: &str) -> Reading {
    let document = Document::new(text);
    let config = Config::default();
    let line = text.trim_end_matches(['\n', '\r']).rfind(['\n', '\r']).map_or(0, |end| end + 1);
    let mut reading = Reading { findings: Vec::new(), line: line as u32, bar: 0 };
    for ((start, block), around) in document.blocks().zip(Around::of(&document)) {
        for mut finding in check_block(block, &config, &around).findings {
            finding.span.start += start as u32;
            finding.span.end += start as u32;
            reading.findings.push(finding);
        }
        let voices = block.lowered().tune.voices.iter();
        let bars = voices.flat_map(|voice| voice.bars.iter().zip(0..));
        let last = bars.max_by_key(|(bar, _)| bar.span.start);
        reading.bar = last.map_or(0, |(_, index)| index);
    }
    reading
}

impl Reading {
    /// Whether a remark is about the line or the bar being typed, or about the bar that it may complete.
    fn is_at_cursor(&self, finding: &Finding) -> bool {
        let first = finding.bar.unwrap_or(u32::MAX);
        let last = finding.to_bar.unwrap_or(first);
        let in_bar = first <= self.bar && self.bar <= last.saturating_add(1);
        in_bar || finding.bar.is_none() && finding.span.end >= self.line
    }

    fn has(&self, finding: &Finding) -> bool {
        let same = |own: &Finding| {
            (own.rule, own.span, &own.message) == (finding.rule, finding.span, &finding.message)
        };
        self.findings.iter().any(same)
    }
}

/// Something begun that a later sign may still complete: a header without its key, a repeat, a voice without
/// notes, fields that only their `K:` makes a tune, a name that words or the compass of the music will settle.
fn is_open(finding: &Finding) -> bool {
    let waits = [
        "field-misplaced",
        "unclosed",
        "voice-undefined",
        "lyrics-fit",
        "voice-alignment",
        "tie-target",
        "which-instrument",
        // How sections compare is told by what is still to come.
        "low-contrast",
    ];
    let soft = finding.severity <= Severity::Info;
    waits.contains(&finding.rule) && soft || finding.rule == "outdated" && finding.bar.is_none()
}

fn fixtures() -> Vec<String> {
    let mut all: Vec<String> = RULES.iter().flat_map(|r| r.examples()).map(|e| e.text).collect();
    let data = include_bytes!("../../notation/tests/data/notation-cases.csv");
    let mut reader = csv::Reader::from_reader(&data[..]);
    let column = reader.headers().unwrap().iter().position(|name| name == "abc").unwrap();
    all.extend(reader.records().map(|record| record.unwrap()[column].to_owned()));
    let tunes =
        typed().into_iter().flat_map(|(_, document)| tunes_of(&document).collect::<Vec<_>>());
    let mut dice = Dice(5);
    all.extend(tunes.filter(|_| dice.roll(150) == 0).map(|tune| tune.text.to_string()));
    all.extend(imported(24).iter().map(|(_, document)| beginning(&document.rope().to_string())));
    all
}

/// The first systems of an imported score: every prefix of a whole one would take hours.
fn beginning(text: &str) -> String {
    let systems = text.match_indices("\n% ").map(|(end, _)| end + 1);
    let end = systems.skip(1).take_while(|end| *end < 1600).last().unwrap_or(text.len().min(1600));
    text.get(..end).unwrap_or(text).to_owned()
}

fn show(prefix: &str, finding: &Finding) -> String {
    format!("{} {:?}: {}\n{prefix}⌶\n", finding.rule, finding.severity, finding.message)
}

#[test]
fn every_prefix_of_every_fixture() {
    let (mut changed, mut loud, mut steps) = (Vec::new(), Vec::new(), 0);
    for text in fixtures() {
        let whole = read(&text);
        let mut before = read("");
        let ends = text.char_indices().map(|(at, _)| at).skip(1).chain([text.len()]);
        for prefix in ends.map(|end| &text[..end]) {
            let now = read(prefix);
            steps += 1;
            let elsewhere = |f: &&Finding| !now.is_at_cursor(f) && !before.is_at_cursor(f);
            let gone = before.findings.iter().filter(|f| !now.has(f) && !is_open(f));
            // Remarks on the header may wait for the first note.
            let told = |f: &&Finding| f.bar.is_some() && !is_open(f);
            let new = now.findings.iter().filter(|f| !before.has(f)).filter(told);
            changed.extend(gone.chain(new).filter(elsewhere).map(|f| show(prefix, f)));
            let passing = now.findings.iter().filter(|f| !whole.has(f));
            let passing = passing.filter(|f| !now.is_at_cursor(f) && !is_open(f));
            loud.extend(passing.map(|f| show(prefix, f)));
            before = now;
        }
    }
    assert!(steps > 20_000, "{steps}");
    assert!(changed.is_empty(), "{} remarks changed:\n{}", changed.len(), changed.join("\n"));
    assert!(loud.is_empty(), "{} passing remarks:\n{}", loud.len(), loud.join("\n"));
}
