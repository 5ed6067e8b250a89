//! A text being edited: a rope, cut into blocks that are read once and kept until they are touched.

use crate::encoding::{Decoded, Encoding};
use crate::include::{Includes, names};
use crate::lower::{Defaults, Reach, lower_block};
use crate::problem::Problem;
use crate::segment::{BlockKind, first_block};
use crate::write::{Overlap, TextEdit, apply};
use recte_score::harmony::{Harmony, harmonies};
use recte_score::{Span, Tune};
use ropey::Rope;
use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

/// A tune as read, with what could not be read.
#[derive(Debug, Default)]
pub struct Lowered {
    /// The score.
    pub tune: Tune,
    /// What could not be read.
    pub problems: Vec<Problem>,
    /// How far accidentals reach in it.
    pub reach: Reach,
    /// The keys typed, in their order.
    pub keys: Vec<TypedKey>,
}

/// A key where it is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TypedKey {
    /// The key, by index in the tune.
    pub key: u16,
    /// What is said of it: tonic, mode, accidentals, and whatever follows.
    pub span: Span,
    /// The voice it is for and the first event it holds for; none for the header's, which is for all voices.
    pub begins: Option<(u32, u32)>,
}

/// One block of a document. It is immutable; an edit replaces it.
#[derive(Debug)]
pub struct Block {
    /// What it is.
    pub kind: BlockKind,
    /// Its text, the blank lines after it included.
    pub text: Box<str>,
    /// The files it includes.
    includes: Box<[String]>,
    defaults: Arc<Defaults>,
    lowered: OnceLock<Lowered>,
    harmonies: OnceLock<Vec<Harmony>>,
}

impl Block {
    fn new(kind: BlockKind, text: &str, defaults: &Arc<Defaults>) -> Arc<Block> {
        let defaults = defaults.clone();
        Arc::new(Block {
            kind,
            text: text.into(),
            includes: names(text),
            defaults,
            lowered: OnceLock::new(),
            harmonies: OnceLock::new(),
        })
    }

    /// The block that edits would make of it, under the same file header.
    ///
    /// # Errors
    /// Two edits touch the same byte, or one lies outside the text.
    pub fn edited(&self, edits: &[TextEdit]) -> Result<Arc<Block>, Overlap> {
        Ok(Block::new(self.kind, &apply(&self.text, edits)?, &self.defaults))
    }

    /// The harmonies of its tune, worked out on the first call.
    pub fn harmonies(&self) -> &[Harmony] {
        self.harmonies.get_or_init(|| harmonies(&self.lowered().tune))
    }

    /// What its file says of every tune.
    pub(crate) fn defaults(&self) -> &Defaults {
        &self.defaults
    }

    /// Whether it has the text of another and stands under the same file header.
    pub fn reads_like(&self, other: &Block) -> bool {
        self.kind == other.kind
            && self.text == other.text
            && (Arc::ptr_eq(&self.defaults, &other.defaults) || self.defaults == other.defaults)
    }

    /// The tune it holds, read on the first call. Free text holds an empty one.
    pub fn lowered(&self) -> &Lowered {
        self.lowered.get_or_init(|| match self.kind {
            BlockKind::FreeText => Lowered::default(),
            BlockKind::Tune | BlockKind::FileHeader => lower_block(&self.text, &self.defaults),
        })
    }
}

/// A change of text: the bytes of `range` become `text`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Bytes to replace.
    pub range: Range<usize>,
    /// What comes in their place.
    pub text: String,
}

/// A text and its blocks. Cloning is cheap, so a clone is a snapshot.
#[derive(Clone, Debug)]
pub struct Document {
    rope: Rope,
    encoding: Encoding,
    /// The declared charset, where the bytes do not keep to it.
    broken: Option<Encoding>,
    includes: Arc<Includes>,
    blocks: Vec<Arc<Block>>,
}

impl Document {
    /// Reads a text.
    pub fn new(text: &str) -> Document {
        let mut document = Document {
            rope: Rope::from_str(text),
            encoding: Encoding::Utf8,
            broken: None,
            includes: Arc::default(),
            blocks: Vec::new(),
        };
        document.blocks = cut(text, true, &Arc::new(Defaults::default()));
        document.share_header();
        document
    }

