//! Which notes would read better by another name: the typed names are changed step by step, each step for a gain
//! of its own, the greatest first.

use super::figure::{Clear, Figures};
use recte_score::spelling::Speller;
use recte_theory::PitchName;
use std::collections::{BTreeMap, BTreeSet};

/// What a change must save, in the speller's costs, to be spoken of …
const WORTH_A_WORD: i32 = 64;
/// … where it shows a chord that the typed names hide …
const SHOWS_A_CHORD: i32 = 10;
/// … where it goes with another in the same bar of its line …
const GOES_WITH_ANOTHER: i32 = 20;
/// … and, for each name, where it takes notes from a chord that the typed names show …
const LEAVES_A_CHORD: i32 = 102;
/// … more if that is a major or minor triad …
const LEAVES_A_TRIAD: i32 = 100;
/// … or if the same sound stands beside it under the other name: it was meant so.
const BESIDE_ITSELF: i32 = 75;
/// Where the typed name goes on by the half step that it promises: a sharp up, a flat down.
const GOES_ON: i32 = 120;
/// What each further name to change takes off.
const ANOTHER_NAME: i32 = 40;
/// What showing a chord adds, where several changes would do.
const BETTER_A_CHORD: i32 = 60;
/// What each further note of the bar takes off there that has the name to change.
const ANOTHER_NOTE: i32 = 5;

/// Sounds and the names to give them, in time.
type Change = Vec<(usize, PitchName)>;

/// The names that read better than the typed ones; the typed names where nothing is worth a word.
pub(super) fn better(speller: &Speller, figures: &Figures<'_>) -> Vec<PitchName> {
    let (typed, best) = (speller.typed(), speller.best());
    let (names, tried) = (typed.clone(), typed.clone());
    let mut search = Search { speller, figures, typed, names, tried, best };
    // A note may read better only once its neighbours do.
    while search.round() {}
    search.names
}

/// The sounds whose names differ, by bar and by how far.
pub(super) fn moved(
    speller: &Speller,
    from: &[PitchName],
    to: &[PitchName],
) -> BTreeMap<(u32, i32), Vec<usize>> {
    let mut groups: BTreeMap<(u32, i32), Vec<usize>> = BTreeMap::new();
    for (at, (from, to)) in from.iter().zip(to).enumerate().filter(|(_, (from, to))| from != to) {
        let moved = to.fifths() - from.fifths();
        groups.entry((speller.sounds()[at].bar, moved)).or_default().push(at);
    }
    groups
}

struct Search<'a> {
    speller: &'a Speller,
    figures: &'a Figures<'a>,
    typed: Vec<PitchName>,
    /// The names so far …
    names: Vec<PitchName>,
    /// … and a second copy, in which a change is tried and taken back.
    tried: Vec<PitchName>,
    best: Vec<PitchName>,
}

