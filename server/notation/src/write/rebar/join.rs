//! A tied pair that hides where the groups of its new bar meet, tied at the join instead.

use super::head::Head;
use super::held::Held;
use super::length::{is_one_value, lines};
use super::reline::Relined;
use crate::write::TextEdit;
use recte_score::Event;
use recte_theory::{Metre, Time};

impl Relined<'_> {
    /// In each new bar: `B8-B2` in 5/8 becomes `B4-B6`. What cannot be done surely is left.
    pub(super) fn show_joins(&mut self, helds: &[Held]) {
        for pair in helds.windows(2) {
            let [first, second] = pair else { continue };
            let (bar, begin) = self.plan.bar_at(first.start);
            let whole = self.plan.inside(first.start, second.end).next().is_none();
            let ([from], [to]) = (&first.events[..], &second.events[..]) else { continue };
            let (from, to) = (self.event(*from), self.event(*to));
            if whole && from.bar == to.bar && self.is_bare_pair(from, to) {
                let metre = &self.plan.bars[bar].metre;
                let edits = self.tied_at_join([from, to], [first, second], begin, metre);
                self.edits.extend(edits.into_iter().flatten());
            }
        }
    }

    /// Two plain events joined by ties into one sound of just these two, the second without signs of its own.
    fn is_bare_pair(&self, first: &Event, second: &Event) -> bool {
        let (a, b) = (self.voice.notes_of(first), self.voice.notes_of(second));
        let plain = |event: &Event| event.sounds() && event.tuplet.is_none() && !event.broken;
        plain(first)
            && plain(second)
            && a.len() == b.len()
            && a.iter().all(|note| note.tied_out && !note.tied_in)
            && b.iter().all(|note| note.tied_in && !note.tied_out)
            && second.full.start == second.span.start
    }

    fn tied_at_join(
        &self,
        events: [&Event; 2],
        [first, second]: [&Held; 2],
        from: Time,
        metre: &Metre,
    ) -> Option<[TextEdit; 2]> {
        let (start, middle, end) = (first.start - from, first.end - from, second.end - from);
        let joins: Vec<Vec<Time>> = metre.groupings().iter().map(|groups| lines(groups)).collect();
        // Only where the first crosses a join in every reading, and so hides it.
        let hides = |joins: &Vec<Time>| joins.iter().any(|at| start < *at && *at < middle);
        let shows = joins.iter().any(|joins| joins.contains(&middle) || !hides(joins));
        if !metre.is_asymmetric() || shows {
            return None;
        }
        let distance = |at: &Time| {
            let centre = (start + middle) / Time::new(2, 1);
            if *at < centre { centre - *at } else { *at - centre }
        };
        let values = |at: &Time| is_one_value(*at - start) && is_one_value(end - *at);
        let inside =
            joins.iter().flatten().filter(|at| start < **at && **at < middle && values(at));
        let join = *inside.min_by_key(|at| distance(at))?;
        let typed = |event: &Event, length: Time| -> Option<TextEdit> {
            let units = Head::of(self.text, self.voice, event).ok()?.outer() * length;
            let text = self.typing.text(units / event.duration);
            Some(TextEdit { span: event.length, text })
        };
        Some([typed(events[0], join - start)?, typed(events[1], end - join)?])
    }
}
