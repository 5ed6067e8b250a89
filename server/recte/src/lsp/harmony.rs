//! Inlay hints and completions as the protocol says them.

use super::convert::Client;
use recte_assist::{Snapshot, completion, inlays};
use tower_lsp::lsp_types::{
    CompletionItem, CompletionItemKind, CompletionResponse, CompletionTextEdit, InlayHint,
    InlayHintLabel, InlayHintTooltip, Position, Range, TextEdit,
};

/// The harmonies shown within a range.
pub(super) fn inlay_hints(client: &Client, snapshot: &Snapshot, range: Range) -> Vec<InlayHint> {
    let rope = snapshot.document.rope();
    let shown = inlays(snapshot, &client.bytes(rope, range)).into_iter();
    let hint = |one: recte_assist::Inlay| InlayHint {
        position: client.range(rope, &(one.at..one.at)).start,
        label: InlayHintLabel::String(one.text),
        kind: None,
        text_edits: None,
        tooltip: Some(InlayHintTooltip::String(one.tip)),
        padding_left: None,
        padding_right: Some(true),
        data: None,
    };
    shown.map(hint).collect()
}

/// The chord symbols that can stand at a place.
pub(super) fn completions(
    client: &Client,
    snapshot: &Snapshot,
    position: Position,
) -> Option<CompletionResponse> {
    let rope = snapshot.document.rope();
    let found = completion(snapshot, client.byte(rope, position))?;
    let range = client.range(rope, &found.range);
    let item = |(place, one): (usize, recte_assist::Offered)| CompletionItem {
        label: one.symbol.clone(),
        kind: Some(CompletionItemKind::VALUE),
        detail: Some(one.detail),
        sort_text: Some(format!("{place:03}")),
        filter_text: Some(one.symbol),
        preselect: (place == 0).then_some(true),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit { range, new_text: one.change.text })),
        ..CompletionItem::default()
    };
    Some(CompletionResponse::Array(found.items.into_iter().enumerate().map(item).collect()))
}
