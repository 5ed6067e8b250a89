//! What the speller says of a tune: the notes that read better under another name, bar by bar, and the figure
//! each belongs to. The rules of the spelling family only put it into words.

#[cfg(test)]
pub(crate) mod cases;
mod compare;
mod figure;
#[cfg(test)]
mod tests;

use figure::Figures;
pub(crate) use figure::{Kind, Shown, in_thirds};

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use recte_notation::write::{Respelling, tied_together};
use recte_score::spelling::{Evidence, Sound, Speller};
use recte_score::{Event, Note, NoteRef, Tune};
use recte_theory::{Pitch, PitchName};

/// What a change must save, in the speller's costs, to be taken without asking.
const SURE: i32 = 150;
/// The same where it shows a chord.
const SURE_OF_A_CHORD: i32 = 90;

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
}

impl Reading {
    /// Reads a tune; without a typed accidental there is nothing to see.
    pub(crate) fn of(context: &Context<'_>) -> Option<Reading> {
        let typed = |note: &Note| note.accidental.is_some();
        if !context.tune.voices.iter().any(|voice| voice.notes.iter().any(typed)) {
            return None;
        }
        let speller = Speller::new(context.tune, Evidence::Names);
        let figures = Figures::of(context);
        let (typed, better) = (speller.typed(), compare::better(&speller, &figures));
        let mut reading = Reading { speller, typed, better, misspellings: Vec::new() };
        let moved = compare::moved(&reading.speller, &reading.typed, &reading.better);
        let misspelling = |sounds: Vec<usize>| {
            let cost = |names| reading.speller.cost(&sounds, names);
            let gain = cost(&reading.typed) - cost(&reading.better);
            let kind = figure::kind(context, &reading, &figures, &sounds);
            Misspelling { sounds, gain, kind }
        };
        reading.misspellings = moved.into_values().map(misspelling).collect();
        Some(reading)
    }

    /// The speller, with the typed names as evidence.
    pub(crate) fn speller(&self) -> &Speller {
        &self.speller
    }

    /// A sounding name as the player of a sound reads it.
    pub(crate) fn read(&self, at: usize, name: PitchName) -> PitchName {
        self.sound(at).written(name)
    }

    pub(crate) fn sound(&self, at: usize) -> &Sound {
        &self.speller.sounds()[at]
    }

    /// The sounds that begin in the bar of this one.
    fn in_bar(&self, at: usize) -> std::ops::Range<usize> {
        let (sounds, bar) = (self.speller.sounds(), self.sound(at).bar);
        sounds.partition_point(|sound| sound.bar < bar)..sounds.partition_point(|s| s.bar <= bar)
    }

    /// The sounds right before and after one in its line.
    fn beside(&self, at: usize) -> impl Iterator<Item = usize> {
        self.speller.beside(at)
    }

    /// The typed pitch of a sound.
    pub(crate) fn pitch(&self, tune: &Tune, at: usize) -> Pitch {
        note(tune, self.sound(at)).pitch
    }

    /// The new names of a misspelling as they are read, each once, in time.
    fn expected(&self, misspelling: &Misspelling) -> Vec<PitchName> {
        distinct(misspelling.sounds.iter().map(|&at| self.read(at, self.better[at])))
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

    /// What sounds cost the speller together; names are given for all sounds.
    pub(crate) fn cost(&self, sounds: &[usize], names: &[PitchName]) -> i32 {
        self.speller.cost(sounds, names)
    }

    /// The fix that gives sounds other names.
    pub(crate) fn fix(
        &self,
        context: &Context<'_>,
        sounds: &[usize],
        name: impl Fn(usize) -> PitchName,
        title: String,
    ) -> Option<Fix> {
        let changed = sounds.iter().filter(|&&at| name(at) != self.typed[at]);
        let respelling = |&at: &usize| {
            let sound = self.sound(at);
            let NoteRef { voice, note } = sound.at;
            Respelling { voice, note, name: sound.written(name(at)) }
        };
        let wanted: Vec<Respelling> = changed.map(respelling).collect();
        context.respelling(title, &wanted)
    }

    /// The misspellings, bar by bar.
    pub(crate) fn misspellings(&self) -> &[Misspelling] {
        &self.misspellings
    }

    /// The event of the first note of a sound.
    pub(crate) fn event<'a>(&self, tune: &'a Tune, at: usize) -> &'a Event {
        event(tune, self.sound(at))
    }

    /// A remark at the first of the notes, with the fix that gives all of them their better names.
    pub(crate) fn finding(
        &self,
        context: &Context<'_>,
        misspelling: &Misspelling,
        message: String,
        title: String,
    ) -> Finding {
        let first = misspelling.sounds[0];
        let chord = matches!(misspelling.kind, Kind::Chord(_));
        let sure = misspelling.gain >= if chord { SURE_OF_A_CHORD } else { SURE };
        let fix = self.fix(context, &misspelling.sounds, |at| self.better[at], title);
        let fixes = fix.into_iter().map(|fix| Fix { preferred: sure, ..fix }).collect();
        let clear = chord || matches!(misspelling.kind, Kind::Scale(_));
        let warns = sure && (clear || self.in_key(first));
        let severity = if warns { Severity::Warning } else { Severity::Hint };
        let ends = misspelling.sounds.iter().map(|&at| last_bar(context.tune, self.sound(at)));
        let to_bar = misspelling.kind.sounds().iter().map(|&at| self.sound(at).bar).chain(ends);
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
pub(crate) fn distinct(names: impl Iterator<Item = PitchName>) -> Vec<PitchName> {
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
    let notes = tied_together(voice, sound.at.note).into_iter();
    notes.map(|note| voice.event_of(note).bar).max().unwrap_or(sound.bar)
}

/// The event of the first note of a sound.
fn event<'a>(tune: &'a Tune, sound: &Sound) -> &'a Event {
    tune.voices[sound.at.voice as usize].event_of(sound.at.note)
}
