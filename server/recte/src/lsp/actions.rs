//! Actions as the protocol says them.

use super::convert::Client;
use recte_assist::actions::{Action, ActionKind, actions};
use recte_assist::{Snapshot, Wanted, emend, offers, rewritings, suggestions};
use recte_notation::Change;
use recte_review::words::sentence;
use serde::{Deserialize, Serialize};
use tower_lsp::jsonrpc::{self, Error, ErrorCode};
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
        let proof = if client.resolves { Wanted::Titles } else { Wanted::Proved };
        for (title, changes, preview) in written_otherwise(client, snapshot, range, asked, proof) {
            // A fix that says the same is the one to take.
            if found.iter().any(|known| known.title == title) {
                continue;
            }
            let action = CodeAction {
                title,
                kind: Some(CodeActionKind::REFACTOR_REWRITE),
                ..CodeAction::default()
            };
            match changes {
                Ok(_) if client.resolves => {
                    let version = snapshot.version;
                    let later = Later { uri: uri.clone(), version, range, asked, preview };
                    found.push(CodeAction { data: serde_json::to_value(later).ok(), ..action });
                }
                Ok(changes) => found.push(CodeAction {
                    edit: Some(client.workspace_edit(uri, snapshot, &changes)),
                    ..action
                }),
                Err(reason) if client.disabled => found.push(CodeAction {
                    disabled: Some(CodeActionDisabled { reason: sentence(&reason) }),
                    ..action
                }),
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

/// A title, what it changes or why it cannot, and what becomes of what.
type Written = (String, Result<Vec<Change>, String>, Vec<String>);

/// Bars rewritten, and what could be tried in them.
fn written_otherwise(
    client: &Client,
    snapshot: &Snapshot,
    range: Range,
    asked: bool,
    wanted: Wanted<'_>,
) -> Vec<Written> {
    let bytes = client.bytes(snapshot.document.rope(), range);
    let bars = rewritings(snapshot, bytes.clone(), asked, wanted).into_iter();
    let mut found: Vec<Written> = bars.map(|one| (one.title, one.changes, Vec::new())).collect();
    // The one that was asked for is found once.
    if found.is_empty() || !matches!(wanted, Wanted::One(_)) {
        let tried = suggestions(snapshot, bytes, asked, wanted).into_iter();
        found.extend(tried.map(|one| (one.title, one.changes, one.preview)));
    }
    found
}

/// Where a rewriting was offered, for the client to bring back when it is taken.
#[derive(Serialize, Deserialize)]
pub(super) struct Later {
    pub(super) uri: Url,
    version: i32,
    range: Range,
    asked: bool,
    /// What a suggestion makes of what, to read before it is taken.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    preview: Vec<String>,
}

impl Later {
    /// What a client brought back; nothing if the action has all it needs.
    pub(super) fn of(action: &CodeAction) -> Option<Later> {
        serde_json::from_value(action.data.clone()?).ok()
    }

    /// The action with its changes, proved now.
    ///
    /// # Errors
    /// When the text has changed since, or the rewriting does not hold: then with the reason.
    pub(super) fn resolve(
        &self,
        client: &Client,
        snapshot: &Snapshot,
        action: CodeAction,
    ) -> jsonrpc::Result<CodeAction> {
        if snapshot.version != self.version {
            return Err(Error::new(ErrorCode::ContentModified));
        }
        let wanted = Wanted::One(&action.title);
        let own = written_otherwise(client, snapshot, self.range, self.asked, wanted);
        let Some((_, changes, _)) = own.into_iter().next() else { return Ok(action) };
        let changes = changes.map_err(|reason| Error {
            code: ErrorCode::ServerError(REQUEST_FAILED),
            message: reason.into(),
            data: None,
        })?;
        let edit = Some(client.workspace_edit(&self.uri, snapshot, &changes));
        Ok(CodeAction { edit, ..action })
    }
}

/// The protocol's number for a request that was understood and could not be done.
const REQUEST_FAILED: i64 = -32803;

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
