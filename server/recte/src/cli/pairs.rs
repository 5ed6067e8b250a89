//! Which score of one draft is which of another, by the names of their files.

use crate::files::{Input, SCORES, complain, gather};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Scores of both drafts that belong together; one of them may be missing.
pub(super) type Pair = (Option<Input>, Option<Input>);

/// Scores of two folders in pairs, and how many folders could not be read.
pub(super) fn in_folders(old: &Path, new: &Path) -> (Vec<Pair>, usize) {
    let (before, failed) = named(old);
    let (after, more) = named(new);
    (paired(before, after), failed + more)
}

/// Scores by their names within a folder.
pub(super) type Named = BTreeMap<PathBuf, Input>;

/// The scores of a folder, by their names in it; and how many folders could not be read.
pub(super) fn named(folder: &Path) -> (Named, usize) {
    let (inputs, unreadable) = gather(&[folder.to_path_buf()], SCORES);
    unreadable.iter().for_each(|why| complain(why));
    let name = |input: Input| (name_in(folder, &input), input);
    (inputs.into_iter().map(name).collect(), unreadable.len())
}

/// What a score is called within a folder.
pub(super) fn name_in(folder: &Path, input: &Input) -> PathBuf {
    let path = input.path();
    path.strip_prefix(folder).unwrap_or(path).to_path_buf()
}

/// Scores of the same name; then those whose names differ in their ending alone.
pub(super) fn paired(mut before: Named, mut after: Named) -> Vec<Pair> {
    let mut pairs: BTreeMap<PathBuf, Pair> = BTreeMap::new();
    let names: Vec<PathBuf> = after.keys().cloned().collect();
    for name in &names {
        if let Some(old) = before.remove(name) {
            pairs.insert(name.clone(), (Some(old), after.remove(name)));
        }
    }
    for name in &names {
        let stem = name.with_extension("");
        let known = before.keys().find(|other| other.with_extension("") == stem).cloned();
        if let Some(known) = known.filter(|_| after.contains_key(name)) {
            pairs.insert(name.clone(), (before.remove(&known), after.remove(name)));
        }
    }
    pairs.extend(after.into_iter().map(|(name, new)| (name, (None, Some(new)))));
    let gone = before.into_values().map(|old| (Some(old), None));
    pairs.into_values().chain(gone).collect()
}
