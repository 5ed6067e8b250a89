//! The rows of `data/metre-cases.csv` that belong to another metre, by this rule alone, and more cases.

use crate::around::Around;
use crate::finding::{Finding, FixKind, Severity};
use crate::metre::cases::{Case, cases, tune};
use crate::rule_tests::{findings_of, prove_fixes};
use recte_notation::lower;
use recte_notation::write::apply;

const ID: &str = "metre-fit";

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

fn found(metre: &str, music: &str) -> Vec<Finding> {
    findings_of(ID, &tune_of(metre, music))
}

fn tune_of(metre: &str, music: &str) -> String {
    format!("X:1\nM:{metre}\nL:1/8\nK:C\n{music}\n")
}

fn silent(metre: &str, music: &str) {
    let found = found(metre, music);
    assert!(found.is_empty(), "{music}: {found:?}");
}

/// The one finding, its fixes proved, and the music after the first of them.
fn fixed(metre: &str, music: &str) -> (Finding, String) {
    let text = tune_of(metre, music);
    prove_fixes(ID, &text);
    let mut found = findings_of(ID, &text);
    assert_eq!(found.len(), 1, "{music}: {found:?}");
    let finding = found.remove(0);
    let after = finding.fixes.first().map(|fix| apply(&text, &fix.edits).unwrap());
    let after = after.unwrap_or_default();
    (finding, after.trim_start_matches("X:1\n").trim().to_owned())
}

#[test]
fn the_sentences() {
    let message = |metre, music| found(metre, music)[0].message.clone();
    assert_eq!(
        message("9/8", "c3B2 A2G2|C9|"),
        "This 9/8 bar is felt as 3+2+2+2; 5/8 then 2/4 would show it."
    );
    assert_eq!(
        message("6/8", "C|c2B2A2|G2F2E2|D2E2F2|C5|"),
        "Bars 1–4 are felt in quarters; 3/4 would show it."
    );
    assert_eq!(
        message("4/4", "C8|[M:5/4]C2D2E2C4|[M:4/4]C8|"),
        "This 5/4 bar only holds its last note longer; 4/4 with a pause on that note says the same."
    );
}

#[test]
fn the_words_are_the_composer_s() {
    let document = recte_notation::Document::new(&tune_of("6/8", "c2B2A2|G2F2E2|D2E2F2|"));
    let config = crate::Config { words: crate::words::Words::British, ..Default::default() };
    let (_, block) = document.blocks().next().unwrap();
    let found = crate::check_block(block, &config, &Around::default()).findings;
    assert!(found[0].message.contains("felt in crotchets"), "{found:?}");
}

#[test]
fn a_cello_that_holds_through_the_bar_is_split_with_the_rest() {
    let (finding, after) = fixed("9/8", "V:1\nc3B2 A2G2|c9|\nV:2\nC,9|C,9|");
    assert_eq!(finding.fixes[0].title, "Split into 5/8 + 2/4");
    assert!(finding.fixes[0].preferred);
    assert!(after.ends_with("V:2\n[M:5/8] C,3- C,2- | [M:2/4] C,4|[M:9/8] C,9|"), "{after}");
}

#[test]
fn a_voice_that_keeps_the_beats_is_heard() {
    silent("9/8", "V:1\nc3B2 A2G2|c9|\nV:2\nC3E3G3|C9|");
    silent("6/8", "V:1\nc2B2A2|G2F2E2|D2E2F2|C6|\nV:2\nC3E3|G3C3|G3C3|C6|");
    silent("4/4", "V:1\nc3c3c2|c3c3c2|c3c3c2|c3c3c2|\nV:2\nC2C2C2C2|C2C2C2C2|C2C2C2C2|C2C2C2C2|");
    silent("4/4", "V:1\nC8|[M:5/4]C2D2E2C4|[M:4/4]C8|\nV:2\nC8|[M:5/4]C2D2E2C2D2|[M:4/4]C8|");
}

#[test]
fn layers_and_whole_bar_rests_go_along() {
    let (_, after) = fixed("9/8", "[V:1] c3B2 A2G2&C9|c9|\n[V:2] Z|Z|");
    assert!(after.contains("[V:1] [M:5/8] c3B2&C3- C2- | [M:2/4] A2G2&C4|[M:9/8] c9|"));
    assert!(after.contains("[V:2] [M:5/8] Z | [M:2/4] Z|[M:9/8] Z|"), "{after}");
    silent("9/8", "c3B2 A2G2&C3E3G3|c9|");
}

