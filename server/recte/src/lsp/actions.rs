//! Actions as the protocol says them.

use super::convert::Client;
use recte_assist::actions::{Action, ActionKind, actions};
use recte_assist::{Snapshot, emend, offers, rewritings};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionDisabled, CodeActionKind, CodeActionOrCommand, Range, Url,
};

/// Every preferred fix of the file, when the client asks for just that.
pub(super) const ALL_FIXES: CodeActionKind = CodeActionKind::new("source.fixAll.recte");

/// What can be done at a range, of the kinds the client wants.
pub(super) fn code_actions(
    client: &Client,
    uri: &Url,
    snapshot: &Snapshot,
    range: Range,
    only: Option<&[CodeActionKind]>,
) -> Vec<CodeActionOrCommand> {
    let wanted =
        |kind: &CodeActionKind| only.is_none_or(|only| only.iter().any(|o| covers(o, kind)));
    let rope = snapshot.document.rope();
    let mut found = Vec::new();
    if wanted(&CodeActionKind::QUICKFIX) || wanted(&CodeActionKind::REFACTOR_REWRITE) {
        for action in actions(snapshot, client.bytes(rope, range)) {
            let kind = kind_of(&action);
            if wanted(&kind) {
                let about = action.about.as_ref();
                found.push(CodeAction {
                    kind: Some(kind),
                    diagnostics: about.map(|one| vec![client.diagnostic(uri, rope, one)]),
                    is_preferred: action.preferred.then_some(true),
                    edit: Some(client.workspace_edit(uri, snapshot, &action.changes)),
                    title: action.title,
                    ..CodeAction::default()
                });
            }
        }
    }
    if wanted(&CodeActionKind::REFACTOR_REWRITE) {
        for offer in offers(snapshot, client.bytes(rope, range)) {
            found.push(CodeAction {
                title: offer.title,
                kind: Some(CodeActionKind::REFACTOR_REWRITE),
                edit: Some(client.workspace_edit(uri, snapshot, &offer.changes)),
                ..CodeAction::default()
            });
        }
    }
    if wanted(&CodeActionKind::REFACTOR_REWRITE) {
        let asked = only.is_some();
        for one in rewritings(snapshot, client.bytes(rope, range), asked) {
            // A fix that says the same is the one to take.
            if found.iter().any(|known| known.title == one.title) {
                continue;
            }
            let action = CodeAction {
                title: one.title,
                kind: Some(CodeActionKind::REFACTOR_REWRITE),
                ..CodeAction::default()
            };
            match one.changes {
                Ok(changes) => found.push(CodeAction {
                    edit: Some(client.workspace_edit(uri, snapshot, &changes)),
                    ..action
                }),
                Err(reason) if client.disabled => found
                    .push(CodeAction { disabled: Some(CodeActionDisabled { reason }), ..action }),
                Err(_) => {}
            }
        }
    }
    // Only for those who ask: it is no answer to the question at the cursor.
    if only.is_some() && wanted(&ALL_FIXES) {
        let emended = emend(snapshot, None);
        if emended.fixes > 0 {
            found.push(CodeAction {
                title: "Apply every preferred fix in this file".to_owned(),
                kind: Some(ALL_FIXES),
                edit: Some(client.workspace_edit(uri, snapshot, &emended.changes)),
                ..CodeAction::default()
            });
        }
    }
    found.into_iter().map(CodeActionOrCommand::CodeAction).collect()
}

/// A suggestion is a rewriting, so that no editor takes it for a repair.
fn kind_of(action: &Action) -> CodeActionKind {
    match action.kind {
        ActionKind::Suggestion => CodeActionKind::REFACTOR_REWRITE,
        ActionKind::Fix | ActionKind::Accept | ActionKind::All => CodeActionKind::QUICKFIX,
    }
}

/// Whether a kind that was asked for takes in another: `source` takes in `source.fixAll`.
fn covers(asked: &CodeActionKind, kind: &CodeActionKind) -> bool {
    let rest = kind.as_str().strip_prefix(asked.as_str());
    asked.as_str().is_empty() || rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_take_in_their_own() {
        assert!(covers(&CodeActionKind::SOURCE, &ALL_FIXES));
        assert!(covers(&CodeActionKind::EMPTY, &ALL_FIXES));
        assert!(!covers(&CodeActionKind::QUICKFIX, &ALL_FIXES));
        assert!(!covers(&CodeActionKind::new("sour"), &ALL_FIXES));
    }
}
