//! The host owns the open documents; a snapshot is what a request sees, and nothing changes it.
//!
//! Findings come from [`check`] alone, for the server as for the command line.

use crate::respell::{Names, best};
use rayon::prelude::*;
use recte_notation::{Block, BlockKind, Change, Document};
use recte_review::{
    Around, Checked, Config, Context, Finding, Fix, Severity, check_block, unused_message,
};
use recte_score::Tune;
use std::collections::{BTreeSet, HashMap};
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, PoisonError};

/// From so many blocks on, they are checked side by side.
const MANY: usize = 8;

/// The open documents, by a name of the caller's choosing.
#[derive(Default)]
pub struct Host {
    open: HashMap<String, Snapshot>,
}

/// A document at one moment, with the settings that hold for it. Cloning is cheap.
#[derive(Clone)]
pub struct Snapshot {
    /// The text and its reading.
    pub document: Document,
    /// The version the client gave it.
    pub version: i32,
    /// The settings.
    pub config: Arc<Config>,
    memo: Arc<Mutex<Memo>>,
}

/// What the last check of a document found, block by block, and of the tune that was asked for last the best
/// names, and itself without the symbol that is half typed. It holds one of each and no more.
#[derive(Default)]
struct Memo {
    blocks: Vec<Known>,
    names: Option<(Arc<Block>, Arc<Names>)>,
    mended: Option<Arc<Block>>,
}

impl Host {
    /// Opens a document, or replaces one that is open.
    pub fn open(&mut self, name: &str, version: i32, document: Document, config: Arc<Config>) {
        let snapshot = Snapshot { version, ..Snapshot::new(document, config) };
        self.open.insert(name.to_owned(), snapshot);
    }

    /// Closes a document and forgets all that was worked out for it.
    pub fn close(&mut self, name: &str) {
        self.open.remove(name);
    }

    /// Edits a document. The closure gets the document; the version holds from then on.
    pub fn edit(&mut self, name: &str, version: i32, edit: impl FnOnce(&mut Document)) -> bool {
        let Some(snapshot) = self.open.get_mut(name) else { return false };
        edit(&mut snapshot.document);
        snapshot.version = version;
        true
    }

    /// Changes what stands around a document, not its text.
    pub fn around(&mut self, name: &str, change: impl FnOnce(&mut Document)) {
        if let Some(snapshot) = self.open.get_mut(name) {
            change(&mut snapshot.document);
        }
    }

    /// Gives a document other settings. What was found under the old ones is forgotten.
    pub fn configure(&mut self, name: &str, config: Arc<Config>) {
        if let Some(snapshot) = self.open.get_mut(name)
            && *snapshot.config != *config
        {
            snapshot.config = config;
            snapshot.memo = Arc::default();
        }
    }

    /// A document as it is now.
    pub fn snapshot(&self, name: &str) -> Option<Snapshot> {
        self.open.get(name).cloned()
    }

    /// The version of a document.
    pub fn version(&self, name: &str) -> Option<i32> {
        self.open.get(name).map(|snapshot| snapshot.version)
    }

    /// The names of the open documents.
    pub fn names(&self) -> Vec<String> {
        self.open.keys().cloned().collect()
    }
}

impl Snapshot {
    /// A document by itself, as the command line has it.
    pub fn new(document: Document, config: Arc<Config>) -> Snapshot {
        Snapshot { document, version: 0, config, memo: Arc::default() }
    }

    /// The best names for the notes of one of its tunes; the cursor may move, and they need not be found again.
    pub(crate) fn best_names(&self, block: &Arc<Block>) -> Arc<Names> {
        let memo = || self.memo.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((known, names)) = &memo().names
            && Arc::ptr_eq(known, block)
        {
            return names.clone();
        }
        let names = Arc::new(best(&block.lowered().tune));
        memo().names = Some((block.clone(), names.clone()));
        names
    }
}

impl Snapshot {
    /// The block last asked for under this text, else this one; what is known of it is kept with it.
    pub(crate) fn mended(&self, block: &Arc<Block>) -> Arc<Block> {
        let mut memo = self.memo.lock().unwrap_or_else(PoisonError::into_inner);
        match &memo.mended {
            Some(known) if known.reads_like(block) => known.clone(),
            _ => {
                memo.mended = Some(block.clone());
                block.clone()
            }
        }
    }
}

