//! What the speller says of a tune: the notes that read better under another name, bar by bar, and the figure
//! each belongs to. The rules of the spelling family only put it into words.

mod figure;
#[cfg(test)]
mod tests;

use figure::Figures;
pub(crate) use figure::Kind;

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use recte_notation::write::{Respelling, tied_together};
use recte_score::spelling::{Evidence, Sound, Speller};
use recte_score::{Event, Note, NoteRef, Tune};
use recte_theory::{Pitch, PitchName};
use std::collections::{BTreeMap, HashMap};

/// What a change must save, in the speller's costs, to be spoken of …
const WORTH_A_WORD: i32 = 64;
/// … and to be taken without asking.
const SURE: i32 = 150;

/// Notes of one bar that read better by another name, all moved the same way.
pub(crate) struct Misspelling {
    /// The sounds, in time.
    pub(crate) sounds: Vec<usize>,
    /// What their new names save, in the speller's costs.
    gain: i32,
    /// What they belong to.
    pub(crate) kind: Kind,
}

/// A tune as the speller reads it.
pub(crate) struct Reading {
    /// The speller.
    speller: Speller,
    /// The names typed, as they sound.
    pub(crate) typed: Vec<PitchName>,
    /// The names that read best, the typed ones taken as evidence.
    pub(crate) better: Vec<PitchName>,
    /// Where the two differ and it matters.
    misspellings: Vec<Misspelling>,
    /// The sounds by the notes they begin with, where there are misspellings to look at.
    places: HashMap<NoteRef, usize>,
}

impl Reading {
    /// Reads a tune; without a typed accidental there is nothing to see.
    pub(crate) fn of(context: &Context<'_>) -> Option<Reading> {
        let typed = |note: &Note| note.accidental.is_some();
        if !context.tune.voices.iter().any(|voice| voice.notes.iter().any(typed)) {
            return None;
        }
        let speller = Speller::new(context.tune, Evidence::Names);
        let typed = speller.typed();
        let better = typed.clone();
        let (misspellings, places) = (Vec::new(), HashMap::new());
        let mut reading = Reading { speller, typed, better, misspellings, places };
        reading.misspellings = reading.compare(context);
        Some(reading)
    }

    /// Where another name is worth a word. The typed names are changed step by step, each step for a gain of its
    /// own: note by note, then what the speller would change in a bar together.
    fn compare(&mut self, context: &Context<'_>) -> Vec<Misspelling> {
        let best = self.speller.best();
        // A name that the signature has is seldom wrong alone.
        let typed = |at: &usize| !self.sound(*at).in_signature(self.typed[*at]);
        let outside: Vec<usize> = (0..self.typed.len()).filter(typed).collect();
        let together = self.moved(&best);
        // A note may read better only once its neighbours do.
        let mut took = true;
        while took {
            took = false;
            for &at in &outside {
                for fifths in [-12, 12] {
                    let name = PitchName::from_fifths(self.better[at].fifths() + fifths);
                    took |= self.take(&[at], |_| name);
                }
            }
            for sounds in together.values() {
                took |= self.take(sounds, |at| best[at]);
            }
        }
        let mut found = Vec::new();
        if self.better == self.typed {
            return found;
        }
        let sounds = self.speller.sounds().iter().enumerate();
        self.places = sounds.map(|(index, sound)| (sound.at, index)).collect();
        let figures = Figures::of(context, self);
        for sounds in self.moved(&self.better).into_values() {
            let gain =
                self.speller.cost(&sounds, &self.typed) - self.speller.cost(&sounds, &self.better);
            let kind = figure::kind(context, self, &figures, &sounds);
            found.push(Misspelling { sounds, gain, kind });
        }
        found
    }

    /// The sounds whose names differ from the typed ones, by bar and by how far.
    fn moved(&self, names: &[PitchName]) -> BTreeMap<(u32, i32), Vec<usize>> {
        let mut groups: BTreeMap<(u32, i32), Vec<usize>> = BTreeMap::new();
        for (at, (typed, name)) in self.typed.iter().zip(names).enumerate() {
            if typed != name {
                let moved = name.fifths() - typed.fifths();
                groups.entry((self.sound(at).bar, moved)).or_default().push(at);
            }
        }
        groups
    }

    /// Gives sounds other names if that is worth a word, and says whether it was.
    fn take(&mut self, sounds: &[usize], name: impl Fn(usize) -> PitchName) -> bool {
        let before = self.speller.cost(sounds, &self.better);
        let old: Vec<PitchName> = sounds.iter().map(|&at| self.better[at]).collect();
        for &at in sounds {
            self.better[at] = name(at);
        }
        let worth = before - self.speller.cost(sounds, &self.better) >= WORTH_A_WORD;
        if !worth {
            for (&at, old) in sounds.iter().zip(old) {
                self.better[at] = old;
            }
        }
        worth
    }

