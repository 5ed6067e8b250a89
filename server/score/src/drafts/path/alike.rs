//! How much of a bar is kept.

use crate::drafts::prints::{Bar, Print, Sound};

/// Of the voices that are not the same in two bars, about so many are looked at, evenly spread over the score.
const LOOKS: usize = 6;

/// Thousandths of the sounds of two bars that are in both, all voices together. A sound that has its moment and its length
/// and another pitch counts for half.
pub(super) fn bars(old: &Bar, new: &Bar) -> u32 {
    // A bar of rests counts for a sound, so that resting voices hold bars together.
    let weight = |(a, b): (&Print, &Print)| a.sounds.len().max(b.sounds.len()).max(1);
    let pairs = || old.voices.iter().zip(&new.voices);
    let differing = || pairs().filter(|(a, b)| a.sound != b.sound);
    let (mut all, mut other, mut count) = (0, 0, 0_usize);
    for (a, b) in pairs() {
        let weight = weight((a, b));
        all += weight;
        if a.sound != b.sound {
            other += weight;
            count += 1;
        }
    }
    let (mut kept, mut seen) = (0, 0);
    for (a, b) in differing().step_by(count.div_ceil(LOOKS).max(1)) {
        kept += voice(a, b);
        seen += 2 * weight((a, b));
    }
    let kept = (2 * kept * other).checked_div(seen).unwrap_or(0);
    (1000 * (2 * (all - other) + kept)).checked_div(2 * all).unwrap_or(1000) as u32
}

/// Two for every sound in both, one for every other pitch.
fn voice(a: &Print, b: &Print) -> usize {
    let key = |sound: &Sound| (sound.onset, sound.length);
    let (mut a, mut b) = (&a.sounds[..], &b.sounds[..]);
    let mut kept = 0;
    while let (Some(x), Some(y)) = (a.first(), b.first()) {
        let end = |all: &[Sound], at| all.iter().take_while(|sound| key(sound) == at).count();
        match key(x).cmp(&key(y)) {
            std::cmp::Ordering::Less => a = &a[1..],
            std::cmp::Ordering::Greater => b = &b[1..],
            std::cmp::Ordering::Equal => {
                let ends = (end(a, key(x)), end(b, key(y)));
                let (here, there) = (&a[..ends.0], &b[..ends.1]);
                let same = here.iter().filter(|sound| there.contains(sound)).count();
                kept += same + ends.0.min(ends.1);
                (a, b) = (&a[ends.0..], &b[ends.1..]);
            }
        }
    }
    kept
}
