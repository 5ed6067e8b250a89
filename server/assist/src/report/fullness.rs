//! How many remarks are told with their bars, so that a page stays a page.

use super::remarks::Remark;
use std::collections::HashMap;

/// Of one rule so many remarks are told with their bars.
const IN_FULL: usize = 10;
/// In one chapter so many.
const MOST_IN_FULL: usize = 60;
/// Of each remark so many proposals are shown.
pub const PROPOSALS: usize = 2;

/// Counts what is told in full.
#[derive(Default)]
pub struct Fullness {
    by_rule: HashMap<&'static str, usize>,
    all: usize,
}

impl Fullness {
    /// Whether a remark, the next in its chapter, is still told in full.
    pub fn takes(&mut self, remark: &Remark) -> bool {
        let own = self.by_rule.entry(remark.rule).or_default();
        *own += 1;
        let takes = *own <= IN_FULL && self.all < MOST_IN_FULL;
        self.all += usize::from(takes);
        takes
    }
}
