//! Notes that a bar line comes into, or that no line parts any longer: written again in the values that the new
//! bars ask for.

use super::Refusal;
use super::gap::Joint;
use super::head::Head;
use super::length::values;
use super::reline::Relined;
use recte_score::{Event, Span};
use recte_theory::Time;

/// Events that are one, with their index in the voice: mostly one alone.
pub(super) struct Held {
    pub(super) events: Vec<u32>,
    pub(super) start: Time,
    pub(super) end: Time,
}

impl Relined<'_> {
    /// The timed events of the bars, those that no line parts any longer taken together.
    pub(super) fn helds(&self) -> Vec<Held> {
        let mut all: Vec<Held> = Vec::new();
        for &index in self.timed() {
            let event = self.event(index);
            let start = self.at(event);
            let one = Held { events: vec![index], start, end: start + event.duration };
            match all.last_mut() {
                Some(last) if last.end == start && self.are_one(last, &one) => {
                    last.events.push(index);
                    last.end = one.end;
                }
                _ => all.push(one),
            }
        }
        if self.plan.undoes {
            self.rejoin(&mut all);
        }
        all
    }

    /// Whether two become one over a line that goes.
    fn are_one(&self, before: &Held, after: &Held) -> bool {
        if !self.goes(after.start) {
            return false;
        }
        let (Some(&last), Some(&next)) = (before.events.last(), after.events.first()) else {
            return false;
        };
        let Some(gap) = self.gap_at(after.start) else { return false };
        if !self.can_be_one(last, next) {
            return false;
        }
        if self.plan.undoes {
            return matches!(gap.joint(), Joint::Together | Joint::OnePair);
        }
        // Rests that stand side by side are one only where a split parted them.
        if !self.event(last).sounds() {
            return false;
        }
        let whole = self.pieces(before.start, after.end).len();
        whole
            < self.pieces(before.start, before.end).len()
                + self.pieces(after.start, after.end).len()
    }

    /// What a split tied by `- ` on both sides of its line belongs to the same note.
    fn rejoin(&self, all: &mut Vec<Held>) {
        let mut place = 0;
        while place < all.len() {
            let spread = all[place].events.windows(2).any(|pair| {
                let at = self.at(self.event(pair[1]));
                self.gap_at(at).is_some_and(|gap| gap.joint() == Joint::Together)
            });
            let tied = |a: &Held, b: &Held| match (a.events.last(), b.events.first()) {
                (Some(&a), Some(&b)) => self.is_spread(a, b) && self.can_be_one(a, b),
                _ => false,
            };
            if !spread {
                place += 1;
                continue;
            }
            while place + 1 < all.len() && tied(&all[place], &all[place + 1]) {
                let next = all.remove(place + 1);
                all[place].events.extend(next.events);
                all[place].end = next.end;
            }
            while place > 0 && tied(&all[place - 1], &all[place]) {
                let this = all.remove(place);
                place -= 1;
                all[place].events.extend(this.events);
                all[place].end = this.end;
            }
            place += 1;
        }
    }

    /// Whether two events of one bar are tied by `- `.
    fn is_spread(&self, a: u32, b: u32) -> bool {
        let (a, b) = (self.event(a), self.event(b));
        let between = self.text.get(a.span.end as usize..b.span.start as usize);
        let typed = if a.sounds() { "- " } else { " " };
        a.bar == b.bar && between == Some(typed)
    }

    /// Whether two events are the same notes tied together, or rests, and nothing else is typed of the second.
    pub(super) fn can_be_one(&self, a: u32, b: u32) -> bool {
        let (from, to) = (self.event(a), self.event(b));
        let plain = |event: &Event| event.tuplet.is_none() && !event.broken;
        if !plain(from) || !plain(to) || from.kind != to.kind || from.unit != to.unit || b != a + 1
        {
            return false;
        }
        let alone = to.full.start == to.span.start;
        let tied = self.voice.notes_of(from).iter().all(|note| note.tied_out)
            && self.voice.notes_of(to).iter().all(|note| note.tied_in)
            && !self.voice.notes_of(from).iter().any(|note| note.tie_dotted);
        let heads = [from, to].map(|event| Head::of(self.text, self.voice, event));
        let [Ok(first), Ok(second)] = heads else { return false };
        if !from.sounds() {
            return alone && first.is_like(&second);
        }
        let closed = self.text.get(from.span.end as usize..).unwrap_or_default();
        let open = closed.starts_with('-') && !closed.starts_with("-)");
        alone && tied && open && first.is_like(&second) && self.sung.no_longer(b).is_some()
    }

    /// The values that a stretch of time is written in, new bar by new bar.
    pub(super) fn pieces(&self, start: Time, end: Time) -> Vec<(Time, Time)> {
        let mut points: Vec<Time> = vec![start];
        points.extend(self.plan.inside(start, end));
        points.push(end);
        let mut pieces = Vec::new();
        for pair in points.windows(2) {
            let (bar, begin) = self.plan.bar_at(pair[0]);
            let mut at = pair[0];
            for value in values(at - begin, pair[1] - at, &self.plan.bars[bar].metre) {
                pieces.push((at, value));
                at += value;
            }
        }
        pieces
    }

    /// Writes it again, if a line comes into it or goes from it.
    pub(super) fn write_held(&mut self, held: &Held) -> Result<(), Refusal> {
        let lines = self.plan.inside(held.start, held.end).count();
        if lines == 0 && held.events.len() == 1 {
            return Ok(());
        }
        let (Some(&first), Some(&last)) = (held.events.first(), held.events.last()) else {
            return Ok(());
        };
        let (begin, end) = (self.event(first), self.event(last));
        if begin.tuplet.is_some() {
            return Err(Refusal::new("A tuplet lies over a new bar line."));
        }
        if begin.broken {
            return Err(Refusal::new("A broken rhythm lies over a new bar line."));
        }
        let text = self.spelled(held, begin, end)?;
        let span = Span::new(begin.span.start as usize, end.span.end as usize);
        self.replace(span, text);
        if begin.sounds() {
            let pieces = self.written(held).len();
            for &event in &held.events[1..] {
                let gone = self.sung.no_longer(event);
                self.edits.extend(gone.into_iter().flatten());
            }
            if pieces > 1 {
                self.edits.extend(self.sung.held_on([first, last], pieces - 1)?);
            }
        }
        Ok(())
    }

    /// Its values: one only, whatever it is, where nothing parts it.
    fn written(&self, held: &Held) -> Vec<(Time, Time)> {
        if self.plan.undoes && self.plan.inside(held.start, held.end).next().is_none() {
            return vec![(held.start, held.end - held.start)];
        }
        self.pieces(held.start, held.end)
    }

    fn spelled(&self, held: &Held, begin: &Event, end: &Event) -> Result<String, Refusal> {
        let mut head = Head::of(self.text, self.voice, begin)?;
        let tail = Head::of(self.text, self.voice, end)?;
        let typed = head.units();
        if held.events.len() > 1 {
            head = head.tied_as(&tail);
        }
        let pieces = self.written(held);
        if pieces.len() > 1 && begin.sounds() && head.is_doubtful() {
            return Err(Refusal::new("A chord with one note in two ways lies over a bar line."));
        }
        let tie = if begin.sounds() { "-" } else { "" };
        let mut text = String::new();
        for (place, (at, value)) in pieces.iter().enumerate() {
            let (opens, closes) = (place == 0, place + 1 == pieces.len());
            if !opens {
                text.push_str(tie);
                match self.plan.begins(*at) {
                    true => text.push_str(&self.line_through(held, *at)),
                    false => text.push(' '),
                }
            }
            let own = if closes && !opens { &tail } else { &head };
            let length = self.typing.text(typed * *value / begin.duration);
            text.push_str(&own.typed(opens, closes, &self.signed, &length));
        }
        Ok(text)
    }

    /// A bar line in the middle of a note.
    fn line_through(&self, held: &Held, at: Time) -> String {
        let timed = self.timed();
        let own = timed.iter().position(|index| Some(index) == held.events.first());
        let own = own.unwrap_or(usize::MAX - held.events.len());
        let before = own.checked_sub(1).and_then(|other| timed.get(other).copied());
        let after = timed.get(own + held.events.len()).copied();
        let joined = |a: Option<u32>, b: Option<u32>| match (a, b) {
            (Some(a), Some(b)) => self.is_spread(a, b) && self.event(a).kind == self.event(b).kind,
            _ => false,
        };
        let more = joined(before, held.events.first().copied())
            || joined(held.events.last().copied(), after);
        let joint = if more { Joint::OnePair } else { Joint::One };
        self.line(joint, at)
    }
}
