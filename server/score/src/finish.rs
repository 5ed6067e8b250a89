//! What can only be said of a tune once all its voices are read: the common bars and their numbers.

use crate::tune::{Bar, Tune, TuneBar};
use recte_theory::Time;

/// Aligns the bars of all voices and numbers them: the first full bar is 1, a pickup 0; the parts of a bar
/// that a repeat or double line divides share one number.
pub fn finish(tune: &mut Tune) {
    let count = tune.voices.iter().map(|voice| voice.bars.len()).max().unwrap_or(0);
    let mut bars = Vec::with_capacity(count);
    let (mut start, mut number) = (Time::ZERO, 0);
    let mut open = None; // what a divided bar still lacks
    for index in 0..count {
        let each = || tune.voices.iter().filter_map(|voice| voice.bars.get(index));
        let length = each().map(|bar| bar.length).max().unwrap_or_default();
        let full = each().find_map(|bar| tune.metre(bar).length()).unwrap_or(length);
        let divided = each().any(|bar| bar.strong_line);
        if index == 0 {
            number = i32::from(length >= full);
        } else if open.take() != Some(length) {
            number += 1;
        }
        if divided && length < full && (index > 0 || number > 0) {
            open = Some(full - length);
        }
        bars.push(TuneBar { start, length, number });
        start += length;
    }
    tune.bars = bars;
}

impl Bar {
    /// Whether it has nothing in it yet.
    pub fn is_empty(&self) -> bool {
        self.events.is_empty()
    }
}
