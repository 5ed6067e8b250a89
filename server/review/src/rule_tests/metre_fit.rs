//! The cases of `data/metre-cases.csv`, each with its source in its last column.

use crate::finding::{Finding, Severity};
use crate::rule_tests::{findings_of, prove_fixes};
use recte_notation::lower;
use recte_notation::write::apply;

const ID: &str = "metre-fit";

struct Case {
    id: String,
    metre: String,
    rhythm: String,
    verdict: String,
    preferred: String,
    confidence: String,
}

fn cases() -> Vec<Case> {
    let mut reader = csv::Reader::from_reader(&include_bytes!("../../data/metre-cases.csv")[..]);
    let headers = reader.headers().unwrap().clone();
    let column = |name: &str| headers.iter().position(|header| header == name).unwrap();
    let rhythm = column("rhythm_abc_L_1_16");
    let preferred = column("preferred_abc_L_1_16");
    let [id, metre, verdict, confidence] =
        ["id", "metre", "verdict", "confidence"].map(column);
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let text = |at: usize| record[at].to_owned();
            Case {
                id: text(id),
                metre: text(metre),
                rhythm: text(rhythm).replace("\\n", "\n"),
                verdict: text(verdict),
                preferred: text(preferred),
                confidence: text(confidence),
            }
        })
        .collect()
}

fn tune(metre: &str, rhythm: &str) -> String {
    let (music, words) = rhythm.split_once('\n').unwrap_or((rhythm, ""));
    format!("X:1\nM:{metre}\nL:1/16\nK:C\n{music}|\n{words}")
}

/// The bars of a text with the signature in force in each, without spaces and signatures.
fn bars(text: &str) -> Vec<(String, String)> {
    let tune = lower(text).tune;
    let voice = &tune.voices[0];
    let bar = |bar: &recte_score::Bar| {
        let music = &text[bar.span.range()];
        (tune.metre(bar).to_string(), music.split_whitespace().collect::<String>())
    };
    voice.bars.iter().map(bar).collect()
}

/// Whether a case is flagged and its first fix gives what the table prefers.
fn is_right(case: &Case) -> bool {
    let text = tune(&case.metre, &case.rhythm);
    let findings = findings_of(ID, &text);
    prove_fixes(ID, &text);
    let [finding] = findings.as_slice() else {
        println!("{}: {findings:?}", case.id);
        return false;
    };
    let after = finding.fixes.first().map(|fix| apply(&text, &fix.edits).unwrap());
    let after = after.unwrap_or_default();
    let expected = bars(&tune(&case.metre, &case.preferred));
    let found = bars(&after);
    if found != expected {
        println!("{}: {found:?} is not {expected:?}", case.id);
    }
    found == expected
}

fn wrong_metre(confidence: &str) -> Vec<bool> {
    let cases = cases();
    let ours = cases.iter().filter(|c| c.verdict == "wrong-metre" && c.confidence == confidence);
    ours.map(is_right).collect()
}

#[test]
fn rhythms_of_another_metre_are_found_and_rewritten() {
    let sure = wrong_metre("high");
    assert_eq!(sure.len(), 16);
    assert!(sure.iter().all(|right| *right));
}

#[test]
fn less_certain_ones_too() {
    let likely = wrong_metre("medium");
    let right = likely.iter().filter(|right| **right).count();
    assert_eq!(likely.len(), 9);
    assert!(right * 10 >= likely.len() * 9, "{right}");
}

#[test]
fn what_fits_its_metre_or_only_hides_a_beat_is_silent() {
    let mut seen = 0;
    for case in cases().iter().filter(|case| case.verdict != "wrong-metre") {
        let found = findings_of(ID, &tune(&case.metre, &case.rhythm));
        assert!(found.is_empty(), "{} {}: {found:?}", case.id, case.rhythm);
        seen += 1;
    }
    assert!(seen > 200, "{seen}");
}

fn found(metre: &str, header: &str, music: &str) -> Vec<Finding> {
    findings_of(ID, &format!("X:1\nM:{metre}\nL:1/8\nK:C\n{header}{music}\n"))
}

fn silent(metre: &str, header: &str, music: &str) {
    let found = found(metre, header, music);
    assert!(found.is_empty(), "{music}: {found:?}");
}

/// How quiet the rule is on real tunes: `RECTE_CORPUS` names a folder of ABC files.
#[test]
#[ignore = "a measurement, run by hand"]
fn on_real_tunes() {
    let Some(folder) = std::env::var_os("RECTE_CORPUS") else { return };
    let (mut tunes, mut flagged) = (0, 0);
    let config = crate::Config::default();
    for path in abc_files(folder.as_ref()) {
        let document = recte_notation::Document::from_bytes(std::fs::read(&path).unwrap());
        for (_, block) in document.blocks() {
            tunes += usize::from(block.kind == recte_notation::BlockKind::Tune);
            let found = crate::check_block(block, &config, &[]).findings;
            let ours: Vec<_> = found.iter().filter(|finding| finding.rule == ID).collect();
            flagged += usize::from(!ours.is_empty());
            for finding in &ours {
                let bars = &block.text[finding.span.range()];
                println!("{}: {} [{}] {:?}", path.display(), finding.message, bars, finding.severity);
            }
            if !ours.is_empty() {
                println!("{}\n", block.text);
            }
        }
    }
    println!("{flagged} of {tunes} tunes have a remark");
    assert!(flagged * 200 <= tunes, "more than one tune in 200");
}

fn abc_files(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries
        .flat_map(|path| if path.is_dir() { abc_files(&path) } else { vec![path] })
        .filter(|path| path.extension().is_some_and(|extension| extension == "abc"))
        .collect()
}
