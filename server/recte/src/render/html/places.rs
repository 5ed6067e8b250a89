//! Where on a page each remark is told, so that it can be led to.

use super::Page;
use recte_assist::report::{Fate, Remark};

impl Page<'_> {
    /// The id of a remark's place, the first time it is told.
    pub(super) fn settle_place(&mut self, remark: &Remark) -> Option<String> {
        let at = self.index_of(remark)?;
        self.places.insert(at).then(|| id(at))
    }

    /// The id of the place where a remark is told, once it is.
    pub(super) fn place_of(&self, remark: &Remark) -> Option<String> {
        self.index_of(remark).filter(|at| self.places.contains(at)).map(id)
    }

    fn index_of(&self, remark: &Remark) -> Option<usize> {
        self.report.remarks.iter().position(|one| std::ptr::eq(one, remark))
    }
}

fn id(at: usize) -> String {
    format!("remark-{}", at + 1)
}

/// " · stands since the last draft": what became of a remark, after what else is said of its kind.
pub(super) fn fate(remark: &Remark) -> &'static str {
    match remark.since {
        Some(Fate::Stands) => " · stands since the last draft",
        Some(Fate::New) => " · new since the last draft",
        None => "",
    }
}
