//! Line ends of the text that stood at a bar line which goes: the notes between there and the nearest bar line
//! change lines, so that no bar is broken over two.

use super::plan::Manner;
use super::reline::Relined;
use crate::write::TextEdit;
use recte_score::Span;
use recte_theory::Time;

/// The line ends that move.
#[derive(Default)]
pub(super) struct Breaks {
    all: Vec<Break>,
}

struct Break {
    /// The bar before which the line ends now.
    bar: u32,
    /// All that stands between that bar and the one before.
    gap: Span,
    /// The line end, with what begins the next line.
    turn: String,
    /// The moment of the bar line it goes to.
    at: Time,
    /// White space that it replaces there, where that line stays.
    stays: Option<Span>,
    /// Whether it is wanted there: not where a line ends already.
    wanted: bool,
}

impl Breaks {
    pub(super) fn find(voice: &Relined<'_>) -> Breaks {
        let plan = voice.plan;
        if plan.undoes || plan.manner == Manner::Exact {
            return Breaks::default();
        }
        let mut all: Vec<Break> = Vec::new();
        for (place, &old) in plan.old.iter().enumerate().skip(1) {
            if place + 1 >= plan.old.len() || plan.begins(old) {
                continue;
            }
            let bar = plan.from + place as u32;
            let Some((gap, turn)) = line_end(voice, bar) else { continue };
            let later = |at: &Time| if *at < old { (old - *at, 1) } else { (*at - old, 0) };
            let Some(&at) = plan.new.iter().skip(1).min_by_key(|at| later(at)) else { continue };
            let taken = all.last().is_some_and(|last| last.at == at);
            let (stays, wanted) = match voice.plan.old.iter().position(|line| *line == at) {
                _ if taken => (None, false),
                None => (None, true),
                Some(place) => match place_for(voice, plan.from + place as u32) {
                    Some(place) => place,
                    None => continue,
                },
            };
            all.push(Break { bar, gap, turn, at, stays, wanted });
        }
        Breaks { all }
    }

    /// The line end that goes to the new bar line at a moment.
    pub(super) fn at(&self, at: Time) -> Option<&str> {
        let own = self.all.iter().find(|one| one.at == at && one.wanted && one.stays.is_none());
        own.map(|one| one.turn.as_str())
    }

    /// What stands before a bar, if the line end there moves.
    pub(super) fn moved(&self, bar: u32) -> Option<Span> {
        self.all.iter().find(|one| one.bar == bar).map(|one| one.gap)
    }

    /// Line ends that go to bar lines which stay.
    pub(super) fn at_lines_that_stay(&self) -> Vec<TextEdit> {
        let staying = self.all.iter().filter(|one| one.wanted);
        let edit = |one: &Break| one.stays.map(|span| TextEdit { span, text: one.turn.clone() });
        staying.filter_map(edit).collect()
    }
}

/// A line end at the bar line before a bar, with nothing but white space and the voice's own name beside it.
fn line_end(voice: &Relined<'_>, bar: u32) -> Option<(Span, String)> {
    let line = voice.voice.bars.get(bar as usize - 1)?.line?;
    let next = voice.voice.bars.get(bar as usize)?.span.start as usize;
    let space = |c: char| matches!(c, ' ' | '\t');
    let begin = voice.text[..line.start as usize].trim_end_matches(space).len();
    let after = voice.text.get(line.end as usize..next)?.trim_start_matches(space);
    let inner = after.strip_prefix("\r\n").or_else(|| after.strip_prefix('\n'))?;
    let named = inner.strip_prefix("[V:").and_then(|name| name.split_once(']'));
    let rest = named.map_or(inner, |(_, rest)| rest);
    let same = named.is_none_or(|(name, _)| name.trim() == voice.voice.id);
    let plain = voice.text.get(line.range()) == Some("|") && rest.chars().all(space) && same;
    plain.then(|| (Span::new(begin, next), after.to_owned()))
}

/// The white space after the bar line before a bar, where a line may end; whether it does not end there already.
fn place_for(voice: &Relined<'_>, bar: u32) -> Option<(Option<Span>, bool)> {
    let line = voice.voice.bars.get(bar as usize - 1)?.line?;
    let Some(next) = voice.voice.bars.get(bar as usize) else { return Some((None, false)) };
    let gap = voice.text.get(line.end as usize..next.span.start as usize)?;
    if gap.contains(['\n', '\r']) {
        return Some((None, false));
    }
    if gap.contains('%') || voice.text.get(line.range()) != Some("|") {
        return None;
    }
    let blank = gap.len() - gap.trim_start_matches([' ', '\t']).len();
    let start = line.end as usize;
    Some((Some(Span::new(start, start + blank)), true))
}
