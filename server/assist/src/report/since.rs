//! What became of the last draft: which bars are others, in sentences and to be heard, and which remarks are settled,
//! stand, or are new.

use super::bars::Bars;
use super::listen::{Listening, Sounds};
use crate::drafts::{ComparedTune, Comparison, Remarks, compare, counts, passages};
use crate::host::{Located, Snapshot};
use recte_notation::Document;
use recte_review::words;
use recte_score::Tune;
use recte_score::drafts::Plan;
use std::collections::HashMap;
use std::ops::Range;

/// The last draft of a score.
#[derive(Clone, Copy, Debug)]
pub struct LastDraft<'a> {
    /// What it is called.
    pub name: &'a str,
    /// Its text; none where there is no such score.
    pub document: Option<&'a Document>,
    /// What a score that is no text calls its bars.
    pub bars: Option<&'a [String]>,
}

/// What became of a remark since the last draft.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// It was made of the last draft too.
    Stands,
    /// Nothing in the last draft answers to it.
    New,
}

impl Fate {
    /// "stands", "new".
    pub fn name(self) -> &'static str {
        match self {
            Fate::Stands => "stands",
            Fate::New => "new",
        }
    }
}

/// What became of the last draft of a tune.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Since {
    /// What the last draft is called.
    pub name: String,
    /// What the last draft lacks, in a sentence: this tune, or any score of that name. Nothing else is said then.
    pub lacks: Option<&'static str>,
    /// What was changed, in sentences.
    pub told: Vec<Change>,
    /// "5 remarks settled, 2 stand, 1 is new".
    pub counts: String,
    /// The remarks that there is no cause for any more.
    pub settled: Vec<Settled>,
    /// The last draft, as far as it can be heard; its parts are those of the tune, then those that are gone.
    pub listening: Listening,
}

/// A sentence, and the bars it is about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Change {
    /// The sentence.
    pub text: String,
    /// The bars that sound otherwise.
    pub bars: Vec<Moved>,
}

/// A passage of both drafts, or of one of them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Moved {
    /// First and last bar of the last draft, by index; none for what is new.
    pub old: Option<(u32, u32)>,
    /// What they are called.
    pub old_name: String,
    /// Their numbers.
    pub old_numbers: Option<(i32, i32)>,
    /// First and last bar as they are now; none for what is gone.
    pub new: Option<(u32, u32)>,
    /// Whether the last draft can be heard there, at least how it begins.
    pub heard: bool,
}

/// So many bars of a passage are heard.
pub const PASSAGE: u32 = 16;
/// So many passages of a sentence are heard.
pub const PASSAGES: usize = 4;
/// So many bars of the last draft can be heard in all, so that a page stays small.
const HEARD: u32 = 128;

/// A remark on the last draft that is settled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settled {
    /// The rule's id.
    pub rule: &'static str,
    /// The voice, as the last draft calls it; none where it is about no voice, or there is only one.
    pub voice: Option<String>,
    /// "bars 3–5" of the last draft; none for what is about the text.
    pub place: Option<String>,
    /// One sentence.
    pub message: String,
}

/// By block and place among its findings.
pub(super) type Fates = HashMap<(usize, usize), Fate>;

/// Two drafts compared, to be asked tune by tune.
pub(super) struct Drafts<'a> {
    last: LastDraft<'a>,
    comparison: Option<Comparison>,
    pub(super) fates: Fates,
}

