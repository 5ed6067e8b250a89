//! What can be folded: tunes, headers, blocks of text, runs of comments.

use recte_notation::{Block, BlockKind, Document};
use std::ops::Range;

/// What is folded.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FoldKind {
    /// Music, a header, text.
    Region,
    /// Comments.
    Comment,
}

/// A stretch of whole lines: from the beginning of its first to the end of its last, line end not counted.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fold {
    /// Bytes of the document.
    pub range: Range<usize>,
    /// What it is.
    pub kind: FoldKind,
}

/// Everything that can be folded; stretches of one line are left out.
pub fn folds(document: &Document) -> Vec<Fold> {
    let mut all = Vec::new();
    for (start, block) in document.blocks() {
        let mut found = Vec::new();
        of_block(block, &mut found);
        for mut fold in found {
            let text = block.text[fold.range.clone()].trim_end();
            fold.range = start + fold.range.start..start + fold.range.start + text.len();
            if text.contains(['\n', '\r']) {
                all.push(fold);
            }
        }
    }
    all.sort_by_key(|fold| (fold.range.start, std::cmp::Reverse(fold.range.end)));
    all.dedup();
    all
}

fn of_block(block: &Block, found: &mut Vec<Fold>) {
    let region = |range| Fold { range, kind: FoldKind::Region };
    let first = block.text.len() - block.text.trim_start().len();
    found.push(region(first..block.text.len()));
    if block.kind == BlockKind::Tune {
        let header = block.lowered().tune.header.range();
        if header.end <= block.text.len() && header.start < header.end {
            found.push(region(header));
        }
    }
    let (mut comments, mut text) = (None, None);
    let mut at = 0;
    for line in block.text.split_inclusive(['\n', '\r']) {
        if line.starts_with("%%begintext") {
            text.get_or_insert(at);
        }
        if line.starts_with('%') && !line.starts_with("%%") {
            comments.get_or_insert(at);
        } else if line != "\n" || !block.text[..at].ends_with('\r') {
            // The second half of CR LF is no line of its own.
            if let Some(start) = comments.take() {
                found.push(Fold { range: start..at, kind: FoldKind::Comment });
            }
        }
        at += line.len();
        if line.starts_with("%%endtext")
            && let Some(start) = text.take()
        {
            found.push(region(start..at));
        }
    }
    if let Some(start) = comments {
        found.push(Fold { range: start..at, kind: FoldKind::Comment });
    }
    if let Some(start) = text {
        found.push(region(start..at));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tunes_headers_text_and_comments() {
        let text =
            "% a\r\n% b\r\nX:1\nT:t\nK:C\nCD|\nEF|\n%%begintext\nwords\n%%endtext\n\nalone\n";
        let document = Document::new(text);
        let found: Vec<(&str, FoldKind)> =
            folds(&document).iter().map(|f| (&text[f.range.clone()], f.kind)).collect();
        assert!(found.contains(&("% a\r\n% b", FoldKind::Comment)), "{found:?}");
        assert!(found.contains(&("X:1\nT:t\nK:C", FoldKind::Region)), "{found:?}");
        assert!(found.contains(&("%%begintext\nwords\n%%endtext", FoldKind::Region)), "{found:?}");
        assert!(found.iter().any(|(t, _)| t.starts_with("% a") && t.ends_with("%%endtext")));
        assert_eq!(found.len(), 4, "{found:?}");
    }

    #[test]
    fn odd_texts_fold_to_nothing_or_something_but_never_fail() {
        for text in ["", "\r", "%", "%%begintext", "\u{FEFF}X:1\rK:C\rC", "é\n\né"] {
            for fold in folds(&Document::new(text)) {
                assert!(text.get(fold.range).is_some());
            }
        }
    }
}
