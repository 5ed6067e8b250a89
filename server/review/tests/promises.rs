//! What every fix promises, tried over real tunes: the same sound, the finding gone, nothing new of its family,
//! nothing touched outside its bars, nothing more to do the second time; and an edited document says what a
//! fresh one says.
//!
//! Clean tunes have few findings, so each is also tried with faults put in: a note respelled by
//! its other name, a metre of the same length, an instrument it was not written for.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::write::{Respelling, apply, respell, same_sound};
use recte_notation::{Block, Change, Document};
use recte_review::{Around, Config, Finding, FixKind, check_block, find_rule};
use recte_theory::PitchName;
use std::collections::BTreeMap;
use std::sync::Arc;

mod real;
use real::{Dice, documents, imported, tunes_of};

/// One in so many imported scores is tried: each takes as long as dozens of tunes.
const IMPORTED: u64 = 8;

fn texts() -> Vec<String> {
    documents(IMPORTED).iter().map(|(_, document)| document.rope().to_string()).collect()
}

fn tunes() -> Vec<Arc<Block>> {
    documents(IMPORTED).iter().flat_map(|(_, document)| tunes_of(document)).collect()
}

fn check(block: &Block) -> Vec<Finding> {
    check_block(block, &Config::default(), &Around::default()).findings
}

/// A tune with one note under its other name.
fn respelled(block: &Block, dice: &mut Dice) -> Option<Arc<Block>> {
    let lowered = block.lowered();
    let voice = dice.roll(lowered.tune.voices.len());
    let notes = &lowered.tune.voices.get(voice)?.notes;
    let note = dice.roll(notes.len());
    let fifths = notes.get(note)?.written.name.fifths();
    let other = if fifths > 2 { fifths - 12 } else { fifths + 12 };
    let name = PitchName::from_fifths(other);
    let wanted = [Respelling { voice: voice as u32, note: note as u32, name }];
    block.edited(&respell(&lowered.tune, lowered.reach, &wanted)?).ok()
}

/// A tune under another signature of the same length, or for an instrument it was not written for.
fn renamed(block: &Block) -> Option<Arc<Block>> {
    let text = &block.text;
    // Signatures typed further on would contradict the new one, and so make faults of their own.
    if text.contains("[M:") {
        return None;
    }
    let changed = [
        ("M:6/8", "M:3/4"),
        ("M:3/4", "M:6/8"),
        ("M:9/8", "M:2+2+2+3/8"),
        ("M:4/4", "M:3+3+2/8"),
        ("M:2/4", "M:2/4\n%%recte instrument 1 tenor-trombone"),
    ]
    .into_iter()
    .find_map(|(from, to)| text.contains(from).then(|| text.replacen(from, to, 1)))?;
    let document = Document::new(&changed);
    document.blocks().next().map(|(_, block)| block.clone())
}

#[derive(Default)]
struct Tally {
    fixes: BTreeMap<&'static str, usize>,
    wrong: Vec<String>,
}

impl Tally {
    fn prove(&mut self, block: &Block) {
        let findings = check(block);
        for finding in &findings {
            for fix in finding.fixes.iter() {
                *self.fixes.entry(finding.rule).or_default() += 1;
                if let Err(what) = prove(block, &findings, finding, fix) {
                    let text = &block.text;
                    self.wrong.push(format!("{}: “{}” {what}\n{text}", finding.rule, fix.title));
                }
            }
        }
    }
}

fn prove(
    block: &Block,
    findings: &[Finding],
    finding: &Finding,
    fix: &recte_review::Fix,
) -> Result<(), String> {
    let after = block.edited(&fix.edits).map_err(|_| "has edits that overlap")?;
    let (old, new) = (block.lowered(), after.lowered());
    if new.problems.len() > old.problems.len() {
        return Err("makes the text harder to read".into());
    }
    if fix.kind == FixKind::Suggestion {
        return Ok(());
    }
    if !same_sound(&old.tune, &new.tune) {
        return Err(format!("changes the sound:\n{}", after.text));
    }
    let family = |f: &&Finding| {
        find_rule(f.rule).map(|r| r.family) == find_rule(finding.rule).map(|r| r.family)
    };
    let (before, left) = (findings.iter().filter(family).count(), check(&after));
    let left: Vec<&Finding> = left.iter().filter(family).collect();
    if left.len() >= before {
        return Err(format!("leaves {} of {before}: {left:?}\n{}", left.len(), after.text));
    }
    outside_its_bars(block, finding, fix)
}

