//! What became of a draft, in sentences.

use super::sizes::{in_values, transposed, within_the_key};
use super::{ComparedTune, Remarks};
use recte_review::words::{bars, sentence, voice as called};
use recte_score::Tune;
use recte_score::drafts::{Echo, Kind, Part, Plan, Stretch, Touched};
use std::ops::Range;

/// From so many passages on, bars that are as they were are only counted.
const MANY: usize = 6;

/// A sentence about a draft, and the bars it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Passage {
    /// The sentence.
    pub text: String,
    /// Bars that do not sound as they did: those of the old draft, and what they are in the new one; by index.
    pub bars: Vec<(Range<u32>, Range<u32>)>,
}

impl From<String> for Passage {
    fn from(text: String) -> Passage {
        Passage { text, bars: Vec::new() }
    }
}

/// What became of the voices and bars of a tune, a sentence each.
pub fn passages(compared: &ComparedTune) -> Vec<Passage> {
    let (Some(old), Some(new)) = (&compared.old, &compared.new) else {
        let gone = if compared.new.is_none() { "This tune is gone." } else { "This tune is new." };
        return vec![gone.to_owned().into()];
    };
    let Some(plan) = &compared.plan else { return Vec::new() };
    let told = Told { plan, old: old.tune(), new: new.tune() };
    let mut sentences: Vec<Passage> = told.head().into_iter().map(Passage::from).collect();
    sentences.extend(told.voices().into_iter().map(Passage::from));
    sentences.extend(told.bars());
    sentences
}

/// "5 remarks settled, 2 stand, 1 is new"; what there is none of is left out.
pub fn counts(remarks: &Remarks) -> String {
    let mut said: Vec<String> = Vec::new();
    for (count, one, several) in [
        (remarks.settled.len(), "settled", "settled"),
        (remarks.standing.len(), "stands", "stand"),
        (remarks.new.len(), "is new", "are new"),
    ] {
        let noun = match (said.is_empty(), count) {
            (false, _) => "",
            (true, 1) => "remark ",
            (true, _) => "remarks ",
        };
        if count > 0 {
            said.push(format!("{count} {noun}{}", if count == 1 { one } else { several }));
        }
    }
    if said.is_empty() { "no remarks".to_owned() } else { said.join(", ") }
}

struct Told<'a> {
    plan: &'a Plan,
    old: &'a Tune,
    new: &'a Tune,
}