    /// Reads a file's bytes, whatever they are.
    pub fn from_bytes(bytes: Vec<u8>) -> Document {
        let Decoded { text, encoding, broken } = Encoding::decode(bytes);
        Document { encoding, broken, ..Document::new(&text) }
    }

    /// The text.
    pub fn rope(&self) -> &Rope {
        &self.rope
    }

    /// How it was encoded.
    pub fn encoding(&self) -> Encoding {
        self.encoding
    }

    /// A sentence if the file's bytes are not what its `I:abc-charset` says.
    pub fn misdeclared(&self) -> Option<String> {
        let (declared, read) = (self.broken?.name(), self.encoding.name());
        Some(format!(
            "I:abc-charset says {declared}, and some of its letters are none of that; it is read as {read}."
        ))
    }

    /// The names of the files it includes.
    pub fn asks_for(&self) -> BTreeSet<&str> {
        self.blocks.iter().flat_map(|block| &block.includes).map(String::as_str).collect()
    }

    /// The included files it has been given.
    pub fn includes(&self) -> &Arc<Includes> {
        &self.includes
    }

    /// Gives it the files it includes, and reads anew what depends on them.
    pub fn include(&mut self, includes: Arc<Includes>) {
        if self.includes != includes {
            self.includes = includes;
            self.share_header();
        }
    }

    /// Its blocks with the byte each begins at.
    pub fn blocks(&self) -> impl Iterator<Item = (usize, &Arc<Block>)> {
        self.blocks.iter().scan(0, |at, block| {
            let start = *at;
            *at += block.text.len();
            Some((start, block))
        })
    }

    /// The block that holds a byte, and where it begins.
    pub fn block_at(&self, offset: usize) -> Option<(usize, &Arc<Block>)> {
        self.blocks().filter(|(start, _)| *start <= offset).last()
    }

    /// Applies a change. A range outside the text, or inside a character, is drawn to the nearest place.
    pub fn apply(&mut self, change: &Change) {
        let start = self.boundary(change.range.start);
        let end = self.boundary(change.range.end).max(start);
        let chars = self.rope.byte_to_char(start)..self.rope.byte_to_char(end);
        self.rope.remove(chars.clone());
        self.rope.insert(chars.start, &change.text);
        self.recut(start..end, change.text.len());
    }

    /// The text as changes would make it; they come in its order and touch no byte twice.
    pub fn text_with(&self, changes: &[Change]) -> String {
        let mut text = String::with_capacity(self.rope.len_bytes());
        let mut at = 0;
        for change in changes {
            let start = self.boundary(change.range.start).max(at);
            text.extend(self.rope.byte_slice(at..start).chunks());
            text.push_str(&change.text);
            at = self.boundary(change.range.end).max(start);
        }
        text.extend(self.rope.byte_slice(at..).chunks());
        text
    }

    fn boundary(&self, byte: usize) -> usize {
        let byte = byte.min(self.rope.len_bytes());
        self.rope.char_to_byte(self.rope.byte_to_char(byte))
    }

    /// Cuts anew from the block before the change until a cut falls where one fell before.
    fn recut(&mut self, old: Range<usize>, inserted: usize) {
        let shift = |at: usize| at + inserted - (old.end - old.start);
        let mut starts: Vec<usize> = self.blocks().map(|(start, _)| start).collect();
        let total = self.blocks.iter().map(|block| block.text.len()).sum();
        starts.push(total);
        // One block back as well: the change may join the two.
        let first = starts.partition_point(|&start| start <= old.start).saturating_sub(2);
        // The first old cut that lies after everything that changed.
        let mut rejoin = starts.partition_point(|&start| start <= old.end).min(starts.len() - 1);
        let from = starts[first];
        let defaults = Arc::new(Defaults::default());
        let fresh = loop {
            let text = self.rope.byte_slice(from..shift(starts[rejoin])).to_string();
            let fresh = cut(&text, from == 0, &defaults);
            // The last block may go on beyond what was looked at: look at one block more, and see it end.
            let settled = rejoin == starts.len() - 1 || {
                let next = self.rope.byte_slice(from..shift(starts[rejoin + 1])).to_string();
                let longer = cut(&next, from == 0, &defaults);
                longer.len() > fresh.len()
                    && longer[..fresh.len()].iter().zip(&fresh).all(|(a, b)| a.text == b.text)
                    && longer[fresh.len()].text == self.blocks[rejoin].text
                    && longer[fresh.len()].kind == self.blocks[rejoin].kind
            };
            if settled {
                break fresh;
            }
            rejoin += 1;
        };
        self.blocks.splice(first..rejoin, fresh);
        self.share_header();
    }

