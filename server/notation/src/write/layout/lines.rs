//! The lines of a tune with their items, and the white space in them.

use super::spacing::Gap;
use crate::parse::parse;
use crate::syntax::{Kind, kind};
use std::ops::Range;
use tree_sitter::Node;

/// What of a block has white space to set.
#[derive(Default)]
pub(super) struct Page {
    /// The lines of music that hold anything.
    pub(super) lines: Vec<Line>,
    /// White space at the ends of lines.
    pub(super) ends: Vec<Range<usize>>,
}

/// A line of music.
pub(super) struct Line {
    /// Where it begins, indentation included.
    pub(super) start: usize,
    /// What stands on it: never nothing.
    pub(super) items: Vec<Item>,
    /// What stands between each item and the next.
    pub(super) gaps: Vec<Gap>,
}

/// A note, a bar line, a sign.
pub(super) struct Item {
    pub(super) kind: Kind,
    pub(super) range: Range<usize>,
}

impl Page {
    /// Reads the tune of a block; `None` if there is none.
    pub(super) fn read(text: &str) -> Option<Page> {
        let tree = parse(text)?;
        let tune = children(tree.root_node()).into_iter().find(|node| kind(*node) == Kind::Tune)?;
        let mut page = Page::default();
        for part in children(tune) {
            for line in children(part) {
                match kind(line) {
                    Kind::Field => page.ends.extend(after_field(text, line)),
                    Kind::MusicLine => page.music(text, line),
                    _ => {}
                }
            }
        }
        Some(page)
    }

    fn music(&mut self, text: &str, node: Node<'_>) {
        let item = |node: Node<'_>| Item { kind: kind(node), range: node.byte_range() };
        // Back quotes have no name: they are nothing, and stand in the gaps.
        let named = children(node).into_iter().filter(Node::is_named);
        let items: Vec<Item> = named.map(item).collect();
        let (Some(first), Some(last)) = (items.first(), items.last()) else { return };
        let start = text[..first.range.start].rfind(['\n', '\r']).map_or(0, |end| end + 1);
        if last.kind != Kind::Comment {
            self.ends.extend(white_end(text, last.range.end));
        }
        let between = |pair: &[Item]| Gap::new(text, pair[0].range.end..pair[1].range.start);
        let gaps = items.windows(2).map(between).collect();
        self.lines.push(Line { start, items, gaps });
    }
}

impl Line {
    /// Where its last item ends.
    pub(super) fn end(&self) -> usize {
        self.items.last().map_or(self.start, |item| item.range.end)
    }

    /// Where the bar line begins that ends, or goes on, at this byte.
    pub(super) fn bar_before(&self, byte: usize) -> Option<usize> {
        let at = self.items.partition_point(|item| item.range.end < byte);
        let bar = self.items.get(at).filter(|item| item.kind == Kind::Bar)?;
        (bar.range.start < byte).then_some(bar.range.start)
    }
}

fn children(node: Node<'_>) -> Vec<Node<'_>> {
    node.children(&mut node.walk()).collect()
}

/// White space after what a field says. After a backslash it may be meant.
fn after_field(text: &str, field: Node<'_>) -> Option<Range<usize>> {
    let commented = children(field).iter().any(|child| kind(*child) == Kind::Comment);
    let name = field.child_by_field_name("name")?;
    let white = white_end(text, name.end_byte()).filter(|_| !commented)?;
    (!text[..white.start].ends_with('\\')).then_some(white)
}

/// The white space at the end of the line, beginning no earlier than `from`.
fn white_end(text: &str, from: usize) -> Option<Range<usize>> {
    let rest = &text[from..];
    let rest = &rest[..rest.find(['\n', '\r']).unwrap_or(rest.len())];
    let kept = rest.trim_end_matches([' ', '\t']).len();
    (kept < rest.len()).then_some(from + kept..from + rest.len())
}
