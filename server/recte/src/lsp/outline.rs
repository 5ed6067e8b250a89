//! Outline and folding as the protocol says them.

use super::convert::Client;
use recte_assist::{FoldKind, Symbol, SymbolKind as Kind, folds, symbols};
use recte_notation::Document;
use ropey::Rope;
use tower_lsp::lsp_types::{
    DocumentSymbol, DocumentSymbolResponse, FoldingRange, FoldingRangeKind, Location,
    SymbolInformation, SymbolKind, Url,
};

/// The outline; a list without levels for a client that knows none.
pub(super) fn outline(client: &Client, uri: &Url, document: &Document) -> DocumentSymbolResponse {
    let rope = document.rope();
    let all = symbols(document);
    if client.nested {
        let all = all.into_iter().map(|symbol| nested(client, rope, symbol));
        return DocumentSymbolResponse::Nested(all.collect());
    }
    let mut list = Vec::new();
    for symbol in all {
        flat(client, uri, rope, symbol, None, &mut list);
    }
    DocumentSymbolResponse::Flat(list)
}

/// What can be folded.
pub(super) fn folding(client: &Client, document: &Document) -> Vec<FoldingRange> {
    let fold = |fold: recte_assist::Fold| {
        let range = client.range(document.rope(), &fold.range);
        FoldingRange {
            start_line: range.start.line,
            end_line: range.end.line,
            kind: Some(match fold.kind {
                FoldKind::Region => FoldingRangeKind::Region,
                FoldKind::Comment => FoldingRangeKind::Comment,
            }),
            ..FoldingRange::default()
        }
    };
    folds(document).into_iter().map(fold).collect()
}

fn kind(kind: Kind) -> SymbolKind {
    match kind {
        Kind::Tune => SymbolKind::MODULE,
        Kind::Part => SymbolKind::NAMESPACE,
        Kind::Voice => SymbolKind::FIELD,
    }
}

#[allow(deprecated)] // the type has a field that is
fn nested(client: &Client, rope: &Rope, symbol: Symbol) -> DocumentSymbol {
    let children = symbol.children.into_iter().map(|child| nested(client, rope, child));
    DocumentSymbol {
        name: symbol.name,
        detail: Some(symbol.detail).filter(|detail| !detail.is_empty()),
        kind: kind(symbol.kind),
        tags: None,
        deprecated: None,
        range: client.range(rope, &symbol.range),
        selection_range: client.range(rope, &symbol.selection),
        children: Some(children.collect::<Vec<_>>()).filter(|children| !children.is_empty()),
    }
}

#[allow(deprecated)] // the type has a field that is
fn flat(
    client: &Client,
    uri: &Url,
    rope: &Rope,
    symbol: Symbol,
    container: Option<&str>,
    list: &mut Vec<SymbolInformation>,
) {
    list.push(SymbolInformation {
        name: symbol.name.clone(),
        kind: kind(symbol.kind),
        tags: None,
        deprecated: None,
        location: Location::new(uri.clone(), client.range(rope, &symbol.range)),
        container_name: container.map(str::to_owned),
    });
    for child in symbol.children {
        flat(client, uri, rope, child, Some(&symbol.name), list);
    }
}
