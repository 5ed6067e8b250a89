//! The outline of a document: tunes, and in them parts and voices.

use recte_notation::{Block, BlockKind, Document};
use recte_score::{Span, Tune, Voice};
use std::ops::Range;

/// What an entry of the outline is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SymbolKind {
    /// A tune.
    Tune,
    /// A part (`P:`).
    Part,
    /// A voice.
    Voice,
}

/// An entry of the outline. Ranges are bytes of the document; `selection` lies in `range`, and children as well.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Symbol {
    /// What it is.
    pub kind: SymbolKind,
    /// What to call it; never empty.
    pub name: String,
    /// A word more, or an empty text.
    pub detail: String,
    /// Where it is.
    pub range: Range<usize>,
    /// What to put the cursor on.
    pub selection: Range<usize>,
    /// What lies in it.
    pub children: Vec<Symbol>,
}

/// The outline, in the order of the text.
pub fn symbols(document: &Document) -> Vec<Symbol> {
    let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    tunes.map(|(start, block)| of_tune(start, block)).collect()
}

fn of_tune(start: usize, block: &Block) -> Symbol {
    let text = &block.text;
    let tune = &block.lowered().tune;
    let first = text.len() - text.trim_start().len();
    let whole = first..text.trim_end().len().max(first);
    let line = text[whole.clone()].find(['\n', '\r']).map_or(whole.end, |end| first + end);
    let title = [tune.title(), tune.reference.as_deref().unwrap_or_default()];
    let name = title.into_iter().find(|name| !name.trim().is_empty()).unwrap_or("Tune");
    let mut children = parts(text, tune, whole.end);
    if tune.voices.len() > 1 {
        children.extend(tune.voices.iter().filter_map(|voice| of_voice(voice, &whole)));
    }
    let mut symbol = Symbol {
        kind: SymbolKind::Tune,
        name: name.to_owned(),
        detail: tune.reference.as_ref().map_or(String::new(), |number| format!("X:{number}")),
        selection: first..line,
        range: whole,
        children,
    };
    symbol.shift(start);
    symbol
}

impl Symbol {
    fn shift(&mut self, by: usize) {
        for range in [&mut self.range, &mut self.selection] {
            *range = range.start + by..range.end + by;
        }
        self.children.iter_mut().for_each(|child| child.shift(by));
    }
}

/// The parts that field lines in the body begin, each up to the next.
fn parts(text: &str, tune: &Tune, end: usize) -> Vec<Symbol> {
    let mut found: Vec<Symbol> = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive(['\n', '\r']) {
        if at >= tune.header.end as usize && line.starts_with("P:") && at < end {
            if let Some(last) = found.last_mut() {
                last.range.end = at;
            }
            let part =
                tune.sections.iter().find(|mark| mark.part && mark.span.start as usize == at);
            let name = part.map_or("", |part| part.label.as_str());
            let selection = at..(at + line.trim_end().len()).min(end);
            found.push(Symbol {
                kind: SymbolKind::Part,
                name: format!("Part {name}").trim_end().to_owned(),
                detail: String::new(),
                range: at..end.max(selection.end),
                selection,
                children: Vec::new(),
            });
        }
        at += line.len();
    }
    found
}

fn of_voice(voice: &Voice, whole: &Range<usize>) -> Option<Symbol> {
    let declared = Some(voice.declared).filter(|span| span.end > 0);
    let music = voice.events.iter().map(|event| event.full);
    let all: Span = music.chain(declared).reduce(Span::join)?;
    let inside = |range: Range<usize>| {
        let start = range.start.clamp(whole.start, whole.end);
        start..range.end.clamp(start, whole.end)
    };
    let range = inside(all.range());
    let selection = declared.map_or(range.start..range.start, |span| inside(span.range()));
    Some(Symbol {
        kind: SymbolKind::Voice,
        name: Some(voice.label()).filter(|name| !name.trim().is_empty()).unwrap_or("Voice").into(),
        detail: format!("V:{}", voice.id),
        range,
        selection,
        children: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tunes_parts_and_voices() {
        let text = "words\n\nX:7\nT:Lilt\nV:1 name=\"Flute\"\nV:2\nK:C\nP:A\n[V:1]CD|\n[V:2]C2|\nP:B\n[V:1]EF|\n";
        let document = Document::new(text);
        let all = symbols(&document);
        assert_eq!(all.len(), 1);
        let names: Vec<&str> = all[0].children.iter().map(|child| child.name.as_str()).collect();
        assert_eq!((all[0].name.as_str(), all[0].detail.as_str()), ("Lilt", "X:7"));
        assert_eq!(names, ["Part A", "Part B", "Flute", "2"]);
        assert_eq!(&text[all[0].children[0].range.clone()], "P:A\n[V:1]CD|\n[V:2]C2|\n");
        assert_eq!(&text[all[0].selection.clone()], "X:7");
    }

    #[test]
    fn selections_lie_inside() {
        for text in ["X:", "K:C\n", "X:1\nK:C\nP:\n", "X:1\rK:\r[V:a]C[V:b]", "\n\nX:1\nT:é\n"] {
            let document = Document::new(text);
            for tune in symbols(&document) {
                for one in tune.children.iter().chain([&tune]) {
                    assert!(one.range.start <= one.selection.start, "{one:?}");
                    assert!(one.selection.end <= one.range.end, "{one:?}");
                    assert!(
                        tune.range.end >= one.range.end && text.get(one.range.clone()).is_some()
                    );
                    assert!(!one.name.is_empty());
                }
            }
        }
    }
}