    /// Gives every block the defaults of the file header, and forgets what was read under others.
    fn share_header(&mut self) {
        let defaults = match self.blocks.first() {
            Some(top) => Arc::new(Defaults::of_file(top.kind, &top.text, &self.includes)),
            None => return,
        };
        let known =
            self.blocks.iter().skip(1).map(|block| &block.defaults).find(|d| ***d == *defaults);
        let defaults = known.cloned().unwrap_or(defaults);
        for block in self.blocks.iter_mut().skip(1) {
            if !Arc::ptr_eq(&block.defaults, &defaults) && *block.defaults != *defaults {
                *block = Block::new(block.kind, &block.text, &defaults);
            }
        }
        if let Some(top) = self.blocks.first_mut() {
            let includes = self.includes.clone();
            let heads_file = top.kind == BlockKind::FileHeader;
            let strict = defaults.strict;
            let own = Defaults { strict, heads_file, includes, ..Defaults::default() };
            if *top.defaults != own {
                *top = Block::new(top.kind, &top.text, &Arc::new(own));
            }
        }
    }
}

fn cut(text: &str, top: bool, defaults: &Arc<Defaults>) -> Vec<Arc<Block>> {
    let mut blocks = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let found = first_block(&text[at..], top && at == 0);
        blocks.push(Block::new(found.kind, &text[at..at + found.len], defaults));
        at += found.len;
    }
    blocks
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "M:3/4\n\nX:1\nK:C\nCDE|\n\nwords\n\nX:2\nK:G\nGAB|\n";

    fn shapes(document: &Document) -> Vec<(BlockKind, String, Arc<Defaults>)> {
        let shape = |b: &Arc<Block>| (b.kind, b.text.to_string(), b.defaults.clone());
        document.blocks.iter().map(shape).collect()
    }

    #[test]
    fn any_single_edit_equals_a_fresh_reading() {
        let edits =
            ["", "x", "\n", "\n\n", "X:9\n", "%%begintext\n", "%%endtext\n", "%", "\r", "K:D\n"];
        for start in 0..=TEXT.len() {
            for len in [0, 1, 2, 7] {
                for insert in edits {
                    let range = start..(start + len).min(TEXT.len());
                    let mut document = Document::new(TEXT);
                    document.apply(&Change { range: range.clone(), text: insert.into() });
                    let mut text = TEXT.to_owned();
                    text.replace_range(range.clone(), insert);
                    assert_eq!(document.rope.to_string(), text);
                    let fresh = Document::new(&text);
                    assert_eq!(shapes(&document), shapes(&fresh), "{range:?} → {insert:?}");
                }
            }
        }
    }

    #[test]
    fn changes_make_another_text() {
        let change = |range, text: &str| Change { range, text: text.into() };
        let document = Document::new("aé\nb");
        assert_eq!(document.text_with(&[change(1..3, "x"), change(4..5, "")]), "ax\n");
        assert_eq!(document.text_with(&[change(0..0, "c"), change(9..12, "d")]), "caé\nbd");
        assert_eq!(document.text_with(&[]), "aé\nb");
    }

    #[test]
    fn untouched_blocks_are_kept() {
        let mut document = Document::new(TEXT);
        let before = document.blocks[1].clone();
        document.apply(&Change { range: TEXT.len() - 2..TEXT.len() - 2, text: "c".into() });
        assert!(Arc::ptr_eq(&before, &document.blocks[1]));
    }

    #[test]
    fn the_file_header_reaches_every_tune() {
        let mut document = Document::new(TEXT);
        assert!(document.blocks[1].defaults.metre.is_some());
        document.apply(&Change { range: 0..6, text: String::new() });
        assert!(document.blocks.iter().all(|block| block.defaults.metre.is_none()));
    }

    #[test]
    fn ranges_outside_are_drawn_in() {
        let mut document = Document::new("É");
        document.apply(&Change { range: 1..900, text: "a".into() });
        assert_eq!(document.rope.to_string(), "a");
    }
}