impl Search<'_> {
    /// Makes every change that is worth a word, and says whether there was one.
    fn round(&mut self) -> bool {
        let changes = self.changes();
        let mut worth: Vec<(i32, Change)> =
            changes.into_iter().filter_map(|change| Some((self.worth(&change)?, change))).collect();
        worth.sort_by_key(|(worth, _)| -worth);
        worth.iter().fold(false, |took, (_, change)| {
            let takes = self.worth(change).is_some();
            if takes {
                for &(at, name) in change {
                    (self.names[at], self.tried[at]) = (name, name);
                }
            }
            took || takes
        })
    }

    /// The changes to try: the other names of each note outside its signature (a name that the signature has is
    /// seldom wrong alone), and all that the speller would change in a bar.
    fn changes(&self) -> Vec<Change> {
        let sounds = self.speller.sounds();
        let outside = (0..sounds.len()).filter(|&at| !sounds[at].in_signature(self.names[at]));
        let alone = outside.flat_map(|at| {
            let other = |fifths| PitchName::from_fifths(self.names[at].fifths() + fifths);
            [vec![(at, other(-12))], vec![(at, other(12))]]
        });
        let bars = moved(self.speller, &self.names, &self.best).into_values();
        let together = bars.map(|bar| bar.into_iter().map(|at| (at, self.best[at])).collect());
        alone.chain(together).collect()
    }

    /// How much better a change reads, for each of its notes, if that is worth a word.
    fn worth(&mut self, change: &Change) -> Option<i32> {
        let sounds: Vec<usize> = change.iter().map(|&(at, _)| at).collect();
        let changed: BTreeSet<PitchName> = sounds.iter().map(|&at| self.names[at]).collect();
        let names = changed.len() as i32;
        change.iter().for_each(|&(at, name)| self.tried[at] = name);
        let cost = |names| self.speller.cost(&sounds, names);
        let gain = cost(&self.names) - cost(&self.tried) - ANOTHER_NAME * (names - 1);
        let shows = gain >= SHOWS_A_CHORD
            && self.figures.shown(self.speller, &sounds, &self.names, &self.tried).is_some();
        sounds.iter().for_each(|&at| self.tried[at] = self.names[at]);
        if gain < SHOWS_A_CHORD {
            return None;
        }
        if sounds.iter().any(|&at| self.is_set_by_pedals(at)) {
            return None;
        }
        let meant = sounds.iter().any(|&at| self.is_beside_itself(at));
        let asked = match self.figures.clear(self.speller, &sounds, &self.names) {
            Some(clear) => {
                LEAVES_A_CHORD * names
                    + LEAVES_A_TRIAD * i32::from(clear == Clear::Triad)
                    + BESIDE_ITSELF * i32::from(meant)
            }
            None if self.goes_with_another(change) => GOES_WITH_ANOTHER,
            None if sounds.iter().all(|&at| self.goes_on(at)) => GOES_ON,
            None if shows => SHOWS_A_CHORD,
            None => WORTH_A_WORD,
        };
        let notes = change.len() as i32;
        let better = (gain + BETTER_A_CHORD * i32::from(shows)) / notes;
        (gain >= asked).then_some(better - ANOTHER_NOTE * self.alike(change))
    }

    /// How many notes of the bar have a name to change, beyond the first.
    fn alike(&self, change: &Change) -> i32 {
        let sounds = self.speller.sounds();
        let in_bar =
            |other: usize| change.iter().any(|&(at, _)| sounds[at].bar == sounds[other].bar);
        let named =
            |other: usize| change.iter().any(|&(at, _)| self.names[at] == self.names[other]);
        let around =
            change.iter().flat_map(|&(at, _)| self.speller.near(at)).collect::<BTreeSet<_>>();
        around.into_iter().filter(|&other| in_bar(other) && named(other)).count() as i32 - 1
    }

    /// Whether a change goes with one already made in the same bar of the same line, the same way.
    fn goes_with_another(&self, change: &Change) -> bool {
        let sounds = self.speller.sounds();
        change.iter().all(|&(at, name)| {
            let way = name.fifths() - self.names[at].fifths();
            let mut near = self.speller.near(at).filter(|&other| {
                sounds[other].bar == sounds[at].bar && sounds[other].same_line(&sounds[at])
            });
            near.any(|other| self.names[other].fifths() - self.typed[other].fifths() == way)
        })
    }

    /// Whether a sound stands in a harp's bar with two strings for one sound: all strings are set for that.
    fn is_set_by_pedals(&self, at: usize) -> bool {
        let sounds = self.speller.sounds();
        let own = &sounds[at];
        let mut bar = self.speller.near(at).filter(|&other| sounds[other].bar == own.bar);
        self.figures.on_harp(own)
            && bar.any(|other| sounds[other].same_line(own) && self.is_beside_itself(other))
    }

    /// Whether a note goes on by a half step to the next letter, outside its signature: a leading note, a neighbour.
    fn goes_on(&self, at: usize) -> bool {
        let sounds = self.speller.sounds();
        let own = &sounds[at];
        let way = if self.names[at].alter > 0 { 1 } else { -1 };
        self.names[at].alter != 0
            && self.speller.beside(at).any(|next| {
                sounds[next].follows(own)
                    && sounds[next].midi() - own.midi() == way
                    && self.names[next].fifths() - self.names[at].fifths() == -5 * way
            })
    }

    /// Whether the note before or after in its line is the same sound under another name.
    fn is_beside_itself(&self, at: usize) -> bool {
        let sounds = self.speller.sounds();
        self.speller.beside(at).any(|other| {
            sounds[other].midi() == sounds[at].midi() && self.names[other] != self.names[at]
        })
    }
}
