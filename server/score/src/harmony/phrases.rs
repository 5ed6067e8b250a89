//! Where phrases end: what the page says (fermatas, breath marks, slurs over more than a bar, bar lines that end a
//! section), and long waits for the next sound.
//!
//! A wait is measured as in D. Temperley, *The Cognition of Basic Musical Structures* (2001), chapter 3: from one
//! onset to the next, and the silence in it once more. (Cited from memory; how long is long is our own.)

use crate::meaning::Meaning;
use crate::sounding::Sounding;
use crate::tune::{MarkPlace, Tune, Voice};
use recte_theory::Time;

/// What says that a phrase ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PhraseSign {
    /// A fermata.
    Fermata,
    /// A breath mark, or the mark of a phrase.
    Breath,
    /// The end of the tune, or a bar line that ends a section.
    BarLine,
    /// A slur over more than a bar that ends.
    Slur,
    /// A long note or a rest.
    Wait,
}

/// The end of a phrase.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PhraseEnd {
    /// When its last note begins, as far as one note has the sign; else the same as `end`.
    pub onset: Time,
    /// When it is over, in whole notes from the beginning.
    pub end: Time,
    /// What says so.
    pub sign: PhraseSign,
}

/// A wait is long from so many times the usual on …
const LONG: i64 = 3;
/// … and not below so many eighths.
const SHORTEST: i64 = 3;

/// The ends of a tune's phrases, in time; of several signs at one moment the first in the order of [`PhraseSign`].
pub fn phrase_ends(tune: &Tune, table: &[Sounding]) -> Vec<PhraseEnd> {
    let mut found = waits(table);
    for voice in &tune.voices {
        found.extend(marked(tune, voice));
        found.extend(slurred(tune, voice));
        let closing = voice.bars.iter().enumerate().filter(|(_, bar)| bar.section_ends);
        found.extend(closing.filter_map(|(at, _)| bar_end(tune, at)));
    }
    found.extend(tune.bars.len().checked_sub(1).and_then(|last| bar_end(tune, last)));
    found.sort_by_key(|end| (end.end, end.sign, end.onset));
    found.dedup_by_key(|end| end.end);
    found
}

fn bar_end(tune: &Tune, bar: usize) -> Option<PhraseEnd> {
    let bar = tune.bars.get(bar)?;
    let end = bar.start + bar.length;
    Some(PhraseEnd { onset: end, end, sign: PhraseSign::BarLine })
}

fn marked<'a>(tune: &'a Tune, voice: &'a Voice) -> impl Iterator<Item = PhraseEnd> + 'a {
    voice.marks.iter().filter_map(move |mark| {
        let sign = match mark.meaning? {
            Meaning::Fermata => PhraseSign::Fermata,
            Meaning::Breath | Meaning::Phrase => PhraseSign::Breath,
            _ => return None,
        };
        if let MarkPlace::BarLine(bar) = mark.on {
            return Some(PhraseEnd { sign, ..bar_end(tune, bar as usize)? });
        }
        let event = voice.events.get(mark.event as usize)?;
        let onset = tune.onset(event);
        Some(PhraseEnd { onset, end: onset + event.duration, sign })
    })
}

fn slurred<'a>(tune: &'a Tune, voice: &'a Voice) -> impl Iterator<Item = PhraseEnd> + 'a {
    voice.slurs.iter().filter_map(move |slur| {
        let (from, to) =
            (voice.events.get(slur.from as usize)?, voice.events.get(slur.to as usize)?);
        let (begin, onset) = (tune.onset(from), tune.onset(to));
        let end = onset + to.duration;
        let bar = tune.bars.get(from.bar as usize)?.length;
        (end - begin > bar).then_some(PhraseEnd { onset, end, sign: PhraseSign::Slur })
    })
}

/// Where the next sound is long in coming.
fn waits(table: &[Sounding]) -> Vec<PhraseEnd> {
    let mut onsets: Vec<Time> = table.iter().map(|row| row.onset).collect();
    onsets.sort_unstable();
    onsets.dedup();
    let mut steps: Vec<Time> = onsets.windows(2).map(|pair| pair[1] - pair[0]).collect();
    steps.sort_unstable();
    let Some(usual) = steps.get(steps.len() / 2) else { return Vec::new() };
    let long = (*usual * Time::new(LONG, 1)).max(Time::new(SHORTEST, 8));
    let mut rows: Vec<&Sounding> = table.iter().collect();
    rows.sort_by_key(|row| row.onset);
    let (mut found, mut row, mut sounds_until) = (Vec::new(), 0, Time::ZERO);
    for pair in onsets.windows(2) {
        while rows.get(row).is_some_and(|row| row.onset <= pair[0]) {
            sounds_until = sounds_until.max(rows[row].end);
            row += 1;
        }
        let silence = if sounds_until < pair[1] { pair[1] - sounds_until } else { Time::ZERO };
        if pair[1] - pair[0] + silence >= long {
            let end = sounds_until.min(pair[1]);
            found.push(PhraseEnd { onset: pair[0], end, sign: PhraseSign::Wait });
        }
    }
    found
}