/// A finding and the block it was made in.
#[derive(Clone, Debug)]
pub struct Located {
    /// Where the block begins in the document, in bytes.
    pub start: usize,
    /// The block.
    pub block: Arc<Block>,
    /// What stands around it.
    pub(crate) around: Arc<Around>,
    checked: Arc<Checked>,
    index: usize,
}

impl Located {
    /// The finding; its spans count from the block's beginning.
    pub fn finding(&self) -> &Finding {
        &self.checked.findings[self.index]
    }

    /// Which one it is, among those of a snapshot.
    pub(crate) fn key(&self) -> (usize, usize) {
        (self.start, self.index)
    }

    /// The tune it speaks of.
    pub fn tune(&self) -> &Tune {
        &self.block.lowered().tune
    }

    /// Where it is, in bytes of the document.
    pub fn range(&self) -> Range<usize> {
        let span = self.finding().span;
        self.start + span.start as usize..self.start + span.end as usize
    }

    /// A fix's edits, in bytes of the document.
    pub fn changes(&self, fix: &Fix) -> Vec<Change> {
        fix.edits.iter().map(|edit| edit.change(self.start)).collect()
    }
}

/// Everything there is to say of a document, in the order of the text.
///
/// Blocks that stand as they stood at the last check of this document are not checked again.
pub fn check(snapshot: &Snapshot) -> Vec<Located> {
    let checked = check_blocks(snapshot);
    let header = unused_in_header(snapshot, &checked);
    let starts = snapshot.document.blocks().map(|(start, _)| start);
    let mut all = Vec::new();
    for (index, (start, ((block, around), checked))) in starts.zip(&checked).enumerate() {
        let checked = if index == 0 { header.as_ref().unwrap_or(checked) } else { checked };
        all.extend((0..checked.findings.len()).map(|index| Located {
            start,
            block: block.clone(),
            around: around.clone(),
            checked: checked.clone(),
            index,
        }));
    }
    all
}

/// A block and what stands around it.
type Placed = (Arc<Block>, Arc<Around>);

/// A block in its place, and what was found in it.
type Known = (Placed, Arc<Checked>);

fn check_blocks(snapshot: &Snapshot) -> Vec<Known> {
    let blocks = snapshot.document.blocks().map(|(_, block)| block.clone());
    let blocks: Vec<Placed> = blocks.zip(Around::of(&snapshot.document)).collect();
    let old = {
        let memo = snapshot.memo.lock().unwrap_or_else(PoisonError::into_inner);
        memo.blocks.clone()
    };
    let same = |((old, _), new): &(&Known, &Placed)| Arc::ptr_eq(&old.0, &new.0) && old.1 == new.1;
    let head = old.iter().zip(&blocks).take_while(same).count();
    let (old_rest, rest) = (&old[head..], &blocks[head..]);
    let tail = old_rest.iter().rev().zip(rest.iter().rev()).take_while(same).count();
    let touched = &rest[..rest.len() - tail];
    let fresh_one =
        |(block, around): &Placed| Arc::new(check_safely(block, &snapshot.config, around));
    let fresh: Vec<Arc<Checked>> = if touched.len() < MANY {
        touched.iter().map(fresh_one).collect()
    } else {
        touched.par_iter().map(fresh_one).collect()
    };
    let kept = |list: &[Known]| list.iter().map(|(_, checked)| checked.clone()).collect();
    let all: [Vec<_>; 3] = [kept(&old[..head]), fresh, kept(&old[old.len() - tail..])];
    let known: Vec<Known> = blocks.into_iter().zip(all.into_iter().flatten()).collect();
    let mut memo = snapshot.memo.lock().unwrap_or_else(PoisonError::into_inner);
    memo.blocks.clone_from(&known);
    known
}

/// Checks a block; should a rule stumble, the other tunes keep their remarks.
fn check_safely(block: &Block, config: &Config, around: &Around) -> Checked {
    let run = AssertUnwindSafe(|| check_block(block, config, around));
    catch_unwind(run).unwrap_or_else(|_| {
        let message = "This tune could not be checked to its end; its other remarks are missing.";
        let end = block.text.lines().next().map_or(0, str::len);
        let finding = Finding {
            rule: "unfinished",
            severity: Severity::Info,
            span: recte_score::Span::new(0, end),
            message: message.to_owned(),
            related: Vec::new(),
            fixes: Vec::new(),
            voice: None,
            bar: None,
            to_bar: None,
            offset: Default::default(),
        };
        Checked { findings: vec![finding], ..Checked::default() }
    })
}

