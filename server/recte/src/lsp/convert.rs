//! The one door between the protocol and byte offsets. What lies outside a text is drawn to the nearest place.

use crate::place::{Columns, Place, byte_of, places_of};
use recte_assist::{Located, Snapshot};
use recte_notation::{Change, Document};
use recte_review::Severity;
use ropey::Rope;
use std::collections::HashMap;
use std::ops::Range as Bytes;
use std::panic::{AssertUnwindSafe, catch_unwind};
use tower_lsp::lsp_types::{
    ClientCapabilities, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity,
    DocumentChanges, Location, NumberOrString, OneOf, OptionalVersionedTextDocumentIdentifier,
    Position, PositionEncodingKind, Range, TextDocumentContentChangeEvent, TextDocumentEdit,
    TextEdit, Url, WorkspaceEdit,
};

/// What the client can do.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Client {
    /// What it counts columns in.
    pub(super) columns: Columns,
    /// Whether it shows other places a remark speaks of.
    pub(super) related: bool,
    /// Whether its edits name the version they are for.
    pub(super) versioned: bool,
    /// Whether its outline has levels.
    pub(super) nested: bool,
    /// Whether it shows actions that cannot be taken, with the reason.
    pub(super) disabled: bool,
    /// Whether it asks again for the changes of an action that was taken.
    pub(super) resolves: bool,
    /// Whether it can be asked for settings.
    pub(super) asks: bool,
    /// Whether it can be asked to watch files.
    pub(super) watches: bool,
    /// Whether it can be told that hints between the signs have changed.
    pub(super) refreshes: bool,
}

impl Client {
    /// What it says it can do.
    pub(super) fn new(can: &ClientCapabilities) -> Client {
        let text = can.text_document.as_ref();
        let workspace = can.workspace.as_ref();
        let encodings =
            can.general.as_ref().and_then(|general| general.position_encodings.as_ref());
        Client {
            // The client's list goes from what it likes most.
            columns: encodings.into_iter().flatten().find_map(columns_of).unwrap_or_default(),
            related: text
                .and_then(|text| text.publish_diagnostics.as_ref()?.related_information)
                .unwrap_or_default(),
            versioned: workspace
                .and_then(|workspace| workspace.workspace_edit.as_ref()?.document_changes)
                .unwrap_or_default(),
            nested: text
                .and_then(|t| t.document_symbol.as_ref()?.hierarchical_document_symbol_support)
                .unwrap_or_default(),
            disabled: text
                .and_then(|text| text.code_action.as_ref()?.disabled_support)
                .unwrap_or_default(),
            resolves: text.and_then(|text| text.code_action.as_ref()).is_some_and(|actions| {
                let asked_later = actions.resolve_support.as_ref();
                actions.data_support == Some(true)
                    && asked_later.is_some_and(|later| later.properties.iter().any(|p| p == "edit"))
            }),
            asks: workspace.and_then(|workspace| workspace.configuration).unwrap_or_default(),
            watches: workspace
                .and_then(|w| w.did_change_watched_files.as_ref()?.dynamic_registration)
                .unwrap_or_default(),
            refreshes: workspace
                .and_then(|workspace| workspace.inlay_hint.as_ref()?.refresh_support)
                .unwrap_or_default(),
        }
    }

    /// The agreed encoding by its name.
    pub(super) fn encoding(&self) -> PositionEncodingKind {
        match self.columns {
            Columns::Utf8 => PositionEncodingKind::UTF8,
            Columns::Utf16 => PositionEncodingKind::UTF16,
            Columns::Utf32 => PositionEncodingKind::UTF32,
        }
    }

    /// A range of the protocol.
    pub(super) fn range(&self, rope: &Rope, bytes: &Bytes<usize>) -> Range {
        let (start, end) = places_of(rope, bytes, self.columns);
        let position = |place: Place| {
            let number = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
            Position::new(number(place.line), number(place.column))
        };
        Range::new(position(start), position(end))
    }