#[test]
fn where_no_split_is_sure_the_reason_is_given() {
    let found = found("9/8", "c3B2A2G2|c9|\nw:a b c d|e");
    assert!(found[0].fixes.is_empty());
    assert!(found[0].related[0].message.contains("bar by bar"), "{found:?}");
}

#[test]
fn several_orders_in_a_row_are_split_one_by_one() {
    let found = found("9/8", "c3B2A2G2|c2B2A2G3|c9|");
    let titles: Vec<_> = found.iter().map(|finding| finding.fixes[0].title.as_str()).collect();
    assert_eq!(titles, ["Split into 5/8 + 2/4", "Split into 2/4 + 5/8"]);
}

#[test]
fn a_run_of_one_order_takes_one_signature() {
    let (finding, after) = fixed("9/8", "c3d3e3|c3B2A2G2|c3B2A2G2|c3d3e3|");
    assert_eq!((finding.bar, finding.to_bar), (Some(1), Some(2)));
    assert!(after.ends_with("c3d3e3|[M:3+2+2+2/8] c3B2A2G2|c3B2A2G2|[M:9/8] c3d3e3|"), "{after}");
}

#[test]
fn a_pickup_goes_with_its_bars() {
    let (finding, after) = fixed("6/8", "C|c2B2A2|G2F2E2|D2E2F2|C5|");
    assert_eq!(finding.to_bar, Some(4));
    assert_eq!(after, "M:3/4\nL:1/8\nK:C\nC|c2B2A2|G2F2E2|D2E2F2|C5|");
}

#[test]
fn three_and_three_and_two_is_a_hint_and_never_taken_unasked() {
    let (finding, after) = fixed("4/4", "c3c3c2|d3d3d2|c3c3c2|d3d3d2|");
    assert_eq!(finding.severity, Severity::Hint);
    assert!(!finding.fixes[0].preferred);
    assert!(after.starts_with("M:3+3+2/8"), "{after}");
    silent("4/4", "c3c3c2|d2d2d2d2|c3c3c2|d3d3d2|");
    silent("4/4", "c3c3c2|d8|");
}

#[test]
fn jigs_hemiolas_and_dances_are_silent() {
    silent("6/8", "d2e fed|c2B A2G|F3 E3|D3/2E/F G2A|B6|");
    silent("9/8", "d2e f2d e2c|d3 A3 F3|D3/2E/F G2A B3|(3:2:3dcBA2G F3E3|");
    silent("6/8", "c3B3|c3B3|A3G3|c3B3|c3B3|c2B2A2|G2F2E2|C6|");
    silent("3/4", "c2B2A2|c4B2|c3B2A|G4-|G2F4|C6|");
    silent("3/4", "A3 Bcd|A3 Bcd|c2 d2 e2|A3 Bcd|A3 Bcd|");
    silent("12/8", "c3d3e2f2g2|c3d3e3f3|c3d3e2f2g2|");
    // Six quarters, sung: no beam says otherwise.
    let sung = "c2d2efgabcd2|c2d2edcdefg2|c2d2edefedc2|\nw: la";
    silent("12/8", sung);
    silent("5/4", "c2d2e2f2g2|c3d3e2f2|");
    silent("none", "c3B2A2G2|c3B2A2G2|");
}

#[test]
fn a_pause_is_only_suggested_for_the_one_odd_bar() {
    let (finding, _) = fixed("4/4", "C8|[M:5/4]C2D2E2C4|[M:4/4]C8|");
    assert_eq!(finding.fixes[0].kind, FixKind::Suggestion);
    assert!(!finding.fixes[0].preferred);
    assert!(finding.fixes[0].title.contains("changes the written length"));
    silent("4/4", "C8|[M:5/4]C2D2E2C4|[M:4/4]C8|[M:5/4]C2D2E2C4|[M:4/4]C8|");
    silent("4/4", "C8|[M:5/4]C2D2E2C2C2|[M:4/4]C8|");
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
            let found = crate::check_block(block, &config, &Around::default()).findings;
            let ours: Vec<_> = found.iter().filter(|finding| finding.rule == ID).collect();
            flagged += usize::from(!ours.is_empty());
            for finding in &ours {
                let bars = &block.text[finding.span.range()];
                println!(
                    "{}: {} [{}] {:?}",
                    path.display(),
                    finding.message,
                    bars,
                    finding.severity
                );
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
