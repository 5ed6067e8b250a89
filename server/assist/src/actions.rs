//! What can be done at a place: fixes, suggestions, acceptances, and all fixes of a rule at once.

use crate::accept::accepting;
use crate::emend::{emend, preferred};
use crate::host::{Located, Snapshot, check};
use recte_notation::Change;
use recte_review::FixKind;
use std::collections::BTreeSet;
use std::ops::Range;

/// The kinds of actions.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ActionKind {
    /// It repairs the notation; what sounds stays.
    Fix,
    /// It changes the music, and its title says so.
    Suggestion,
    /// It accepts a remark in the score.
    Accept,
    /// Every preferred fix of one rule in the file.
    All,
}

/// Something that can be done.
#[derive(Clone, Debug)]
pub struct Action {
    /// The result.
    pub title: String,
    /// What kind.
    pub kind: ActionKind,
    /// Whether it is the one to take when nobody chooses.
    pub preferred: bool,
    /// The rule it answers.
    pub rule: &'static str,
    /// The finding it answers, if it answers one.
    pub about: Option<Located>,
    /// The changes, all at once, in bytes of the document.
    pub changes: Vec<Change>,
}

/// What can be done about the findings that touch a range: fixes first, then suggestions, then the rest.
///
/// Suggestions are offered only where the range lies within what they are about.
pub fn actions(snapshot: &Snapshot, range: Range<usize>) -> Vec<Action> {
    let all = check(snapshot);
    let touched: Vec<&Located> = all
        .iter()
        .filter(|one| one.range().start <= range.end && range.start <= one.range().end)
        .collect();
    let mut found = Vec::new();
    for kind in [FixKind::Fix, FixKind::Suggestion] {
        for located in &touched {
            let here = located.range();
            let inside = here.start <= range.start && range.end <= here.end;
            if kind == FixKind::Fix || inside {
                found.extend(fixes(located, kind));
            }
        }
    }
    let rules: BTreeSet<&str> = touched.iter().map(|one| one.finding().rule).collect();
    found.extend(rules.iter().filter_map(|rule| all_of(snapshot, &all, rule)));
    let mut accepted = BTreeSet::new();
    for located in touched {
        if accepted.insert((located.finding().rule, located.finding().bar)) {
            found.extend(accepting(snapshot, located));
        }
    }
    let mut titles = BTreeSet::new();
    found.retain(|action: &Action| {
        let place = action.changes.first().map_or(0, |change| change.range.start);
        titles.insert((action.title.clone(), place))
    });
    found
}

fn fixes(located: &Located, kind: FixKind) -> impl Iterator<Item = Action> + '_ {
    let fixes = located.finding().fixes.iter().filter(move |fix| fix.kind == kind);
    fixes.map(move |fix| Action {
        title: fix.title.clone(),
        kind: match kind {
            FixKind::Fix => ActionKind::Fix,
            FixKind::Suggestion => ActionKind::Suggestion,
        },
        preferred: fix.preferred && kind == FixKind::Fix,
        rule: located.finding().rule,
        about: Some(located.clone()),
        changes: located.changes(fix),
    })
}

/// Every preferred fix of a rule, where there is more than one.
fn all_of(snapshot: &Snapshot, all: &[Located], rule: &str) -> Option<Action> {
    let mut fixable = all
        .iter()
        .map(Located::finding)
        .filter(|finding| finding.rule == rule && preferred(finding).is_some());
    let rule = fixable.next()?.rule;
    fixable.next()?;
    let emended = emend(snapshot, Some(rule));
    (emended.fixes > 1).then(|| Action {
        title: format!("Apply all fixes of “{rule}” in this file"),
        kind: ActionKind::All,
        preferred: false,
        rule,
        about: None,
        changes: emended.changes,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;
    use std::sync::Arc;

    fn snapshot(text: &str) -> Snapshot {
        Snapshot::new(Document::new(text), Arc::default())
    }

    /// The text after the action with this title, asked for at the `^`.
    fn taken(marked: &str, title: &str) -> Option<String> {
        let at = marked.find('▲').unwrap();
        let text = marked.replace('▲', "");
        let all = actions(&snapshot(&text), at..at);
        let action = all.into_iter().find(|action| action.title == title)?;
        let mut changes = action.changes;
        changes.sort_by_key(|change| change.range.start);
        let mut text = text;
        for change in changes.iter().rev() {
            text.replace_range(change.range.clone(), &change.text);
        }
        Some(text)
    }

    const FILE: &str = "Accept “unreadable” in this file";
    const TUNE: &str = "Accept “unreadable” in this tune";

    #[test]
    fn accepted_in_the_tune() {
        let taken = taken("X:1\r\nK:C\r\nC▲}|\r\n", TUNE);
        let expected = "X:1\r\n%%recte accept unreadable\r\nK:C\r\nC}|\r\n";
        assert_eq!(taken.as_deref(), Some(expected));
    }

    #[test]
    fn accepted_in_the_file() {
        let line = "%%recte accept unreadable\n";
        let tune = "X:1\nK:C\nC▲}|\n";
        let plain = tune.replace('▲', "");
        assert_eq!(taken(tune, FILE), Some(format!("{line}\n{plain}")));
        let version = format!("%abc-2.1\n{tune}");
        assert_eq!(taken(&version, FILE), Some(format!("%abc-2.1\n{line}\n{plain}")));
        let header = format!("M:3/4\n\n{tune}");
        assert_eq!(taken(&header, FILE), Some(format!("M:3/4\n{line}\n{plain}")));
    }

    #[test]
    fn nothing_is_offered_where_nothing_is_said() {
        assert!(actions(&snapshot("X:1\nK:C\nC}|\nCDEF|\n"), 14..14).is_empty());
    }
}
