//! Accidentals as a reader meets them: which say nothing, and which a copyist would add though nothing asks for
//! them. The rules of single accidentals only put it into words, and respelling leaves none of either behind.

mod notes;

pub(crate) use notes::Notes;
use notes::{Habits, Row};
use recte_notation::Reach;
use recte_notation::write::{Retyped, TextEdit, typed};
use recte_score::Tune;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// So many bars back another alteration of the same letter is still in the reader's ear.
const REMEMBERED: u32 = 2;
/// So many notes after it a plain note comes soon.
const SOON: usize = 6;

/// What gives a note the alteration that its accidental says again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Given {
    /// The key signature.
    Signature,
    /// An accidental before it in the bar, on this note.
    Bar(u32),
}

/// After what a copyist would add an accidental that nothing asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wanted {
    /// This note in the bar before had another alteration.
    BarBefore(u32),
    /// This note, tied from the bar before, has another alteration.
    Tie(u32),
    /// This note in another octave has another alteration in the bar.
    Octave(u32),
}

/// A tune's notes as a reader meets them.
#[derive(Clone, Copy)]
pub(crate) struct Page<'a> {
    pub(crate) tune: &'a Tune,
    pub(crate) notes: &'a Notes,
}

impl<'a> Page<'a> {
    /// What the composer does, all over the tune.
    fn habits(&self) -> Habits {
        let mut habits = Habits::default();
        let mut repeats = None;
        let earlier = |habit: &mut Option<u32>, place: u32| {
            *habit = Some(habit.map_or(place, |known| known.min(place)));
        };
        for at in self.places((0, u32::MAX)) {
            let row = self.row(at);
            if row.grace || row.tied_in || row.implied != row.alter() {
                continue;
            }
            let own = self.signature(row, row.key) == Some(row.alter());
            if !own && matches!(self.given(at), Some(Given::Bar(_))) {
                let habit = if row.signed { &mut repeats } else { &mut habits.omits };
                earlier(habit, row.place);
            }
            if row.signed && matches!(self.after_other(at), Some(Wanted::BarBefore(_))) {
                earlier(&mut habits.reminds, row.place);
            }
        }
        let first = |omits: &u32| repeats.is_none_or(|repeats| *omits < repeats);
        habits.omits = habits.omits.filter(first);
        habits
    }

