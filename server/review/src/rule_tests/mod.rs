//! The examples in every rule's documentation, run; and the harness that proves a fix.

use crate::around::Around;
use crate::check::check_block;
use crate::config::{Config, RuleSetting};
use crate::finding::{Finding, FixKind};
use crate::rule::{RULES, Rule, find_rule};
use recte_notation::write::{apply, same_sound};
use recte_notation::{Block, Document, lower};
use recte_score::Span;
use std::sync::Arc;

/// The findings of one rule in a text of one tune.
pub(crate) fn findings_of(rule: &str, text: &str) -> Vec<Finding> {
    let document = Document::new(text);
    let mut config = Config::default();
    // Some rules only observe, and speak only where the settings name them.
    let asked = find_rule(rule).map(|rule| RuleSetting::of(rule.severity));
    config.rules.extend(asked.map(|setting| (rule.to_owned(), setting)));
    let all = findings_in(&document, &config).into_iter();
    all.filter(|finding| finding.rule == rule).collect()
}

/// The messages of one rule in a text of one tune, once its fixes are proved.
pub(crate) fn messages_of(rule: &str, text: &str) -> Vec<String> {
    prove_fixes(rule, text);
    findings_of(rule, text).into_iter().map(|finding| finding.message).collect()
}

/// The messages of one rule in a text.
pub(crate) fn said_in(rule: &str, text: &str) -> Vec<String> {
    findings_of(rule, text).into_iter().map(|finding| finding.message).collect()
}

/// Music for four voices, the style asked for.
pub(crate) fn chorale(style: &str, voices: [&str; 4]) -> String {
    let [soprano, alto, tenor, bass] = voices;
    format!(
        "X:1\nM:4/4\nL:1/4\n%%recte style {style}\nK:C\nV:S name=\"Soprano\"\nV:A name=\"Alto\"\n\
         V:T name=\"Tenor\" clef=treble-8\nV:B name=\"Bass\" clef=bass\n\
         [V:S] {soprano}\n[V:A] {alto}\n[V:T] {tenor}\n[V:B] {bass}\n"
    )
}

/// The music of a text after the first fix of a rule.
pub(crate) fn music_after(rule: &str, text: &str) -> String {
    first_fix(rule, text).split_once("K:C\n").unwrap().1.trim().to_owned()
}

/// All findings of a document; their places and edits count from its beginning.
pub(crate) fn findings_in(document: &Document, config: &Config) -> Vec<Finding> {
    let around = Around::of(document);
    let blocks = document.blocks().zip(around);
    let of_one = |((start, block), around): ((usize, &Arc<Block>), Arc<Around>)| {
        let mut findings = check_block(block, config, &around).findings;
        findings.iter_mut().for_each(|finding| shift(finding, start as u32));
        findings
    };
    blocks.flat_map(of_one).collect()
}

fn shift(finding: &mut Finding, by: u32) {
    let edits = finding.fixes.iter_mut().flat_map(|fix| &mut fix.edits).map(|edit| &mut edit.span);
    let related = finding.related.iter_mut().map(|related| &mut related.span);
    for span in edits.chain(related).chain([&mut finding.span]) {
        *span = Span { start: span.start + by, end: span.end + by };
    }
}

/// The text after the first fix of the first finding of a rule.
pub(crate) fn first_fix(rule: &str, text: &str) -> String {
    let findings = findings_of(rule, text);
    let fix = findings.first().and_then(|finding| finding.fixes.first());
    let fix = fix.unwrap_or_else(|| panic!("{rule} offers no fix in\n{text}"));
    apply(text, &fix.edits).unwrap_or_else(|_| panic!("edits overlap in\n{text}"))
}

/// Takes every fix of every finding and proves it: same sound, finding gone, nothing new of the rule.
pub(crate) fn prove_fixes(rule: &str, text: &str) {
    let findings = findings_of(rule, text);
    for finding in &findings {
        for fix in finding.fixes.iter().filter(|fix| fix.kind == FixKind::Fix) {
            let after = apply(text, &fix.edits).unwrap();
            assert!(same_sound(&lower(text).tune, &lower(&after).tune), "{}:\n{after}", fix.title);
            let left = findings_of(rule, &after);
            assert!(left.len() < findings.len(), "{} leaves {left:?} in\n{after}", fix.title);
        }
    }
}

fn run_examples(rule: &Rule) {
    let mut flagged: Option<String> = None;
    let examples = rule.examples();
    for wanted in ["flagged", "quiet"] {
        assert!(examples.iter().any(|e| e.kind == wanted), "{} has no {wanted} example", rule.id);
    }
    for example in examples {
        match example.kind.as_str() {
            "flagged" => {
                let found = findings_of(rule.id, &example.text);
                assert!(!found.is_empty(), "{} is silent in\n{}", rule.id, example.text);
                prove_fixes(rule.id, &example.text);
                flagged = Some(example.text);
            }
            "fixed" => {
                let before = flagged.as_deref().expect("an example to fix");
                assert_eq!(first_fix(rule.id, before), example.text, "{}", rule.id);
            }
            "quiet" => {
                let found = findings_of(rule.id, &example.text);
                assert!(found.is_empty(), "{} says {found:?} in\n{}", rule.id, example.text);
            }
            other => panic!("{}: an example is flagged, fixed or quiet, not {other}", rule.id),
        }
    }
}

#[test]
fn the_examples_in_the_documentation_run() {
    for rule in RULES {
        run_examples(rule);
    }
}

#[test]
fn every_rule_is_documented() {
    for rule in RULES {
        assert!(rule.doc.starts_with("# "), "{} has no title", rule.id);
        assert!(rule.doc.contains("Source: "), "{} names no source", rule.id);
        assert!(!rule.summary.ends_with('.'), "{}", rule.id);
    }
}