impl Told<'_> {
    fn head(&self) -> Vec<String> {
        let mut said = Vec::new();
        let (before, after) = (self.old.title(), self.new.title());
        if before != after {
            said.push(format!("The title was “{before}”."));
        }
        if self.old.reference != self.new.reference {
            let number = self.old.reference.as_deref().unwrap_or("missing");
            said.push(format!("The number was {number}."));
        }
        said
    }

    fn voices(&self) -> Vec<String> {
        let mut said: Vec<String> =
            self.plan.parts.iter().filter_map(|part| self.voice(part)).collect();
        if self.plan.reordered() {
            said.push("The voices stand in another order.".to_owned());
        }
        said
    }

    fn voice(&self, part: &Part) -> Option<String> {
        let old = part.old.and_then(|voice| self.old.voices.get(voice as usize));
        let new = part.new.and_then(|voice| self.new.voices.get(voice as usize));
        match (old, new) {
            (Some(old), None) => Some(format!("{} is gone.", sentence(&called(old)))),
            (None, Some(new)) => Some(format!("{} is new.", sentence(&called(new)))),
            (Some(old), Some(new)) if part.renamed => {
                let (before, after) = (called(old), called(new));
                match before == after {
                    true if old.id == new.id => None,
                    true => Some(format!("{}’s id was {}.", sentence(&after), old.id)),
                    false => Some(format!("{} was called {before}.", sentence(&after))),
                }
            }
            _ => None,
        }
    }

    fn bars(&self) -> Vec<Passage> {
        if self.plan.is_same() {
            return vec!["Nothing is changed.".to_owned().into()];
        }
        let mut said: Vec<Passage> = Vec::new();
        let stretches = &self.plan.stretches;
        let mut told_before = vec![false; stretches.len()];
        for (index, stretch) in stretches.iter().enumerate() {
            if told_before[index] || stretch.kind == Kind::Same {
                continue;
            }
            let next = stretches.get(index + 1);
            match (stretch.kind, next) {
                (Kind::Deleted, Some(next)) if next.kind == Kind::Inserted => {
                    told_before[index + 1] = true;
                    let text = self.replaced(stretch, next);
                    said.push(Passage {
                        text,
                        bars: vec![(stretch.old.clone(), next.new.clone())],
                    });
                }
                (Kind::Changed | Kind::Renotated, _) => {
                    let alike = |other: &Stretch| {
                        (other.kind, &other.touched) == (stretch.kind, &stretch.touched)
                    };
                    let all = stretches.iter().enumerate().filter(|(_, other)| alike(other));
                    let mut bars = Vec::new();
                    for (at, other) in all {
                        told_before[at] = true;
                        bars.push((other.old.clone(), other.new.clone()));
                    }
                    let ranges: Vec<_> = bars.iter().map(|(_, new)| new.clone()).collect();
                    let text = self.touched(stretch, &ranges);
                    bars.retain(|_| stretch.kind == Kind::Changed);
                    said.push(Passage { text, bars });
                }
                _ => said.push(Passage {
                    text: self.alone(stretch),
                    bars: vec![(stretch.old.clone(), stretch.new.clone())],
                }),
            }
        }
        said.extend(self.kept().map(Passage::from));
        said
    }

    /// The bars that are as they were.
    fn kept(&self) -> Option<String> {
        let kept = self.plan.stretches.iter().filter(|stretch| stretch.kind == Kind::Same);
        let ranges: Vec<Range<u32>> = kept.map(|stretch| stretch.new.clone()).collect();
        let count: usize = ranges.iter().map(Range::len).sum();
        let [verb, were] = if count == 1 { ["is", "it was"] } else { ["are", "they were"] };
        match (count, ranges.len()) {
            (0, _) => None,
            _ if count == self.new.bars.len() && count == self.old.bars.len() => {
                Some("All bars are as they were.".to_owned())
            }
            (_, passages) if passages >= MANY => {
                Some(format!("The other {count} bars are as they were."))
            }
            _ => Some(sentence(&format!("{} {verb} as {were}.", listed(self.new, &ranges)))),
        }
    }

    fn alone(&self, stretch: &Stretch) -> String {
        let (here, were) = (here(self.new, &stretch.new), here(self.old, &stretch.old));
        let (plural, subject) = (stretch.new.len() > 1, sentence(&here));
        let be = if plural { "are" } else { "is" };
        match stretch.kind {
            Kind::Inserted => {
                let echo = stretch.echo.as_ref().map(|echo| self.echo(echo)).unwrap_or_default();
                format!("{subject} {be} new{echo}.")
            }
            Kind::Deleted => {
                let be = if stretch.old.len() > 1 { "are" } else { "is" };
                format!("{} of the old draft {be} gone{}.", sentence(&were), self.moved(stretch))
            }
            Kind::Transposed(by) if here == were => {
                format!("{subject} {be} {}.", transposed(by))
            }
            Kind::Transposed(by) => {
                format!("{subject} {be} {were} of the old draft {}.", transposed(by))
            }
            Kind::ByDegrees(steps) if here == were => {
                format!("{subject} {be} {}.", within_the_key(steps))
            }
            Kind::ByDegrees(steps) => {
                format!("{subject} {be} {were} of the old draft {}.", within_the_key(steps))
            }
            Kind::Scaled(values) => {
                let others = self.with_others(stretch);
                let values = in_values(values);
                let of = match here == were {
                    true => String::new(),
                    false => format!(" {were} of the old draft"),
                };
                format!("{subject} {be}{of} {values}{others}.")
            }
            Kind::Rebarred => {
                let others = self.with_others(stretch);
                format!("{subject} {be} {were} of the old draft under other bar lines{others}.")
            }
            _ => self.touched(stretch, std::slice::from_ref(&stretch.new)),
        }
    }

    fn with_others(&self, stretch: &Stretch) -> String {
        match self.names(&stretch.touched, Kind::Changed) {
            Some(names) => format!(", with other notes in {names}"),
            None if stretch.touched.is_empty() => String::new(),
            None => ", with other notes".to_owned(),
        }
    }

    fn replaced(&self, old: &Stretch, new: &Stretch) -> String {
        let be = if old.old.len() > 1 { "are" } else { "is" };
        let echo = new.echo.as_ref().map(|echo| self.echo(echo)).unwrap_or_default();
        let (before, after) = (here(self.old, &old.old), here(self.new, &new.new));
        let gone = self.moved(old);
        if before == after && gone.is_empty() {
            return format!("{} {be} replaced by others{echo}.", sentence(&after));
        }
        format!(
            "{} of the old draft {be} gone{gone}; {after} stand there{echo}.",
            sentence(&before)
        )
        .replace("stand there", if new.new.len() > 1 { "stand there" } else { "stands there" })
    }

    /// "; they are bars 1–8 of the old draft a perfect fourth higher".
    fn echo(&self, echo: &Echo) -> String {
        let bars = here(self.old, &echo.bars);
        let subject = if echo.bars.len() > 1 { "they are" } else { "it is" };
        match echo.by {
            by if by.semitones == 0 => format!("; the old draft has the same music in {bars}"),
            by => format!("; {subject} {bars} of the old draft {}", transposed(by)),
        }
    }

    /// Where the music of deleted bars went, if it is now in bars that are new.
    fn moved(&self, stretch: &Stretch) -> String {
        let inserted =
            |bar: u32| self.plan.of_new(bar).is_some_and(|stretch| stretch.kind == Kind::Inserted);
        match &stretch.echo {
            Some(echo) if echo.by.semitones == 0 && echo.bars.clone().all(inserted) => {
                format!("; the same music is now in {}", here(self.new, &echo.bars))
            }
            _ => String::new(),
        }
    }

    fn touched(&self, stretch: &Stretch, ranges: &[Range<u32>]) -> String {
        let many = ranges.iter().map(Range::len).sum::<usize>() > 1;
        let subject = sentence(&listed(self.new, ranges));
        let place = |kind: Kind| {
            let names = self.names(&stretch.touched, kind);
            names.map(|names| format!(" in {names}")).unwrap_or_default()
        };
        if stretch.kind == Kind::Renotated {
            let (sound, is) = if many { ("sound", "are") } else { ("sounds", "is") };
            return format!(
                "{subject} {sound} the same and {is} written otherwise{}.",
                place(Kind::Renotated)
            );
        }
        let is = if many { "are" } else { "is" };
        let mut moved: Vec<String> = Vec::new();
        for touched in &stretch.touched {
            let by = match touched.kind {
                Kind::Transposed(by) => transposed(by),
                Kind::ByDegrees(steps) => within_the_key(steps),
                _ => continue,
            };
            let name = self.name(touched);
            let subject = if self.new.voices.len() > 1 { &name } else { "it" };
            moved.push(format!("{subject} lies {by}"));
        }
        let other = stretch.touched.iter().any(|touched| touched.kind == Kind::Changed);
        let moved = moved.join(", ");
        match (other, moved.is_empty()) {
            (_, true) => format!("{subject} {is} changed{}.", place(Kind::Changed)),
            (true, false) => format!("{subject} {is} changed{}; {moved}.", place(Kind::Changed)),
            (false, false) => format!("{subject} {is} changed: {moved}."),
        }
    }

    fn name(&self, touched: &Touched) -> String {
        let part = self.plan.parts.get(touched.part as usize);
        let voice = part.and_then(|part| self.new.voices.get(part.new? as usize));
        voice.map(called).unwrap_or_default()
    }

    /// The voices of a kind; nothing where there is only one, or every one is.
    fn names(&self, touched: &[Touched], kind: Kind) -> Option<String> {
        let names: Vec<String> =
            touched.iter().filter(|one| one.kind == kind).map(|one| self.name(one)).collect();
        let whole = names.len() == self.new.voices.len() && names.len() > 2;
        match &names[..] {
            _ if self.new.voices.len() < 2 => None,
            [] => None,
            _ if whole => Some("every voice".to_owned()),
            [one] => Some(one.clone()),
            [all @ .., last] => Some(format!("{} and {last}", all.join(", "))),
        }
    }
}

/// "bars 5–7".
fn here(tune: &Tune, range: &Range<u32>) -> String {
    bars(tune, (range.start, range.end.saturating_sub(1).max(range.start)))
}

/// "bars 1–8, 11 and 25–29".
fn listed(tune: &Tune, ranges: &[Range<u32>]) -> String {
    let number = |range: &Range<u32>| {
        let one = here(tune, range);
        one.split_once(' ').map_or(one.clone(), |(_, number)| number.to_owned())
    };
    let mut joined: Vec<Range<u32>> = Vec::new();
    for range in ranges {
        match joined.last_mut() {
            Some(last) if last.end == range.start => last.end = range.end,
            _ => joined.push(range.clone()),
        }
    }
    match &joined[..] {
        [] => String::new(),
        [one] => here(tune, one),
        [all @ .., last] => {
            let all: Vec<String> = all.iter().map(number).collect();
            format!("bars {} and {}", all.join(", "), number(last))
        }
    }
}
