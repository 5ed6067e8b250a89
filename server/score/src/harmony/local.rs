//! Cadences and degrees agree: the two chords of a cadence in another key are told in that key.

use super::cadences::cadences;
use super::degree::degree;
use super::keys::Local;
use super::{Harmony, Made};
use crate::tune::Tune;
use recte_theory::Key;
use recte_theory::key::Mode;

/// The harmonies, with the goal of each cadence and what leads to it in the cadence's key.
pub(super) fn agreed(tune: &Tune, made: Vec<Made>) -> Vec<Harmony> {
    let (mut harmonies, heard): (Vec<Harmony>, Vec<_>) = made.into_iter().unzip();
    for cadence in cadences(tune, &harmonies) {
        let own = harmonies[cadence.harmony].chord.as_ref();
        if own.is_none_or(|own| own.key == cadence.key) {
            continue;
        }
        let Some(local) = Local::of_key(&cadence.key) else { continue };
        let mut next = heard[cadence.harmony + 1..].iter().flatten().next().copied();
        let mut roots = 0;
        let mut last = None;
        for at in (0..=cadence.harmony).rev() {
            let (Some(heading), Some(chord)) = (&mut harmonies[at].chord, heard[at]) else {
                continue;
            };
            if last.replace(chord.root) != Some(chord.root) {
                roots += 1;
            }
            if roots > 2 {
                break;
            }
            heading.key = cadence.key;
            heading.degree = degree(chord, &heading.chord, local, next);
            next = Some(chord);
        }
    }
    harmonies
}

impl Local {
    /// A major or minor key.
    fn of_key(key: &Key) -> Option<Local> {
        Some(Local { tonic: key.tonic?.fifths(), minor: key.mode == Mode::Minor })
    }
}
