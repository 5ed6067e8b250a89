//! D.C., D.S., Fine and Coda: where they send the players (common practice, no source).
//!
//! A return is obeyed once, when the repeats before it are done. After it the music is played without
//! repeats, endings as for the last time, up to a Fine, or up to the sign that leads to the Coda. The Coda is
//! new music, so its repeats count again.

use crate::meaning::Meaning;
use crate::tune::{Mark, MarkPlace, Tune, Voice};

/// Where a sign stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    /// Before a bar, or over the first of its several notes.
    Begins(usize),
    /// Within a bar, or over its only note.
    Within(usize),
    /// On the line after a bar.
    After(usize),
}

impl Place {
    fn of(voice: &Voice, mark: &Mark) -> Option<Place> {
        let next = voice.events.get(mark.event as usize);
        if let MarkPlace::BarLine(line) = mark.on
            && next.is_none_or(|event| event.bar > line)
        {
            return Some(Place::After(line as usize));
        }
        let Some(event) = next else {
            return Some(Place::After(voice.bars.len().checked_sub(1)?));
        };
        let bar = event.bar as usize;
        let before_line = matches!(mark.on, MarkPlace::BarLine(_));
        let first = event.offset.is_zero();
        let only = voice.bars.get(bar).is_some_and(|bar| bar.events.len() < 2);
        Some(if before_line || first && !only { Place::Begins(bar) } else { Place::Within(bar) })
    }

    /// The first bar of what begins with a sign here.
    fn opens(self) -> usize {
        match self {
            Place::Begins(bar) | Place::Within(bar) => bar,
            Place::After(bar) => bar + 1,
        }
    }

    /// The bar that is the last one when the music ends with a sign here.
    fn ends(self) -> usize {
        match self {
            Place::Begins(bar) | Place::Within(bar) | Place::After(bar) => bar,
        }
    }

    /// The bar after which players leave for the Coda.
    fn leaves(self) -> usize {
        match self {
            Place::Begins(bar) => bar.saturating_sub(1),
            place => place.ends(),
        }
    }
}

/// Where the signs of a tune lead; bars counted from 0.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Returns {
    /// After this bar back to that one.
    back: Vec<(usize, usize)>,
    /// The bars after which it may be over.
    fine: Vec<usize>,
    /// After this bar on to that one.
    coda: Option<(usize, usize)>,
}

impl Returns {
    pub(super) fn of(tune: &Tune) -> Returns {
        let all = |wanted: Meaning| {
            let mut places: Vec<Place> = tune
                .voices
                .iter()
                .flat_map(|voice| voice.marks.iter().map(move |mark| (voice, mark)))
                .filter(|(_, mark)| mark.meaning == Some(wanted))
                .filter_map(|(voice, mark)| Place::of(voice, mark))
                .collect();
            places.sort_by_key(|place| (place.opens(), *place));
            places.dedup_by_key(|place| place.opens());
            places
        };
        let mut back: Vec<(usize, usize)> =
            all(Meaning::DaCapo).into_iter().map(|place| (place.ends(), 0)).collect();
        if let Some(segno) = all(Meaning::Segno).first() {
            let to = segno.opens();
            back.extend(all(Meaning::DalSegno).into_iter().map(|place| (place.ends(), to)));
        }
        back.retain(|(from, to)| to <= from);
        back.sort_unstable();
        let codas = all(Meaning::Coda);
        let leave = all(Meaning::ToCoda).first().copied();
        // Without words, the first of two signs leads to the second.
        let leave = leave.or_else(|| codas.first().copied().filter(|_| codas.len() > 1));
        let coda = leave.zip(codas.last()).map(|(from, to)| (from.leaves(), to.opens()));
        Returns {
            back,
            fine: all(Meaning::Fine).into_iter().map(Place::ends).collect(),
            coda: coda.filter(|(from, to)| from < to && *to < tune.bars.len()),
        }
    }

    /// Where players go back to after a bar; said once for each sign.
    pub(super) fn take_back(&mut self, bar: usize) -> Option<usize> {
        let place = self.back.iter().position(|(from, _)| *from == bar)?;
        Some(self.back.remove(place).1)
    }

    /// Whether it is over after this bar, once players have gone back.
    pub(super) fn is_fine(&self, bar: usize) -> bool {
        self.fine.contains(&bar)
    }

    /// Where the Coda begins, if players who have gone back leave after this bar; said once.
    pub(super) fn take_coda(&mut self, bar: usize) -> Option<usize> {
        self.coda.take_if(|(from, _)| *from == bar).map(|(_, to)| to)
    }
}
