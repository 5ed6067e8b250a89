//! What is kept with a sound and does not count where sounds are compared.

use std::cmp::Ordering;
use std::hash::{Hash, Hasher};

/// Equal to any other.
#[derive(Clone, Copy)]
pub(in crate::drafts) struct Unseen<T>(pub(in crate::drafts) T);

impl<T> PartialEq for Unseen<T> {
    fn eq(&self, _: &Unseen<T>) -> bool {
        true
    }
}

impl<T> Eq for Unseen<T> {}

impl<T> Ord for Unseen<T> {
    fn cmp(&self, _: &Unseen<T>) -> Ordering {
        Ordering::Equal
    }
}

impl<T> PartialOrd for Unseen<T> {
    fn partial_cmp(&self, other: &Unseen<T>) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Hash for Unseen<T> {
    fn hash<H: Hasher>(&self, _: &mut H) {}
}