    /// Every note of some bars, by voice and place in the page.
    pub(crate) fn places(
        &self,
        (first, last): (u32, u32),
    ) -> impl Iterator<Item = (usize, usize)> + use<'a> {
        self.notes.voices.iter().enumerate().flat_map(move |(voice, rows)| {
            let from = rows.partition_point(|row| row.bar < first);
            let to = rows.partition_point(|row| row.bar <= last);
            (from..to).map(move |at| (voice, at))
        })
    }

    /// A note of the page.
    pub(crate) fn row(&self, (voice, at): (usize, usize)) -> &'a Row {
        &self.notes.voices[voice][at]
    }

    /// The notes of a voice in a bar.
    fn in_bar(&self, voice: usize, bar: u32) -> Range<usize> {
        let rows = &self.notes.voices[voice];
        rows.partition_point(|row| row.bar < bar)..rows.partition_point(|row| row.bar <= bar)
    }

    /// What a signature says of a note's letter; nothing where no key is claimed.
    fn signature(&self, row: &Row, key: u16) -> Option<i8> {
        let key = &self.tune.keys[key as usize];
        key.tonic.map(|_| key.signature.alter(row.letter()))
    }

    /// What already gives a note its accidental, where a copyist would strike it out.
    ///
    /// Left alone is what reminds the reader: the letter was altered otherwise just before, in this bar in any
    /// voice, or in another octave; the note is tied, or in a chord with its octave; the signature has just changed;
    /// a repeat or an ending begins, before which something else may have been played. So is what the bar gives
    /// unless the composer began by leaving such an accidental out.
    pub(crate) fn redundant(&self, (voice, at): (usize, usize)) -> Option<Given> {
        let row = &self.notes.voices[voice][at];
        if !row.signed || row.implied != row.alter() || row.tied_in || row.grace {
            return None;
        }
        let known = |habit: Option<u32>| habit.is_some_and(|place| place < row.place);
        let given = self.given((voice, at))?;
        let own = self.signature(row, row.key) == Some(row.alter());
        (own || known(self.notes.habits.omits)).then_some(given)
    }

    /// Whether an accidental of the tune as it is typed only reminds the reader.
    pub(crate) fn reminds(&self, voice: usize, note: u32) -> bool {
        let rows = &self.notes.voices[voice];
        let at = |row: &&Row| row.note == note;
        // Notes mostly stand in the order of their numbers.
        let found = rows.get(note as usize).filter(at).or_else(|| rows.iter().find(at));
        found.is_some_and(|row| row.signed && row.implied == row.alter())
    }

    /// What gives a note its alteration, with nothing near that could make the reader doubt it.
    fn given(&self, (voice, at): (usize, usize)) -> Option<Given> {
        let rows = &self.notes.voices[voice];
        let row = &rows[at];
        let signature = self.signature(row, row.key)?;
        let own = self.in_bar(voice, row.bar);
        let octave = |other: &Row| {
            other.event == row.event && other.note != row.note && other.letter() == row.letter()
        };
        if rows[own.clone()].iter().any(octave) || self.differs_elsewhere(voice, row) {
            return None;
        }
        let from = row.bar.saturating_sub(REMEMBERED);
        for other in rows[..at].iter().rev().take_while(|other| other.bar >= from) {
            if row.other_alteration(other) {
                return None;
            }
            let same = other.written.steps() == row.written.steps() && other.layer == row.layer;
            if same && other.bar == row.bar && other.signed && !other.grace {
                return Some(Given::Bar(other.note));
            }
            if self.signature(row, other.key) != Some(signature) {
                return None;
            }
        }
        let later = &rows[at..own.end];
        let plain = signature == row.alter()
            && !self.begins_afresh(voice, row.bar)
            && !later.iter().any(|other| row.other_alteration(other));
        plain.then_some(Given::Signature)
    }

    /// Whether the letter is altered otherwise in the same bar of another voice or layer.
    fn differs_elsewhere(&self, voice: usize, row: &Row) -> bool {
        (0..self.notes.voices.len()).any(|other| {
            let mut rows = self.notes.voices[other][self.in_bar(other, row.bar)].iter();
            rows.any(|its| (other != voice || its.layer != row.layer) && row.other_alteration(its))
        })
    }

    /// Whether something else than the bar before may have been played before a bar.
    fn begins_afresh(&self, voice: usize, bar: u32) -> bool {
        let bars = &self.tune.voices[voice].bars;
        let own = &bars[bar as usize];
        let closes =
            bar.checked_sub(1).is_some_and(|before| bars[before as usize].repeat_closes > 0);
        own.repeat_opens > 0 || own.ending || closes
    }

    /// After what a copyist would write the accidental that a plain note does not need.
    ///
    /// The bar line undoes most alterations without a word, so that one is wanted only where the composer reminds of
    /// such notes elsewhere; but a tie that has carried an alteration over the bar line, and an octave that has it
    /// where accidentals hold in their own octave, mislead everybody.
    pub(crate) fn wanted(&self, (voice, at): (usize, usize)) -> Option<Wanted> {
        let rows = &self.notes.voices[voice];
        let row = &rows[at];
        if row.signed || row.grace || row.tied_in || row.implied != row.alter() {
            return None;
        }
        let wanted = self.after_other((voice, at))?;
        let later = &rows[at + 1..self.in_bar(voice, row.bar).end.max(at + 1)];
        let comes = later.iter().any(|other| other.letter() == row.letter() && other.signed);
        let known = self.notes.habits.reminds.is_some_and(|place| place < row.place);
        (!comes).then_some(())?;
        (known || !matches!(wanted, Wanted::BarBefore(_))).then_some(wanted)
    }

    /// The last note of the letter, where it is near, is altered and this one is not.
    fn after_other(&self, (voice, at): (usize, usize)) -> Option<Wanted> {
        let rows = &self.notes.voices[voice];
        let row = &rows[at];
        let signature = self.signature(row, row.key).filter(|own| *own == row.alter())?;
        let from = row.bar.saturating_sub(1);
        let before = rows[..at].iter().rev().take_while(|other| other.bar >= from);
        let line = before.filter(|other| other.layer == row.layer && !other.grace);
        let (notes, last) = line.enumerate().find(|(_, other)| other.letter() == row.letter())?;
        let same = last.written.steps() == row.written.steps();
        if notes >= SOON
            || last.event == row.event
            || !row.other_alteration(last)
            || self.signature(row, last.key) != Some(signature)
        {
            return None;
        }
        match (last.bar == row.bar, same) {
            (false, true) => Some(Wanted::BarBefore(last.note)),
            (true, true) if last.tied_in => Some(Wanted::Tie(last.note)),
            (true, false) => Some(Wanted::Octave(last.note)),
            _ => None,
        }
    }

    /// The edits that retype notes, without accidentals that say nothing then, and with those that a copyist would
    /// add: a respelling leaves neither behind where there was none before. The tune is this one, perhaps under
    /// another signature.
    pub(crate) fn edits(&self, tune: &Tune, reach: Reach, retyped: &[Retyped]) -> Vec<TextEdit> {
        let habits = self.notes.habits;
        let mut anew = vec![BTreeMap::new(); tune.voices.len()];
        for one in retyped {
            anew[one.voice as usize].insert(one.note, *one);
        }
        let typed_now = vec![BTreeMap::new(); tune.voices.len()];
        let mut changes = Vec::new();
        for (first, last) in self.bars_near(retyped) {
            let window = (first.saturating_sub(REMEMBERED), last);
            let then = Notes::part(tune, reach, window, &anew, habits);
            let now = Notes::part(self.tune, reach, window, &typed_now, habits);
            let (then, now) = (Page { tune, notes: &then }, Page { tune: self.tune, notes: &now });
            for place in then.places((first, last)) {
                let strike = then.redundant(place).is_some() && now.redundant(place).is_none();
                let add = then.wanted(place).is_some() && now.wanted(place).is_none();
                if strike || add {
                    let Row { note, written, .. } = *then.row(place);
                    changes.push(Retyped { voice: place.0 as u32, note, written, signed: add });
                }
            }
        }
        for change in changes {
            anew[change.voice as usize].insert(change.note, change);
        }
        let all: Vec<Retyped> = anew.into_iter().flat_map(BTreeMap::into_values).collect();
        typed(tune, &all)
    }

    /// The bars of these notes and the one after each, in runs.
    fn bars_near(&self, retyped: &[Retyped]) -> Vec<(u32, u32)> {
        let bar = |one: &Retyped| {
            let voice = &self.tune.voices[one.voice as usize];
            voice.event_of(one.note).bar
        };
        let touched: BTreeSet<u32> = retyped.iter().map(bar).collect();
        let mut runs: Vec<(u32, u32)> = Vec::new();
        for bar in touched {
            match runs.last_mut() {
                Some((_, last)) if bar <= *last + 1 => *last = bar + 1,
                _ => runs.push((bar, bar + 1)),
            }
        }
        runs
    }
}
