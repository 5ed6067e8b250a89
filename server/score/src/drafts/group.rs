//! From steps to stretches: bars that belong together, and the voices that are not as they were.

use super::costs::SHOWS_TRANSPOSITION;
use super::path::Step;
use super::prints::{Bar, Print, Sheet, Sound};
use super::relined::{Scale, differing};
use super::{Kind, Stretch, Touched, Transposition, Values};
use recte_theory::pitch::usual_steps;
use std::ops::Range;

/// The stretches of a path.
pub(super) fn grouped(old: &Sheet, new: &Sheet, steps: &[Step]) -> Vec<Stretch> {
    let sheets = Sheets { old, new };
    let mut stretches: Vec<Stretch> = Vec::new();
    for step in in_earnest(&sheets, steps) {
        let next = sheets.stretch(&step);
        match stretches.last_mut() {
            Some(last) if belongs(last, &next) => {
                last.old.end = next.old.end;
                last.new.end = next.new.end;
            }
            _ => stretches.push(next),
        }
    }
    let mut stretches = replaced(stretches);
    for stretch in &mut stretches {
        if let Kind::Transposed(by) = stretch.kind {
            stretch.kind = Kind::Transposed(sheets.named(&stretch.old, &stretch.new, by.semitones));
        }
    }
    stretches
}

fn belongs(last: &Stretch, next: &Stretch) -> bool {
    last.kind == next.kind && last.touched == next.touched
}

/// Bars that are deleted and inserted in turns at one place are deleted, then inserted.
fn replaced(stretches: Vec<Stretch>) -> Vec<Stretch> {
    let is_gap = |stretch: &Stretch| matches!(stretch.kind, Kind::Deleted | Kind::Inserted);
    let mut all: Vec<Stretch> = Vec::new();
    let (mut old, mut new) = (0, 0); // the bars behind
    for run in stretches.chunk_by(|a, b| is_gap(a) && is_gap(b)) {
        if let [stretch] = run
            && !is_gap(stretch)
        {
            (old, new) = (stretch.old.end, stretch.new.end);
            all.push(stretch.clone());
            continue;
        }
        let gone: usize = run.iter().map(|stretch| stretch.old.len()).sum();
        let added: usize = run.iter().map(|stretch| stretch.new.len()).sum();
        let ends = (old + gone as u32, new + added as u32);
        let mut push = |kind, old: Range<u32>, new: Range<u32>| {
            if !old.is_empty() || !new.is_empty() {
                all.push(Stretch { kind, old, new, touched: Vec::new(), echo: None });
            }
        };
        push(Kind::Deleted, old..ends.0, new..new);
        push(Kind::Inserted, ends.0..ends.0, new..ends.1);
        (old, new) = ends;
    }
    all
}

/// Runs of transposed bars, and of bars in other values, that have too few sounds to show it are changed bars, or others.
fn in_earnest(sheets: &Sheets<'_>, steps: &[Step]) -> Vec<Step> {
    let run = |step: &Step| match step {
        Step::Transposed(_, _, shift) => Some((0, *shift)),
        Step::ByDegrees(_, _, steps) => Some((1, *steps)),
        Step::Scaled(_, _, Values::Doubled) => Some((2, 0)),
        Step::Scaled(_, _, Values::Halved) => Some((3, 0)),
        _ => None,
    };
    let runs = steps.chunk_by(|a, b| run(a).is_some() && run(a) == run(b));
    let mut all = Vec::with_capacity(steps.len());
    for run in runs {
        let sounds = run.iter().map(|step| match step {
            Step::Transposed(bar, ..) | Step::ByDegrees(bar, ..) => {
                sheets.old.bars[*bar as usize].pitched
            }
            Step::Scaled(bars, ..) => sheets.old.begun(bars),
            _ => SHOWS_TRANSPOSITION,
        });
        if sounds.sum::<usize>() >= SHOWS_TRANSPOSITION {
            all.extend_from_slice(run);
        } else {
            run.iter().for_each(|step| others(step, &mut all));
        }
    }
    all
}

/// The step as no more than other bars.
fn others(step: &Step, all: &mut Vec<Step>) {
    match step {
        Step::Transposed(a, b, _) | Step::ByDegrees(a, b, _) => all.push(Step::Bar(*a, *b)),
        Step::Scaled(old, new, _) if old.len() == new.len() => {
            all.extend(old.clone().zip(new.clone()).map(|(a, b)| Step::Bar(a, b)));
        }
        Step::Scaled(old, new, _) => {
            all.extend(old.clone().map(Step::Deleted));
            all.extend(new.clone().map(Step::Inserted));
        }
        other => all.push(other.clone()),
    }
}

struct Sheets<'a> {
    old: &'a Sheet,
    new: &'a Sheet,
}

