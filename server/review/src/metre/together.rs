//! Bars that do not fit, over all voices: what is said once for all of them, and where they do not meet.

use super::divided::{self, Common, Misfit};
use recte_score::Tune;
use recte_theory::Time;

/// The bars of a tune that do not fit, by voice, each list in the order of bars.
pub(crate) struct Misfits<'a> {
    tune: &'a Tune,
    /// A list for each voice.
    pub(crate) voices: Vec<Vec<(usize, Misfit)>>,
}

impl Misfits<'_> {
    /// Looks at every bar of every voice.
    pub(crate) fn of(tune: &Tune) -> Misfits<'_> {
        let common = Common::of(tune);
        let voices = tune.voices.iter().map(|voice| divided::misfits(tune, voice, &common));
        let mut found = Misfits { tune, voices: voices.collect() };
        let apart: Vec<_> = (0..tune.bars.len()).flat_map(|bar| found.apart(bar)).collect();
        for (voice, bar, common) in apart {
            let list = &mut found.voices[voice];
            // What follows from it needs no word of its own.
            list.retain(|(_, misfit)| *misfit != Misfit::WithPickup(bar));
            list.push((bar, Misfit::Apart(common)));
        }
        for voice in &mut found.voices {
            voice.sort_unstable_by_key(|(bar, _)| *bar);
        }
        found
    }

    /// A short bar is well where it is a pickup or divided, but then it is as short in every voice. The rarest
    /// lengths stand out; of two voices the shorter one.
    fn apart(&self, bar: usize) -> Vec<(usize, usize, Time)> {
        let quiet = || self.lengths(bar).filter(|(voice, _)| self.at(*voice, bar).is_none());
        let count = |length: Time| quiet().filter(|(_, other)| *other == length).count();
        let Some(first) = quiet().next() else { return Vec::new() };
        if quiet().all(|(_, length)| length == first.1) {
            return Vec::new();
        }
        let common = quiet().map(|(_, length)| (count(length), length)).max();
        let common = common.map_or(first.1, |(_, length)| length);
        let apart = quiet().filter(|(_, length)| *length != common);
        apart.map(|(voice, _)| (voice, bar, common)).collect()
    }

    /// The voices that have a bar, under a signature that measures it, and how much they hold.
    fn lengths(&self, bar: usize) -> impl Iterator<Item = (usize, Time)> {
        let bars = self.tune.voices.iter().map(move |voice| voice.bars.get(bar)).enumerate();
        let measured = bars.filter_map(|(voice, bar)| Some((voice, bar?)));
        let measured = measured.filter(|(_, bar)| self.tune.metre(bar).length().is_some());
        measured.map(|(voice, bar)| (voice, bar.length))
    }

    fn at(&self, voice: usize, bar: usize) -> Option<Misfit> {
        let list = &self.voices[voice];
        list.binary_search_by_key(&bar, |(bar, _)| *bar).ok().map(|place| list[place].1)
    }

    /// Where the same is to be said of a bar in every voice that has it, and several have: the first of them.
    pub(crate) fn speaker(&self, bar: usize) -> Option<usize> {
        let having =
            || self.tune.voices.iter().enumerate().filter(|(_, voice)| voice.bars.len() > bar);
        let what = |(index, voice): (usize, &recte_score::Voice)| {
            let own = &voice.bars[bar];
            Some((self.at(index, bar)?, own.length, own.metre))
        };
        let (first, _) = having().next()?;
        let mut all = having().map(what);
        let one = all.next()??;
        let mut others = all.peekable();
        (others.peek().is_some() && others.all(|other| other == Some(one))).then_some(first)
    }
}