/// The file header's own remarks, and acceptances that no tune needs.
fn unused_in_header(snapshot: &Snapshot, known: &[Known]) -> Option<Arc<Checked>> {
    let ((header, around), own) = known.first()?;
    if header.kind != BlockKind::FileHeader {
        return None;
    }
    let checked = known.iter().map(|(_, checked)| checked);
    let used: BTreeSet<&str> =
        checked.flat_map(|checked| checked.file_accepts_used.iter().copied()).collect();
    let context = Context::new(header, &snapshot.config, around);
    let mut findings = own.findings.clone();
    for accept in &context.tune.accepts {
        for rule in accept.rules.iter().filter(|rule| !used.contains(rule.as_str())) {
            let at = context.at(accept.span, unused_message(rule));
            findings.push(Finding { rule: "accept", severity: Severity::Hint, ..at });
        }
    }
    Some(Arc::new(Checked { findings, ..Checked::default() }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn snapshot(text: &str) -> Snapshot {
        Snapshot::new(Document::new(text), Arc::default())
    }

    fn said(snapshot: &Snapshot) -> Vec<(usize, &'static str)> {
        check(snapshot).iter().map(|one| (one.range().start, one.finding().rule)).collect()
    }

    #[test]
    fn the_head_of_a_file_is_read_too() {
        let text = "%abc-2.1\nM:five\n%%recte accept outdated\n\nX:1\nT:a\nK:C\nC8|]\n";
        let found = said(&snapshot(text));
        assert_eq!(found, [(9, "unreadable"), (16, "accept")]);
        let accepted = text.replace("outdated", "unreadable");
        assert_eq!(said(&snapshot(&accepted)), []);
    }

    #[test]
    fn places_count_from_the_beginning_of_the_document() {
        assert_eq!(said(&snapshot("X:1\nK:C\nCD|\n\nX:2\nK:C\nC}|\n")), [(22, "unreadable")]);
    }

    #[test]
    fn the_file_header_accepts_for_every_tune_and_says_when_it_need_not() {
        let tunes = "X:1\nK:C\nC}|\n\nX:2\nK:C\nC}|\n";
        assert_eq!(said(&snapshot(tunes)).len(), 2);
        assert_eq!(said(&snapshot(&format!("%%recte accept unreadable\n\n{tunes}"))), []);
        let needless = said(&snapshot("%%recte accept unreadable\n\nX:1\nK:C\nC|\n"));
        assert_eq!(needless, [(0, "accept")]);
    }

    #[test]
    fn an_edit_costs_its_own_tune_and_equals_a_fresh_check() {
        let tunes = [(1, "C}|"), (2, "C}|"), (3, "CD|"), (4, "}C|")];
        let text = tunes.map(|(x, music)| format!("X:{x}\nK:C\n{music}\n")).join("\n");
        let at = text.find("D|").unwrap();
        let mut host = Host::default();
        host.open("a", 1, Document::new(&text), Arc::default());
        let first = check(&host.snapshot("a").unwrap());
        host.edit("a", 2, |document| document.apply(&Change { range: at..at, text: "}".into() }));
        let now = host.snapshot("a").unwrap();
        let second = check(&now);
        assert!(Arc::ptr_eq(&first[0].checked, &second[0].checked));
        assert_eq!((first.len(), second.len()), (3, 4));
        assert!(Arc::ptr_eq(&first[2].checked, &second[3].checked));
        assert_eq!(said(&now), said(&snapshot(&now.document.rope().to_string())));
    }

    #[test]
    fn other_settings_are_heard_at_once() {
        let mut host = Host::default();
        host.open("a", 1, Document::new("X:1\nK:C\nC}|\n"), Arc::default());
        assert_eq!(check(&host.snapshot("a").unwrap()).len(), 1);
        let mut config = Config::default();
        config.rules.insert("unreadable".into(), recte_review::RuleSetting::Off);
        host.configure("a", Arc::new(config));
        assert_eq!(check(&host.snapshot("a").unwrap()).len(), 0);
    }
}