/// Every edit lies in the bars the finding is about, or in the one after (where a signature comes back), or is
/// of the header's signature, or of the words under these bars.
fn outside_its_bars(
    block: &Block,
    finding: &Finding,
    fix: &recte_review::Fix,
) -> Result<(), String> {
    let (Some(from), Some(to)) = (finding.bar, finding.to_bar) else { return Ok(()) };
    let tune = &block.lowered().tune;
    for edit in &fix.edits {
        let inside = tune.voices.iter().any(|voice| {
            let last = voice.bars.len().saturating_sub(1).min(to as usize + 1);
            let Some(first) = voice.bars.get(from as usize) else { return false };
            let start =
                first.metre_typed.map_or(first.span.start, |m| m.start.min(first.span.start));
            let end = voice.bars[last].span.end + 2;
            // Tied notes are respelled with the note they are tied to.
            let tied = voice.notes.iter().any(|n| n.span == edit.span && (n.tied_in || n.tied_out));
            tied || start <= edit.span.start + 8 && edit.span.end <= end
        });
        let signature = block.text[..edit.span.start as usize].rsplit(['\n', '\r']).next();
        let in_header = signature.is_some_and(|line| line.starts_with("M:"));
        // Words are held where the notes above them are tied.
        let in_words = signature.is_some_and(|line| {
            line.starts_with(['w', '+']) && edit.text.chars().all(|c| c == '_')
        });
        if !inside && !in_header && !in_words {
            return Err(format!("edits {:?}, outside bars {from}–{to}", edit.span));
        }
    }
    Ok(())
}

#[test]
fn every_offered_fix_keeps_its_promises() {
    let mut dice = Dice(1);
    let mut tally = Tally::default();
    let respellings = if std::env::var_os("RECTE_ALL").is_some() { 3 } else { 1 };
    for block in tunes() {
        tally.prove(&block);
        for _ in 0..respellings {
            if let Some(faulty) = respelled(&block, &mut dice) {
                tally.prove(&faulty);
            }
        }
        if let Some(faulty) = renamed(&block) {
            tally.prove(&faulty);
        }
    }
    println!("fixes proved: {:?}", tally.fixes);
    let shown: Vec<&String> = tally.wrong.iter().take(5).collect();
    assert!(
        tally.wrong.is_empty(),
        "{} broken promises, the first:\n{shown:#?}",
        tally.wrong.len()
    );
    assert!(tally.fixes.values().sum::<usize>() > 0, "nothing was tried");
}

#[test]
fn preferred_fixes_settle() {
    let mut dice = Dice(2);
    for block in tunes() {
        let Some(mut block) = respelled(&block, &mut dice) else { continue };
        let mut rounds = 0;
        loop {
            let findings = check(&block);
            let preferred = findings
                .iter()
                .flat_map(|f| &f.fixes)
                .find(|fix| fix.preferred && fix.kind == FixKind::Fix);
            let Some(fix) = preferred else { break };
            block = block.edited(&fix.edits).unwrap();
            rounds += 1;
            assert!(rounds < 200, "fixes never settle in\n{}", block.text);
        }
    }
}

#[test]
fn incremental_equals_fresh() {
    let mut dice = Dice(3);
    let scraps = [
        "|",
        "[",
        "]",
        "_A",
        "^",
        "\n",
        "\n\n",
        "X:9\n",
        "K:D\n",
        "\"",
        "(3",
        "-",
        "é",
        "𝄞",
        "%%begintext\n",
        "[M:5/8]",
        "&",
        "z4",
    ];
    let texts = texts();
    for round in 0..40 {
        let at = dice.roll(texts.len());
        let mut text: String = texts[at].chars().take(6000).collect();
        let mut document = Document::new(&text);
        for _ in 0..25 {
            let start = boundary(&text, dice.roll(text.len() + 1));
            let end = boundary(&text, (start + dice.roll(6)).min(text.len()));
            let scrap = scraps[dice.roll(scraps.len())];
            document.apply(&Change { range: start..end, text: scrap.to_owned() });
            text.replace_range(start..end, scrap);
        }
        assert_eq!(document.rope().to_string(), text, "round {round}");
        let fresh = Document::new(&text);
        let all = |document: &Document| -> Vec<(usize, Vec<Finding>)> {
            document.blocks().map(|(start, block)| (start, check(block))).collect()
        };
        assert_eq!(all(&document), all(&fresh), "round {round}\n{text}");
    }
}

fn boundary(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

#[test]
fn any_prefix_of_a_score_is_read_without_harm() {
    let imported = imported(16).into_iter().map(|(_, document)| document.rope().to_string());
    for text in texts().into_iter().take(12).chain(imported.take(12)) {
        let text: String = text.chars().take(1500).collect();
        for (end, _) in text.char_indices() {
            for (_, block) in Document::new(&text[..end]).blocks() {
                let findings = check(block);
                for fix in findings.iter().flat_map(|finding| &finding.fixes) {
                    assert!(apply(&block.text, &fix.edits).is_ok());
                }
            }
        }
    }
}
