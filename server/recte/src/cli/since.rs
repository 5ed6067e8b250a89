//! The last draft of each score that is reported on.

use super::pairs::{Named, name_in, named};
use crate::files::{Input, complain};
use crate::score::{self, Score};
use recte_assist::report::LastDraft;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The last drafts of some scores.
pub(super) struct LastDrafts {
    /// What was named as the last draft.
    named: String,
    scores: Scores,
}

enum Scores {
    /// One score alone.
    One(Input),
    /// A folder: the scores in it by name, and the paths within which the new ones have theirs.
    Folder(Named, Vec<PathBuf>),
}

/// A last draft that was read.
pub(super) struct Read {
    name: String,
    score: Option<Score>,
    /// Whether it is there and could not be read.
    pub(super) failed: bool,
}

impl LastDrafts {
    /// The drafts at a path, for scores that were found under some others; and how many folders could not be read. The error
    /// is a sentence.
    pub(super) fn at(
        old: &Path,
        paths: &[PathBuf],
        scores: usize,
    ) -> Result<(LastDrafts, usize), String> {
        let named_as = old.display().to_string();
        if old.is_dir() {
            let (scores, failed) = named(old);
            let scores = Scores::Folder(scores, paths.to_vec());
            return Ok((LastDrafts { named: named_as, scores }, failed));
        }
        if scores > 1 || paths.iter().any(|path| path.is_dir()) {
            return Err(format!(
                "{named_as} is one score; for the last drafts of several, name the folder that has them."
            ));
        }
        let standard = old.as_os_str() == "-";
        if standard && paths.iter().any(|path| path.as_os_str() == "-") {
            return Err("Only one of the two drafts can come in by standard input.".to_owned());
        }
        let one = if standard { Input::Standard } else { Input::File(old.to_path_buf()) };
        Ok((LastDrafts { named: named_as, scores: Scores::One(one) }, 0))
    }

    /// Reads the last draft of a score; what cannot be read is complained of.
    pub(super) fn of(&self, input: &Input) -> Read {
        let Some(found) = self.found(input) else {
            return Read { name: self.named.clone(), score: None, failed: false };
        };
        let name = found.name();
        match score::read(found) {
            Ok(score) => Read { name, score: Some(score), failed: false },
            Err(why) => {
                complain(&why);
                Read { name, score: None, failed: true }
            }
        }
    }

    /// The scores that no new one takes the place of.
    pub(super) fn gone<'i>(&self, inputs: impl Iterator<Item = &'i Input>) -> Vec<String> {
        let Scores::Folder(named, paths) = &self.scores else { return Vec::new() };
        // Who asks for single scores does not ask for the others.
        if !paths.iter().any(|path| path.is_dir()) {
            return Vec::new();
        }
        let taken: BTreeSet<String> =
            inputs.filter_map(|input| self.found(input)).map(Input::name).collect();
        named.values().map(Input::name).filter(|name| !taken.contains(name)).collect()
    }

    /// The score of the same name, else one that differs in its ending alone.
    fn found(&self, input: &Input) -> Option<&Input> {
        let (named, paths) = match &self.scores {
            Scores::One(one) => return Some(one),
            Scores::Folder(named, paths) => (named, paths),
        };
        let within = paths.iter().filter(|path| path.is_dir() && input.path().starts_with(path));
        let name = match within.max_by_key(|path| path.components().count()) {
            Some(folder) => name_in(folder, input),
            None => PathBuf::from(input.path().file_name()?),
        };
        let stem = name.with_extension("");
        let alike = || named.iter().find(|(other, _)| other.with_extension("") == stem);
        named.get(&name).or_else(|| alike().map(|(_, input)| input))
    }
}

impl Read {
    pub(super) fn draft(&self) -> LastDraft<'_> {
        LastDraft {
            name: &self.name,
            document: self.score.as_ref().map(|score| &score.document),
            bars: self.score.as_ref().and_then(|score| score.bars.as_deref()),
        }
    }
}
