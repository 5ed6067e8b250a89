//! Half-typed scores: whatever stands there, everything an editor asks for is answered.

use recte_assist::actions::actions;
use recte_assist::{Snapshot, check, emend, folds, hover, symbols};
use recte_notation::Document;
use std::sync::Arc;

const SUITE: &str = include_str!("../../../tests/scores/harbour-suite.abc");

fn snapshot(text: &str) -> Snapshot {
    Snapshot::new(Document::new(text), Arc::default())
}

fn ask_everything(text: &str) {
    let snapshot = snapshot(text);
    for located in check(&snapshot) {
        let finding = located.finding();
        assert_ne!(finding.rule, "unfinished", "a rule stumbled over {text:?}");
        assert!(text.get(located.range()).is_some(), "{finding:?} lies outside {text:?}");
        let fixes = finding.fixes.iter().flat_map(|fix| located.changes(fix));
        fixes.for_each(|change| assert!(text.get(change.range).is_some()));
    }
    for fold in folds(&snapshot.document) {
        assert!(text.get(fold.range).is_some());
    }
    for symbol in symbols(&snapshot.document) {
        assert!(text.get(symbol.range).is_some() && text.get(symbol.selection).is_some());
    }
    for offset in [0, text.len() / 2, text.len(), text.len() + 9] {
        if let Some(hover) = hover(&snapshot.document, offset) {
            assert!(text.get(hover.range).is_some());
        }
    }
}

#[test]
fn cut_off_at_every_character() {
    for (end, _) in SUITE.char_indices() {
        ask_everything(&SUITE[..end]);
    }
}

#[test]
fn begun_at_every_character() {
    for (start, _) in SUITE.char_indices().step_by(3) {
        ask_everything(&SUITE[start..]);
    }
}

#[test]
fn what_can_be_done_can_be_done() {
    for (end, _) in SUITE.char_indices().step_by(97) {
        let text = &SUITE[..end];
        let snapshot = snapshot(text);
        for action in actions(&snapshot, 0..text.len()) {
            let mut changes = action.changes;
            changes.sort_by_key(|change| change.range.start);
            assert!(changes.windows(2).all(|two| two[0].range.end <= two[1].range.start));
            assert!(changes.iter().all(|change| text.get(change.range.clone()).is_some()));
        }
    }
}

#[test]
fn emended_once_there_is_nothing_left_to_emend() {
    for (end, _) in SUITE.char_indices().step_by(61) {
        let before = snapshot(&SUITE[..end]);
        let once = emend(&before, None);
        let after = snapshot(&before.document.text_with(&once.changes));
        assert_eq!(emend(&after, None).fixes, 0, "{}", &SUITE[..end]);
    }
}