    /// The byte at a position.
    pub(super) fn byte(&self, rope: &Rope, position: Position) -> usize {
        let place = Place { line: position.line as usize, column: position.character as usize };
        byte_of(rope, place, self.columns)
    }

    /// The bytes of a range; one that ends before it begins is empty.
    pub(super) fn bytes(&self, rope: &Rope, range: Range) -> Bytes<usize> {
        let start = self.byte(rope, range.start);
        start..self.byte(rope, range.end).max(start)
    }

    /// Applies the client's changes in the order it sent them.
    pub(super) fn edit(
        &self,
        document: &mut Document,
        changes: Vec<TextDocumentContentChangeEvent>,
    ) {
        for change in changes {
            let Some(range) = change.range else {
                *document = renewed(document, &change.text);
                continue;
            };
            let range = self.bytes(document.rope(), range);
            let change = Change { range, text: change.text };
            let applied = catch_unwind(AssertUnwindSafe(|| document.apply(&change)));
            if applied.is_err() {
                // The text itself is sound; only its division has to be made anew.
                *document = renewed(document, &document.rope().to_string());
            }
        }
    }

    /// A finding as the protocol says it.
    pub(super) fn diagnostic(&self, uri: &Url, rope: &Rope, located: &Located) -> Diagnostic {
        let finding = located.finding();
        let related = finding.related.iter().map(|related| {
            let span = related.span.range();
            let bytes = located.start + span.start..located.start + span.end;
            let location = Location::new(uri.clone(), self.range(rope, &bytes));
            DiagnosticRelatedInformation { location, message: related.message.clone() }
        });
        let related: Vec<_> = related.collect();
        Diagnostic {
            range: self.range(rope, &located.range()),
            severity: Some(severity(finding.severity)),
            code: Some(NumberOrString::String(finding.rule.to_owned())),
            source: Some("recte".to_owned()),
            message: finding.message.clone(),
            related_information: (self.related && !related.is_empty()).then_some(related),
            ..Diagnostic::default()
        }
    }

    /// Changes of one document as edits of it.
    pub(super) fn edits(&self, rope: &Rope, changes: &[Change]) -> Vec<TextEdit> {
        let edit = |change: &Change| TextEdit {
            range: self.range(rope, &change.range),
            new_text: change.text.clone(),
        };
        changes.iter().map(edit).collect()
    }

    /// Changes of one document as an edit of the workspace.
    pub(super) fn workspace_edit(
        &self,
        uri: &Url,
        snapshot: &Snapshot,
        changes: &[Change],
    ) -> WorkspaceEdit {
        let edits = self.edits(snapshot.document.rope(), changes);
        if !self.versioned {
            return WorkspaceEdit::new(HashMap::from([(uri.clone(), edits)]));
        }
        let document = TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier {
                uri: uri.clone(),
                version: Some(snapshot.version),
            },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        };
        WorkspaceEdit {
            document_changes: Some(DocumentChanges::Edits(vec![document])),
            ..WorkspaceEdit::default()
        }
    }
}

/// Another text of the same document; the files it includes stay known.
fn renewed(document: &Document, text: &str) -> Document {
    let mut fresh = Document::new(text);
    fresh.include(document.includes().clone());
    fresh
}

fn columns_of(kind: &PositionEncodingKind) -> Option<Columns> {
    match kind.as_str() {
        "utf-8" => Some(Columns::Utf8),
        "utf-16" => Some(Columns::Utf16),
        "utf-32" => Some(Columns::Utf32),
        _ => None,
    }
}

fn severity(severity: Severity) -> DiagnosticSeverity {
    match severity {
        Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Warning => DiagnosticSeverity::WARNING,
        Severity::Info => DiagnosticSeverity::INFORMATION,
        Severity::Hint => DiagnosticSeverity::HINT,
    }
}
