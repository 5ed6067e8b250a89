//! Which voice of one draft is which of the other: by what they play, by their names, by their ids.

use super::Part;
use crate::sounding::soundings;
use crate::tune::{Tune, Voice};
use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};

/// Turns of melody with how often each occurs.
type Turns = HashMap<u64, u32>;

/// What a voice plays, as turns of two sounds: at their pitches, and at any.
#[derive(Default)]
struct Melody {
    fixed: Turns,
    moved: Turns,
}

/// The voices of two drafts in pairs; then those that only one has.
pub(super) fn paired(old: &Tune, new: &Tune) -> Vec<Part> {
    let (before, after) = (melodies(old), melodies(new));
    let alone = old.voices.len() == 1 && new.voices.len() == 1;
    let mut pairs = Vec::new();
    for (a, voice) in old.voices.iter().enumerate() {
        for (b, other) in new.voices.iter().enumerate() {
            let silent = before[a].fixed.is_empty() && after[b].fixed.is_empty();
            let fixed = if silent { 300 } else { shared(&before[a].fixed, &after[b].fixed) };
            let moved = shared(&before[a].moved, &after[b].moved);
            let name = !voice.name.is_empty() && voice.name == other.name;
            let id = voice.id == other.id;
            let nameless = voice.name.is_empty() || other.name.is_empty();
            if alone || fixed >= 300 || moved >= 600 || name || (id && nameless) {
                let staff = (&voice.clef, voice.transpose) == (&other.clef, other.transpose);
                let named = 600 * u32::from(name) + 300 * u32::from(id) + u32::from(staff);
                let likeness = 2 * fixed + moved + named;
                pairs.push((u32::MAX - likeness, a.abs_diff(b), a, b));
            }
        }
    }
    pairs.sort_unstable();
    let mut partner = vec![None; old.voices.len()];
    let mut taken = vec![false; new.voices.len()];
    for (_, _, a, b) in pairs {
        if partner[a].is_none() && !taken[b] {
            (partner[a], taken[b]) = (Some(b as u32), true);
        }
    }
    let gone_or_kept = partner.into_iter().enumerate().map(|(a, b)| Part {
        old: Some(a as u32),
        new: b,
        renamed: b.is_some_and(|b| renamed(&old.voices[a], &new.voices[b as usize])),
    });
    let added = (0..).zip(&taken).filter(|(_, taken)| !**taken);
    let added = added.map(|(b, _)| Part { old: None, new: Some(b), renamed: false });
    gone_or_kept.chain(added).collect()
}

fn renamed(a: &Voice, b: &Voice) -> bool {
    a.id != b.id || a.name != b.name || a.subname != b.subname
}

/// What a tune plays, all voices together, for asking whether another is a draft of it.
pub struct Music(Turns);

impl Music {
    /// The music of a tune.
    pub fn of(tune: &Tune) -> Music {
        let mut all = Turns::new();
        for (turn, count) in melodies(tune).into_iter().flat_map(|melody| melody.fixed) {
            *all.entry(turn).or_default() += count;
        }
        Music(all)
    }

    /// How much of two tunes is the same music at the same pitch, in thousandths.
    pub fn likeness(&self, other: &Music) -> u32 {
        shared(&self.0, &other.0)
    }
}

fn melodies(tune: &Tune) -> Vec<Melody> {
    let mut melodies: Vec<Melody> = tune.voices.iter().map(|_| Melody::default()).collect();
    let table = soundings(tune);
    for pair in table.windows(2) {
        let [a, b] = pair else { continue };
        if a.voice != b.voice {
            continue;
        }
        let lengths = (a.end - a.onset, b.onset - a.onset, b.end - b.onset);
        let (low, high) = (a.pitch.midi(), b.pitch.midi());
        let melody = &mut melodies[a.voice as usize];
        *melody.fixed.entry(hash(&(lengths, low, high))).or_default() += 1;
        *melody.moved.entry(hash(&(lengths, high - low))).or_default() += 1;
    }
    melodies
}

/// Twice what both have, of all that they have (Dice's coefficient), in thousandths.
fn shared(a: &Turns, b: &Turns) -> u32 {
    let count = |turns: &Turns| turns.values().map(|count| u64::from(*count)).sum::<u64>();
    let both = a.iter().filter_map(|(turn, count)| Some(*count.min(b.get(turn)?)));
    let both: u64 = both.map(u64::from).sum();
    (2000 * both).checked_div(count(a) + count(b)).unwrap_or(0) as u32
}

pub(super) fn hash(value: &impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}