    pub(crate) fn sound(&self, at: usize) -> &Sound {
        &self.speller.sounds()[at]
    }

    /// The sounds that begin in the bar of this one.
    fn in_bar(&self, at: usize) -> std::ops::Range<usize> {
        let (sounds, bar) = (self.speller.sounds(), self.sound(at).bar);
        sounds.partition_point(|sound| sound.bar < bar)..sounds.partition_point(|s| s.bar <= bar)
    }

    /// The sound that begins with a note.
    fn place(&self, at: NoteRef) -> Option<usize> {
        self.places.get(&at).copied()
    }

    /// The typed pitch of a sound.
    pub(crate) fn pitch(&self, tune: &Tune, at: usize) -> Pitch {
        note(tune, self.sound(at)).pitch
    }

    /// The new names of a misspelling, each once, in time.
    fn expected(&self, misspelling: &Misspelling) -> Vec<PitchName> {
        distinct(misspelling.sounds.iter().map(|&at| self.better[at]))
    }

    /// Whether a name belongs to the local key: its scale, a raised sixth or seventh in minor.
    fn in_key(&self, at: usize) -> bool {
        let key = self.speller.key(at);
        let own = match key.degree(self.better[at]) {
            Some((6 | 7, alter)) if key.mode == recte_theory::key::Mode::Minor => {
                (0..=1).contains(&alter)
            }
            Some((_, alter)) => alter == 0,
            None => false,
        };
        own || self.sound(at).in_signature(self.better[at])
    }

    /// A remark at the first of the notes, with the fix that gives all of them their better names.
    fn finding(
        &self,
        context: &Context<'_>,
        misspelling: &Misspelling,
        message: String,
        title: String,
    ) -> Finding {
        let first = misspelling.sounds[0];
        let respelling = |&at: &usize| {
            let sound = self.sound(at);
            let NoteRef { voice, note } = sound.at;
            Respelling { voice, note, name: sound.written(self.better[at]) }
        };
        let wanted: Vec<Respelling> = misspelling.sounds.iter().map(respelling).collect();
        let sure = misspelling.gain >= SURE;
        let fix = context.respelling(title, &wanted);
        let fixes = fix.into_iter().map(|fix| Fix { preferred: sure, ..fix }).collect();
        let warns = sure && (matches!(misspelling.kind, Kind::Scale(_)) || self.in_key(first));
        let severity = if warns { Severity::Warning } else { Severity::Hint };
        let ends = misspelling.sounds.iter().map(|&at| last_bar(context.tune, self.sound(at)));
        let to_bar = misspelling.kind.sounds().map(|&at| self.sound(at).bar).chain(ends);
        let first = self.sound(first);
        let finding = context.at_note(first.at.voice as usize, note(context.tune, first), message);
        let to_bar = to_bar.chain(finding.bar).max();
        Finding { severity, fixes, to_bar, ..finding }
    }
}

/// Tells of the misspellings that a rule has words for: what it says of one, given the names players expect.
pub(crate) fn tell(
    context: &Context<'_>,
    findings: &mut Vec<Finding>,
    says: impl Fn(&Reading, &Misspelling, &[PitchName]) -> Option<String>,
) {
    let Some(reading) = context.reading() else { return };
    for misspelling in &reading.misspellings {
        let expected = reading.expected(misspelling);
        if let Some(message) = says(reading, misspelling, &expected) {
            findings.push(reading.finding(context, misspelling, message, title(&expected)));
        }
    }
}

/// Each name once, in its order.
fn distinct(names: impl Iterator<Item = PitchName>) -> Vec<PitchName> {
    let mut all = Vec::new();
    for name in names {
        if !all.contains(&name) {
            all.push(name);
        }
    }
    all
}

/// "Respell as G♯", "Respell as D♯ and F♯".
fn title(names: &[PitchName]) -> String {
    let names: Vec<String> = names.iter().map(|name| name.symbol()).collect();
    format!("Respell as {}", names.join(" and "))
}

/// The first note of a sound.
fn note<'a>(tune: &'a Tune, sound: &Sound) -> &'a Note {
    &tune.voices[sound.at.voice as usize].notes[sound.at.note as usize]
}

/// The bar in which the last note of a sound begins.
fn last_bar(tune: &Tune, sound: &Sound) -> u32 {
    let voice = &tune.voices[sound.at.voice as usize];
    let notes = tied_together(voice, sound.at.note);
    let bars =
        notes.iter().map(|&note| voice.events[voice.notes[note as usize].event as usize].bar);
    bars.max().unwrap_or(sound.bar)
}

/// The event of the first note of a sound.
fn event<'a>(tune: &'a Tune, sound: &Sound) -> &'a Event {
    &tune.voices[sound.at.voice as usize].events[note(tune, sound).event as usize]
}
