//! Two drafts of one tune: which bars are as they were, which are changed, new or gone, which are higher or lower, and
//! which only have other bar lines.
//!
//! Voices are paired first (`parts`), then each bar of all paired voices gets its prints (`prints`): what sounds in
//! it, the same whatever it is transposed by, and what stands on the page. The bars are aligned by the cheapest path
//! (`path`) through matches, changed bars, runs of one transposition (exact, or within the key), passages under
//! other bar lines or in values twice or half as long (`relined`) and gaps. Source: Needleman and Wunsch, "A general method applicable to the search for similarities in the amino
//! acid sequence of two proteins", Journal of Molecular Biology 48 (1970); gaps, and the other runs, cost more to begin than to go on:
//! Gotoh, "An improved algorithm for matching biological sequences", Journal of Molecular Biology 162 (1982). The costs are
//! our own (`costs`); no source gives any for bars.
//!
//! Comparing the other way round gives the same plan mirrored: the two are always aligned in one order, chosen by
//! what is in them.

mod costs;
mod echoes;
mod group;
mod parts;
mod path;
mod prints;
mod relined;

use crate::tune::{Tune, TuneBar};
use recte_theory::Time;
use std::ops::Range;

pub use parts::Music;

/// What became of the old draft in the new one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// The bars of both drafts in order, every one of them once. Where bars are replaced, those that are gone come
    /// before the new ones.
    pub stretches: Vec<Stretch>,
    /// The voices: those of the new draft in its order, then those that are gone.
    pub parts: Vec<Part>,
    old: Vec<TuneBar>,
    new: Vec<TuneBar>,
}

/// A voice of both drafts, or of one of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Part {
    /// Its index in the old draft; none for a voice that was added.
    pub old: Option<u32>,
    /// Its index in the new draft; none for a voice that is gone.
    pub new: Option<u32>,
    /// Whether it has another id or another name than it had.
    pub renamed: bool,
}

/// Bars that belong together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// What became of them.
    pub kind: Kind,
    /// Bars of the old draft, by index; empty where bars are inserted.
    pub old: Range<u32>,
    /// Bars of the new draft, by index; empty where bars are deleted.
    pub new: Range<u32>,
    /// The voices that are not as they were. Voices that only one draft has are not among them.
    pub touched: Vec<Touched>,
    /// For bars that are inserted or deleted: the bars of the other draft that have the same music.
    pub echo: Option<Echo>,
}

/// What became of some bars.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// They sound the same and stand the same on the page.
    Same,
    /// They sound the same and are written otherwise: names, accidentals, beams, marks, words, signatures.
    Renotated,
    /// Some of what sounds is another.
    Changed,
    /// All that has pitch is so much higher or lower.
    Transposed(Transposition),
    /// Every note is so many letter steps higher, altered against the signature as it was.
    ByDegrees(i32),
    /// The same music in other values; a few notes may be others (`touched` says in which voices).
    Scaled(Values),
    /// The same music under other bar lines; a few notes may be others (`touched` says in which voices).
    Rebarred,
    /// The old draft does not have them.
    Inserted,
    /// The new draft does not have them.
    Deleted,
}

/// What became of the lengths of notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Values {
    /// They are twice as long.
    Doubled,
    /// They are half as long.
    Halved,
}

/// How far music is transposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Transposition {
    /// Letter steps up.
    pub steps: i32,
    /// Semitones up.
    pub semitones: i32,
}

/// What became of one voice in a stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Touched {
    /// The voice, by index among the plan's parts.
    pub part: u32,
    /// [`Kind::Renotated`], [`Kind::Changed`], [`Kind::Transposed`] or [`Kind::ByDegrees`].
    pub kind: Kind,
}

/// Bars of the other draft that have the same music.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Echo {
    /// The bars, by index.
    pub bars: Range<u32>,
    /// From there to here; of no size where they sound the same.
    pub by: Transposition,
}

/// Aligns two drafts of a tune, bar by bar.
///
/// Grace notes, ties and rests count as sound; what is accepted and other instructions to Recte do not count at all.
pub fn align(old: &Tune, new: &Tune) -> Plan {
    if prints::order(old) <= prints::order(new) {
        in_order(old, new)
    } else {
        in_order(new, old).mirrored()
    }
}

fn in_order(old: &Tune, new: &Tune) -> Plan {
    let mut parts = parts::paired(old, new);
    let [before, after] = prints::sheets(old, new, &parts);
    let steps = path::cheapest(&before, &after);
    let mut stretches = group::grouped(&before, &after, &steps);
    echoes::find(&before, &after, &mut stretches);
    in_score_order(&mut parts, &mut stretches);
    Plan { stretches, parts, old: old.bars.clone(), new: new.bars.clone() }
}