impl<'a> Drafts<'a> {
    pub(super) fn new(last: LastDraft<'a>, snapshot: &Snapshot) -> Drafts<'a> {
        let comparison = last.document.map(|document| {
            compare(&Snapshot::new(document.clone(), snapshot.config.clone()), snapshot)
        });
        let mut fates = Fates::new();
        let both = |tune: &&ComparedTune| tune.old.is_some() && tune.new.is_some();
        let compared = comparison.as_ref();
        let remarks = compared.map(|one| one.tunes.iter().filter(both).map(|tune| &tune.remarks));
        let around = compared.map(|one| &one.around);
        for remarks in remarks.into_iter().flatten().chain(around) {
            fates.extend(remarks.new.iter().map(|one| (one.key(), Fate::New)));
            fates.extend(remarks.standing.iter().map(|(_, one)| (one.key(), Fate::Stands)));
        }
        Drafts { last, comparison, fates }
    }

    /// The titles of tunes that only the last draft has.
    pub(super) fn gone(&self) -> Vec<String> {
        let tunes = self.comparison.iter().flat_map(|one| &one.tunes);
        let gone = tunes.filter(|tune| tune.new.is_none()).filter_map(|tune| tune.old.as_ref());
        gone.map(|placed| super::title_of(placed.tune())).collect()
    }

    /// What became of a tune. `with_head` tells what is said of the head of the file as well.
    pub(super) fn of(&self, start: usize, with_head: bool, voices: &[String]) -> Since {
        let name = self.last.name.to_owned();
        let lacking = |lacks| Since { name: name.clone(), lacks: Some(lacks), ..Since::default() };
        let Some(comparison) = &self.comparison else {
            return lacking("No last draft of this score was found, or it could not be read.");
        };
        let here = |tune: &&ComparedTune| tune.new.as_ref().is_some_and(|new| new.start == start);
        let found = comparison.tunes.iter().find(here);
        let Some((compared, old, plan)) =
            found.and_then(|one| Some((one, one.old.as_ref()?.tune(), one.plan.as_ref()?)))
        else {
            return lacking("The last draft does not have this tune.");
        };
        let mut remarks = compared.remarks.clone();
        if with_head {
            let Remarks { settled, standing, new } = comparison.around.clone();
            remarks.settled.splice(0..0, settled);
            remarks.standing.extend(standing);
            remarks.new.extend(new);
        }
        let bars = Bars::of(old, self.last.bars);
        let mut told: Vec<Change> = passages(compared)
            .into_iter()
            .map(|passage| Change {
                text: passage.text,
                bars: passage.bars.iter().map(|(old, new)| moved(old, new, &bars)).collect(),
            })
            .collect();
        let heard = choose(told.iter_mut().flat_map(|one| one.bars.iter_mut().take(PASSAGES)));
        let listening = listening(old, plan, &heard, voices);
        if listening.sounds.is_empty() {
            told.iter_mut().flat_map(|one| &mut one.bars).for_each(|one| one.heard = false);
        }
        Since {
            name,
            lacks: None,
            counts: counts(&remarks),
            settled: remarks.settled.iter().map(|one| settled(one, &bars)).collect(),
            listening,
            told,
        }
    }
}

fn ends(range: &Range<u32>) -> Option<(u32, u32)> {
    (!range.is_empty()).then(|| (range.start, range.end - 1))
}

fn moved(old: &Range<u32>, new: &Range<u32>, bars: &Bars) -> Moved {
    let number = |bar: u32| bars.numbers.get(bar as usize).copied();
    let old = ends(old);
    Moved {
        old,
        old_name: old.map_or(String::new(), |(from, to)| bars.span(from, to)),
        old_numbers: old.and_then(|(from, to)| number(from).zip(number(to))),
        new: ends(new),
        heard: false,
    }
}

/// The bars of the last draft that can be heard.
fn choose<'m>(all: impl Iterator<Item = &'m mut Moved>) -> Vec<(u32, u32)> {
    let mut left = HEARD;
    let mut chosen = Vec::new();
    for moved in all {
        let Some((from, to)) = moved.old else { continue };
        let to = to.min(from + PASSAGE - 1);
        moved.heard = to - from < left;
        if moved.heard {
            left -= to - from + 1;
            chosen.push((from, to));
        }
    }
    chosen
}

fn settled(one: &Located, bars: &Bars) -> Settled {
    let (finding, tune) = (one.finding(), one.tune());
    let voice = finding.voice.filter(|_| tune.voices.len() > 1);
    let voice = voice.and_then(|voice| tune.voices.get(voice as usize));
    Settled {
        rule: finding.rule,
        voice: voice.map(|voice| words::sentence(&words::voice(voice))),
        place: finding.bar.map(|from| bars.span(from, finding.to_bar.unwrap_or(from).max(from))),
        message: finding.message.clone(),
    }
}

/// What of the old tune can be heard: the bars that are told of, in the parts of the new one and those that are gone.
fn listening(old: &Tune, plan: &Plan, bars: &[(u32, u32)], voices: &[String]) -> Listening {
    let called = |voice: &recte_score::Voice| words::sentence(&words::voice(voice));
    let names: Vec<String> = old.voices.iter().map(called).collect();
    let all = Listening::of(old, &names);
    let inside = |onset: i64| {
        bars.iter().any(|(from, to)| {
            let ends = all.bars.get(*from as usize).zip(all.bars.get(*to as usize));
            ends.is_some_and(|(first, last)| (first.0..last.0 + last.1).contains(&onset))
        })
    };
    let mut sounds = vec![Vec::new(); voices.len()];
    let mut parts: Vec<(String, bool)> = voices.iter().map(|name| (name.clone(), true)).collect();
    for part in &plan.parts {
        let Some(voice) = part.old.map(|voice| voice as usize) else { continue };
        let heard = all.sounds.0.get(voice).into_iter().flatten();
        let heard: Vec<_> = heard.filter(|sound| inside(sound.onset)).copied().collect();
        let Some((name, pitched)) = all.parts.get(voice).cloned() else { continue };
        match part.new.map(|new| new as usize).filter(|new| *new < voices.len()) {
            Some(new) => (sounds[new], parts[new].1) = (heard, pitched),
            None if heard.is_empty() => {}
            None => {
                sounds.push(heard);
                parts.push((format!("{name} (last draft)"), pitched));
            }
        }
    }
    Listening { parts, bars: all.bars, sounds: Sounds(sounds), told: all.told }
}

#[cfg(test)]
mod tests;
