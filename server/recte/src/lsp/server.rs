//! The handlers. Each changes what it changes before it awaits anything, and waits for no answer of the client.

use super::actions::{ALL_FIXES, Later, code_actions};
use super::convert::Client as Abilities;
use super::harmony::{completions, inlay_hints};
use super::outline::{folding, outline};
use super::state::State;
use crate::includes::bring;
use recte_assist::{Snapshot, hover, hover_voice, layout_all, layout_lines, layout_typed};
use recte_notation::Document;
use std::sync::Arc;
use tokio::task::spawn_blocking;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionKind, CodeActionOptions, CodeActionParams, CodeActionProviderCapability,
    CodeActionResponse, CompletionOptions, CompletionParams, CompletionResponse,
    DidChangeConfigurationParams, DidChangeTextDocumentParams, DidChangeWatchedFilesParams,
    DidCloseTextDocumentParams, DidOpenTextDocumentParams, DidSaveTextDocumentParams,
    DocumentFormattingParams, DocumentOnTypeFormattingOptions, DocumentOnTypeFormattingParams,
    DocumentRangeFormattingParams, DocumentSymbolParams, DocumentSymbolResponse, FoldingRange,
    FoldingRangeParams, FoldingRangeProviderCapability, Hover, HoverContents, HoverParams,
    HoverProviderCapability, InitializeParams, InitializeResult, InitializedParams, InlayHint,
    InlayHintParams, MarkupContent, MarkupKind, OneOf, SaveOptions, ServerCapabilities, ServerInfo,
    TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions,
    TextDocumentSyncSaveOptions, TextEdit, Url,
};
use tower_lsp::{Client, LanguageServer, async_trait};

/// The server, as the library calls it.
pub(super) struct Backend(Arc<State>);

impl Backend {
    pub(super) fn new(client: Client) -> Backend {
        Backend(Arc::new(State::new(client)))
    }

    /// Works on a document as it is now, off the loop; nothing if it is not open or the work stumbles.
    async fn ask<T: Send + 'static>(
        &self,
        uri: &Url,
        work: impl FnOnce(&Abilities, &Snapshot) -> T + Send + 'static,
    ) -> Option<T> {
        let snapshot = self.0.snapshot(uri)?;
        let abilities = self.0.abilities();
        spawn_blocking(move || work(&abilities, &snapshot)).await.ok()
    }
}

fn capabilities(abilities: &Abilities) -> ServerCapabilities {
    let kinds = vec![CodeActionKind::QUICKFIX, CodeActionKind::REFACTOR_REWRITE, ALL_FIXES];
    ServerCapabilities {
        position_encoding: Some(abilities.encoding()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions::default())),
            ..TextDocumentSyncOptions::default()
        })),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(kinds),
            resolve_provider: Some(abilities.resolves),
            ..CodeActionOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        inlay_hint_provider: Some(OneOf::Left(true)),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some(vec!["\"".to_owned()]),
            ..CompletionOptions::default()
        }),
        document_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        document_range_formatting_provider: Some(OneOf::Left(true)),
        document_on_type_formatting_provider: Some(DocumentOnTypeFormattingOptions {
            first_trigger_character: "|".to_owned(),
            more_trigger_character: None,
        }),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        ..ServerCapabilities::default()
    }
}