/// Puts the parts in the order of the new draft, those that are gone last.
fn in_score_order(parts: &mut Vec<Part>, stretches: &mut [Stretch]) {
    let mut order: Vec<usize> = (0..parts.len()).collect();
    let place = |part: &Part| (part.new.unwrap_or(u32::MAX), part.old);
    order.sort_by_key(|index| place(&parts[*index]));
    let mut moved = vec![0; parts.len()];
    for (to, from) in order.iter().enumerate() {
        moved[*from] = to as u32;
    }
    *parts = order.into_iter().map(|index| parts[index]).collect();
    for touched in stretches.iter_mut().flat_map(|stretch| &mut stretch.touched) {
        touched.part = moved[touched.part as usize];
    }
    stretches.iter_mut().for_each(|stretch| stretch.touched.sort_by_key(|touched| touched.part));
}

impl Plan {
    /// Whether nothing is changed, to the last sign.
    pub fn is_same(&self) -> bool {
        let whole = |part: &Part| part.old.is_some() && part.new.is_some() && !part.renamed;
        self.stretches.iter().all(|stretch| stretch.kind == Kind::Same)
            && self.parts.iter().all(whole)
            && !self.reordered()
    }

    /// Whether voices that both drafts have stand in another order.
    pub fn reordered(&self) -> bool {
        let both = self.parts.iter().filter(|part| part.new.is_some());
        let old: Vec<u32> = both.filter_map(|part| part.old).collect();
        old.windows(2).any(|pair| pair[0] > pair[1])
    }

    /// The stretch that a bar of the old draft is in.
    pub fn of_old(&self, bar: u32) -> Option<&Stretch> {
        self.stretches.iter().find(|stretch| stretch.old.contains(&bar))
    }

    /// The stretch that a bar of the new draft is in.
    pub fn of_new(&self, bar: u32) -> Option<&Stretch> {
        self.stretches.iter().find(|stretch| stretch.new.contains(&bar))
    }

    /// The voice of the new draft that a voice of the old one is.
    pub fn new_voice(&self, voice: u32) -> Option<u32> {
        self.parts.iter().find(|part| part.old == Some(voice))?.new
    }

    /// Where a place of the old draft (a bar, and time from its beginning) is in the new one; none if it is gone.
    pub fn new_place(&self, bar: u32, offset: Time) -> Option<(u32, Time)> {
        let stretch = self.of_old(bar).filter(|stretch| !stretch.new.is_empty())?;
        let times = match stretch.kind {
            Kind::Rebarred => Time::WHOLE,
            Kind::Scaled(values) => values.times(),
            _ => return Some((stretch.new.start + bar - stretch.old.start, offset)),
        };
        let from = |bars: &[TuneBar], bar: u32| bars.get(bar as usize).map(|bar| bar.start);
        let since = from(&self.old, bar)? - from(&self.old, stretch.old.start)? + offset;
        let moment = since * times + from(&self.new, stretch.new.start)?;
        let place = stretch.new.clone().rev();
        let bar = place.into_iter().find(|bar| from(&self.new, *bar) <= Some(moment))?;
        Some((bar, moment - from(&self.new, bar)?))
    }

    /// The plan of the same two drafts taken the other way round.
    pub fn mirrored(self) -> Plan {
        let Plan { mut stretches, mut parts, old, new } = self;
        for stretch in &mut stretches {
            std::mem::swap(&mut stretch.old, &mut stretch.new);
            stretch.kind = stretch.kind.mirrored();
            for touched in &mut stretch.touched {
                touched.kind = touched.kind.mirrored();
            }
        }
        for index in 1..stretches.len() {
            let pair = (stretches[index - 1].kind, stretches[index].kind);
            if pair == (Kind::Inserted, Kind::Deleted) {
                let (new, old) = (stretches[index - 1].new.clone(), stretches[index].old.clone());
                stretches[index].new = new.start..new.start;
                stretches[index - 1].old = old.end..old.end;
                stretches.swap(index - 1, index);
            }
        }
        for part in &mut parts {
            std::mem::swap(&mut part.old, &mut part.new);
        }
        in_score_order(&mut parts, &mut stretches);
        Plan { stretches, parts, old: new, new: old }
    }
}

impl Kind {
    fn mirrored(self) -> Kind {
        match self {
            Kind::Inserted => Kind::Deleted,
            Kind::Deleted => Kind::Inserted,
            Kind::Transposed(by) => Kind::Transposed(by.back()),
            Kind::ByDegrees(steps) => Kind::ByDegrees(-steps),
            Kind::Scaled(Values::Doubled) => Kind::Scaled(Values::Halved),
            Kind::Scaled(Values::Halved) => Kind::Scaled(Values::Doubled),
            kind => kind,
        }
    }
}

impl Values {
    /// By what lengths are multiplied.
    pub fn times(self) -> Time {
        match self {
            Values::Doubled => Time::new(2, 1),
            Values::Halved => Time::new(1, 2),
        }
    }
}

impl Transposition {
    /// No transposition at all.
    pub const NONE: Transposition = Transposition { steps: 0, semitones: 0 };

    /// The same distance the other way.
    pub fn back(self) -> Transposition {
        Transposition { steps: -self.steps, semitones: -self.semitones }
    }

    /// Whether it leads upwards.
    pub fn is_up(self) -> bool {
        (self.semitones, self.steps) > (0, 0)
    }
}

#[cfg(test)]
mod tests;
