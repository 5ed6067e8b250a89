//! Where the music of inserted and deleted bars is in the other draft.

use super::costs::SHOWS_TRANSPOSITION;
use super::group::{name, steps};
use super::prints::{Bar, Sheet};
use super::{Echo, Kind, Stretch};
use std::ops::Range;

/// Finds them; of several places one that sounds the same is taken before one that is transposed, then the nearest in pitch.
pub(super) fn find(old: &Sheet, new: &Sheet, stretches: &mut [Stretch]) {
    for stretch in stretches {
        stretch.echo = match stretch.kind {
            Kind::Inserted => echo(new, &stretch.new, old),
            Kind::Deleted => echo(old, &stretch.old, new),
            _ => None,
        };
    }
}

fn echo(own: &Sheet, range: &Range<u32>, other: &Sheet) -> Option<Echo> {
    let bars = &own.bars[range.start as usize..range.end as usize];
    if bars.iter().map(|bar| bar.pitched).sum::<usize>() < SHOWS_TRANSPOSITION {
        return None;
    }
    let places = other.bars.windows(bars.len()).enumerate();
    let found = places.filter_map(|(at, there)| Some((shift(there, bars)?, at)));
    let (semitones, at) = found.min_by_key(|(by, at)| (by.abs(), *at))?;
    let voices = other.bars[at..at + bars.len()].iter().zip(bars);
    let voices = voices.flat_map(|(a, b)| a.voices.iter().zip(&b.voices));
    let steps = voices.filter(|(a, _)| a.base.is_some()).flat_map(|(a, b)| steps(a, b));
    let bars = at as u32..(at + bars.len()) as u32;
    Some(Echo { bars, by: name(steps, semitones) })
}

/// How many semitones higher all of these bars are, if it is the same everywhere.
fn shift(there: &[Bar], here: &[Bar]) -> Option<i32> {
    let mut by = None;
    for (a, b) in there.iter().zip(here) {
        if a.shape != b.shape {
            return None;
        }
        if let (Some(low), Some(high)) = (a.base, b.base)
            && *by.get_or_insert(high - low) != high - low
        {
            return None;
        }
    }
    by
}
