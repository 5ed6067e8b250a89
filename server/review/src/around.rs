//! What a tune's remarks need to know of the rest of its file.

use recte_notation::{Block, BlockKind, Document};
use std::collections::HashMap;
use std::sync::Arc;

/// What stands around a tune in its file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Around {
    /// The rules that the file header accepts.
    pub accepts: Arc<[String]>,
    /// The words of the style that the file header asks for last; empty for none.
    pub style: Arc<[String]>,
    /// The tune above that has the same reference number, if there is one.
    pub twin: Option<Twin>,
}

/// A tune above with the same reference number.
#[derive(Clone, Debug)]
pub struct Twin {
    /// Its block.
    pub block: Arc<Block>,
    /// A number that no tune of the file has.
    pub free: u64,
}

impl PartialEq for Twin {
    fn eq(&self, other: &Twin) -> bool {
        self.free == other.free && Arc::ptr_eq(&self.block, &other.block)
    }
}

impl Eq for Twin {}

impl Around {
    /// For every block of a document, in order.
    pub fn of(document: &Document) -> Vec<Arc<Around>> {
        let blocks = || document.blocks().map(|(_, block)| block);
        let header = blocks().next().filter(|block| block.kind == BlockKind::FileHeader);
        let accepts: Arc<[String]> = header
            .iter()
            .flat_map(|header| &header.lowered().tune.accepts)
            .flat_map(|accept| accept.rules.iter().cloned())
            .collect();
        let style: Arc<[String]> = header
            .iter()
            .flat_map(|header| &header.lowered().tune.styles)
            .next_back()
            .map(|style| style.words.clone().into())
            .unwrap_or_default();
        let tunes = blocks().filter(|block| block.kind == BlockKind::Tune);
        let references = tunes.filter_map(|block| block.lowered().tune.reference.as_ref());
        let highest = references.filter_map(|number| number.parse::<u64>().ok()).max();
        let mut free = highest.unwrap_or(0);
        let mut firsts: HashMap<&str, &Arc<Block>> = HashMap::new();
        let alone = Arc::new(Around { accepts, style, twin: None });
        blocks()
            .map(|block| {
                let is_tune = block.kind == BlockKind::Tune;
                let number = is_tune.then(|| block.lowered().tune.reference.as_deref()).flatten();
                let number = number.filter(|number| !number.is_empty());
                let first = number.and_then(|number| match firsts.get(number) {
                    Some(first) => Some(Arc::clone(first)),
                    None => firsts.insert(number, block).cloned(),
                });
                let Some(block) = first else { return alone.clone() };
                free = free.saturating_add(1);
                Arc::new(Around { twin: Some(Twin { block, free }), ..(*alone).clone() })
            })
            .collect()
    }
}