impl Sheets<'_> {
    fn stretch(&self, step: &Step) -> Stretch {
        let one = |bar: u32| bar..bar + 1;
        let make = |kind, old, new, touched| Stretch { kind, old, new, touched, echo: None };
        match step {
            Step::Bar(a, b) => {
                let (old, new) = (&self.old.bars[*a as usize], &self.new.bars[*b as usize]);
                make(of_bar(old, new), one(*a), one(*b), touched(old, new))
            }
            Step::Transposed(a, b, semitones) => {
                let by = Transposition { steps: 0, semitones: *semitones };
                make(Kind::Transposed(by), one(*a), one(*b), Vec::new())
            }
            Step::ByDegrees(a, b, steps) => {
                make(Kind::ByDegrees(*steps), one(*a), one(*b), Vec::new())
            }
            Step::Rebarred(a, b) => {
                make(Kind::Rebarred, a.clone(), b.clone(), self.differing(a, b, Scale::NONE))
            }
            Step::Scaled(a, b, values) => {
                let touched = self.differing(a, b, Scale::of(*values));
                make(Kind::Scaled(*values), a.clone(), b.clone(), touched)
            }
            // Where the gap stands in the other draft is set by `replaced`, from its neighbours.
            Step::Deleted(bar) => make(Kind::Deleted, one(*bar), 0..0, Vec::new()),
            Step::Inserted(bar) => make(Kind::Inserted, 0..0, one(*bar), Vec::new()),
        }
    }

    fn differing(&self, a: &Range<u32>, b: &Range<u32>, scale: Scale) -> Vec<Touched> {
        let long = |range: &Range<u32>| range.start as usize..range.end as usize;
        let parts = differing((self.old, self.new), (&long(a), &long(b)), scale).into_iter();
        parts.map(|part| Touched { part, kind: Kind::Changed }).collect()
    }

    /// The transposition by its name: the letter steps that all sounds go by, else the usual ones.
    fn named(&self, old: &Range<u32>, new: &Range<u32>, semitones: i32) -> Transposition {
        let pairs = old.clone().zip(new.clone()).flat_map(|(a, b)| {
            let (a, b) = (&self.old.bars[a as usize].voices, &self.new.bars[b as usize].voices);
            a.iter().zip(b)
        });
        let steps = pairs.filter(|(a, _)| a.base.is_some()).flat_map(|(a, b)| steps(a, b));
        name(steps, semitones)
    }
}

/// A transposition by these letter steps, if they agree; else by the usual ones.
pub(super) fn name(steps: impl Iterator<Item = i32>, semitones: i32) -> Transposition {
    let mut agreed = None;
    for step in steps {
        if *agreed.get_or_insert(step) != step {
            return Transposition { steps: usual_steps(semitones), semitones };
        }
    }
    Transposition { steps: agreed.unwrap_or_else(|| usual_steps(semitones)), semitones }
}

/// By how many letter steps each sound of a voice is higher.
pub(super) fn steps<'a>(a: &'a Print, b: &'a Print) -> impl Iterator<Item = i32> + 'a {
    let step = |(a, b): (&Sound, &Sound)| b.step.0 - a.step.0;
    a.sounds.iter().zip(&b.sounds).map(step)
}

fn of_bar(old: &Bar, new: &Bar) -> Kind {
    match (old.sound == new.sound, old.page == new.page) {
        (true, true) => Kind::Same,
        (true, false) => Kind::Renotated,
        (false, _) => Kind::Changed,
    }
}

fn touched(old: &Bar, new: &Bar) -> Vec<Touched> {
    let pairs = (0..).zip(old.voices.iter().zip(&new.voices));
    let touched = pairs.filter_map(|(part, (a, b))| Some(Touched { part, kind: of_voice(a, b)? }));
    touched.collect()
}

fn of_voice(a: &Print, b: &Print) -> Option<Kind> {
    if a.sound == b.sound {
        return (a.page != b.page).then_some(Kind::Renotated);
    }
    let by = a.base.zip(b.base).map(|(low, high)| high - low);
    let shown = a.sounds.len() >= SHOWS_TRANSPOSITION && a.shape == b.shape;
    match by.filter(|_| shown) {
        Some(semitones) => Some(Kind::Transposed(name(steps(a, b), semitones))),
        None => Some(by_degrees(a, b).map_or(Kind::Changed, Kind::ByDegrees)),
    }
}

/// By how many letter steps a voice lies higher within its key.
fn by_degrees(a: &Print, b: &Print) -> Option<i32> {
    let shown = a.sounds.len() >= SHOWS_TRANSPOSITION && a.degrees == b.degrees;
    let steps = a.step.zip(b.step).map(|(low, high)| high - low);
    steps.filter(|steps| shown && *steps != 0)
}
