//! Accepting a remark in the score itself: in one bar, in one tune, in the whole file.
//!
//! What is offered has been tried: every tune sounds as before, and the remark is gone.

use crate::actions::{Action, ActionKind};
use crate::host::{Located, Snapshot, check};
use recte_notation::write::{TextEdit, reads_as_well, same_sound};
use recte_notation::{BlockKind, Change, Document};
use recte_review::{check_block, find_rule};
use recte_score::Span;

/// The ways to accept a remark, the narrowest first.
pub(crate) fn accepting(snapshot: &Snapshot, located: &Located) -> Vec<Action> {
    let rule = located.finding().rule;
    if find_rule(rule).is_none() {
        return Vec::new();
    }
    let action = |place: &str, changes| Action {
        title: format!("Accept “{rule}” in this {place}"),
        kind: ActionKind::Accept,
        preferred: false,
        rule,
        about: Some(located.clone()),
        changes,
    };
    let bar = in_bar(snapshot, located).map(|changes| action("bar", changes));
    let tune = in_tune(snapshot, located).map(|changes| action("tune", changes));
    let file = in_file(snapshot, located).map(|changes| action("file", changes));
    [bar, tune, file].into_iter().flatten().collect()
}

/// Inline, at the beginning of the bar.
fn in_bar(snapshot: &Snapshot, located: &Located) -> Option<Vec<Change>> {
    let finding = located.finding();
    let (tune, bar) = (located.tune(), finding.bar? as usize);
    let voices = match finding.voice {
        Some(voice) => tune.voices.get(voice as usize..=voice as usize)?,
        None => &tune.voices,
    };
    let bar = voices.iter().filter_map(|voice| voice.bars.get(bar)).find(|bar| !bar.is_empty())?;
    let text = format!("[I:recte accept {}]", finding.rule);
    tried(snapshot, located, bar.span.start as usize, text)
}

/// A line of its own before the key, which ends the header.
fn in_tune(snapshot: &Snapshot, located: &Located) -> Option<Vec<Change>> {
    let text = &located.block.text;
    let mut at = 0;
    for line in text.split_inclusive(['\n', '\r']) {
        if line.starts_with("K:") {
            let line = format!("%%recte accept {}{}", located.finding().rule, line_end(text));
            return tried(snapshot, located, at, line);
        }
        at += line.len();
    }
    None
}

/// The insertion, if with it the block sounds the same, reads no worse, and lacks the remark.
fn tried(snapshot: &Snapshot, located: &Located, at: usize, text: String) -> Option<Vec<Change>> {
    let edit = TextEdit { span: Span::new(at, at), text };
    let after = located.block.edited(std::slice::from_ref(&edit)).ok()?;
    let same = reads_as_well(located.block.lowered(), after.lowered());
    let count = |findings: &[recte_review::Finding]| {
        findings.iter().filter(|finding| finding.rule == located.finding().rule).count()
    };
    let fewer = count(&check_block(&after, &snapshot.config, &located.around).findings)
        < count(&check_block(&located.block, &snapshot.config, &located.around).findings);
    let place = located.start + at;
    (same && fewer).then(|| vec![Change { range: place..place, text: edit.text }])
}

/// In the file header, made when there is none.
fn in_file(snapshot: &Snapshot, located: &Located) -> Option<Vec<Change>> {
    let document = &snapshot.document;
    let (_, first) = document.blocks().next()?;
    let text = &first.text;
    let end = line_end(text);
    let line = format!("%%recte accept {}{end}", located.finding().rule);
    let change = if first.kind == BlockKind::FileHeader {
        let at = text.trim_end().len();
        Change { range: at..at, text: format!("{end}{}", line.trim_end()) }
    } else {
        // A version line has to stay the first, a byte-order mark before it.
        let mark = text.len() - text.trim_start_matches('\u{FEFF}').len();
        let version = match text[mark..].split_inclusive(['\n', '\r']).next() {
            Some(line) if line.starts_with("%abc") => line.len(),
            _ => 0,
        };
        let half =
            text[mark + version..].starts_with('\n') && text[..mark + version].ends_with('\r');
        let at = mark + version + usize::from(half);
        Change { range: at..at, text: format!("{line}{end}") }
    };
    let mut after = Snapshot::new(document.clone(), snapshot.config.clone());
    after.document.apply(&change);
    let rule = located.finding().rule;
    let gone = check(&after).iter().all(|one| one.finding().rule != rule);
    (gone && same_tunes(document, &after.document)).then(|| vec![change])
}

/// Whether two documents hold the same tunes.
fn same_tunes(before: &Document, after: &Document) -> bool {
    let tunes = |document: &Document| {
        let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
        tunes.map(|(_, block)| block.clone()).collect::<Vec<_>>()
    };
    let (before, after) = (tunes(before), tunes(after));
    before.len() == after.len()
        && before.iter().zip(&after).all(|(before, after)| {
            std::sync::Arc::ptr_eq(before, after)
                || same_sound(&before.lowered().tune, &after.lowered().tune)
        })
}

/// How the text ends its lines.
fn line_end(text: &str) -> &'static str {
    match text.find(['\n', '\r']) {
        Some(place) if text[place..].starts_with("\r\n") => "\r\n",
        Some(place) if text[place..].starts_with('\r') => "\r",
        _ => "\n",
    }
}