#[async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let abilities = Abilities::new(&params.capabilities);
        self.0.meet(abilities);
        if let Some(settings) = params.initialization_options.filter(|value| value.is_object()) {
            self.0.take_editor(&settings);
        }
        Ok(InitializeResult {
            capabilities: capabilities(&abilities),
            server_info: Some(ServerInfo {
                name: "recte".to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
        })
    }

    async fn initialized(&self, _: InitializedParams) {
        self.0.ask_to_watch();
        self.0.ask_settings();
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }

    async fn did_open(&self, params: DidOpenTextDocumentParams) {
        let opened = params.text_document;
        self.0.forget_files();
        let config = Arc::new(self.0.resolved(&opened.uri).config);
        let mut document = Document::new(&opened.text);
        bring(&mut document, opened.uri.to_file_path().ok().as_deref(), false);
        self.0.host().open(opened.uri.as_str(), opened.version, document, config);
        self.0.analyse(opened.uri);
    }

    async fn did_change(&self, params: DidChangeTextDocumentParams) {
        let (uri, version) = (params.text_document.uri, params.text_document.version);
        let abilities = self.0.abilities();
        self.0.host().edit(uri.as_str(), version, |document| {
            abilities.edit(document, params.content_changes);
            bring(document, uri.to_file_path().ok().as_deref(), false);
        });
        self.0.analyse(uri);
    }

    async fn did_save(&self, _: DidSaveTextDocumentParams) {
        // Settings may have been saved beside it, where the client watches no files.
        self.0.forget_files();
        self.0.reconfigure();
    }

    async fn did_close(&self, params: DidCloseTextDocumentParams) {
        let uri = params.text_document.uri;
        self.0.host().close(uri.as_str());
        // Finding it closed, the analysis clears what the client shows.
        self.0.analyse(uri);
    }

    async fn did_change_configuration(&self, params: DidChangeConfigurationParams) {
        if params.settings.is_object() {
            self.0.take_editor(&params.settings);
        } else {
            self.0.ask_settings();
        }
    }

    async fn did_change_watched_files(&self, _: DidChangeWatchedFilesParams) {
        self.0.forget_files();
        self.0.reconfigure();
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let uri = params.text_document.uri;
        let (name, range, only) = (uri.clone(), params.range, params.context.only);
        Ok(self
            .ask(&uri, move |client, snapshot| {
                code_actions(client, &name, snapshot, range, only.as_deref())
            })
            .await)
    }

    async fn code_action_resolve(&self, action: CodeAction) -> Result<CodeAction> {
        let Some(later) = Later::of(&action) else { return Ok(action) };
        let uri = later.uri.clone();
        let resolved =
            self.ask(&uri, move |client, snapshot| later.resolve(client, snapshot, action));
        resolved.await.unwrap_or_else(|| Err(Error::new(ErrorCode::ContentModified)))
    }

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let place = params.text_document_position_params;
        let hovered = self.ask(&place.text_document.uri, move |client, snapshot| {
            let rope = snapshot.document.rope();
            let offset = client.byte(rope, place.position);
            let hover = hover(&snapshot.document, offset);
            let hover = hover.or_else(|| hover_voice(snapshot, offset))?;
            let markup = MarkupContent { kind: MarkupKind::PlainText, value: hover.text };
            let range = Some(client.range(rope, &hover.range));
            Some(Hover { contents: HoverContents::Markup(markup), range })
        });
        Ok(hovered.await.flatten())
    }

    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        let range = params.range;
        let hints = self.ask(&params.text_document.uri, move |client, snapshot| {
            inlay_hints(client, snapshot, range)
        });
        Ok(hints.await)
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let place = params.text_document_position;
        let found = self.ask(&place.text_document.uri, move |client, snapshot| {
            completions(client, snapshot, place.position)
        });
        Ok(found.await.flatten())
    }

    async fn document_symbol(
        &self,
        params: DocumentSymbolParams,
    ) -> Result<Option<DocumentSymbolResponse>> {
        let uri = params.text_document.uri;
        let name = uri.clone();
        Ok(self.ask(&uri, move |client, now| outline(client, &name, &now.document)).await)
    }

    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        let uri = params.text_document.uri;
        Ok(self.ask(&uri, |client, now| folding(client, &now.document)).await)
    }
    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let laid = self.ask(&params.text_document.uri, |client, now| {
            client.edits(now.document.rope(), &layout_all(&now.document).changes)
        });
        Ok(laid.await)
    }

    async fn range_formatting(
        &self,
        params: DocumentRangeFormattingParams,
    ) -> Result<Option<Vec<TextEdit>>> {
        let laid = self.ask(&params.text_document.uri, move |client, now| {
            let rope = now.document.rope();
            let range = client.bytes(rope, params.range);
            client.edits(rope, &layout_lines(&now.document, &range).changes)
        });
        Ok(laid.await)
    }

    async fn on_type_formatting(
        &self,
        params: DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<TextEdit>>> {
        let place = params.text_document_position;
        let laid = self.ask(&place.text_document.uri, move |client, now| {
            let rope = now.document.rope();
            let cursor = client.byte(rope, place.position);
            client.edits(rope, &layout_typed(&now.document, cursor).changes)
        });
        Ok(laid.await)
    }
}
