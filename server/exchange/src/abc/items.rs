//! The items of a bar: notes, rests and the gaps between them, in the order of time.

use super::length::signs;
use crate::musicxml::natural_ratio;
use crate::sheet::{Event, Kind, Mark, Note};
use recte_theory::Time;

/// One sign of a bar.
#[derive(Clone)]
pub(super) struct Item<'s> {
    pub(super) onset: Time,
    pub(super) duration: Time,
    pub(super) ratio: (u32, u32),
    /// What it is of; nothing where a voice is silent and shows no rest.
    pub(super) event: Option<&'s Event>,
    pub(super) marks: Vec<Mark>,
    /// What stands between it and the bar line, where it is the last of its bar.
    pub(super) after: Vec<Mark>,
    /// Whether a longer note goes on here under a tie.
    pub(super) continues: bool,
    /// Whether the note goes on in the next item under a tie.
    pub(super) continued: bool,
    /// Which notes are tied onward.
    pub(super) ties: Vec<bool>,
    /// Slurs that begin: whether each is dotted.
    pub(super) opens: Vec<bool>,
    /// How many slurs end.
    pub(super) closes: u8,
    /// Whether it shares a beam with the item before.
    pub(super) joined: bool,
    /// Whether it fills its bar and nothing else stands in it.
    pub(super) whole_bar: bool,
}

impl<'s> Item<'s> {
    pub(super) fn of(event: &'s Event) -> Item<'s> {
        Item {
            ratio: event.ratio,
            marks: event.marks.clone(),
            event: Some(event),
            ..Item::gap(event.onset, event.duration)
        }
    }

    pub(super) fn gap(onset: Time, duration: Time) -> Item<'s> {
        Item {
            onset,
            duration,
            ratio: natural_ratio(duration),
            event: None,
            marks: Vec::new(),
            after: Vec::new(),
            continues: false,
            continued: false,
            ties: Vec::new(),
            opens: Vec::new(),
            closes: 0,
            joined: false,
            whole_bar: false,
        }
    }

    pub(super) fn is_note(&self) -> bool {
        self.event.is_some_and(|event| event.kind == Kind::Notes)
    }

    pub(super) fn is_grace(&self) -> bool {
        self.event.is_some_and(Event::is_grace)
    }

    pub(super) fn is_rest(&self) -> bool {
        self.event.is_none_or(Event::is_rest)
    }

    pub(super) fn hidden(&self) -> bool {
        self.event.is_none_or(|event| matches!(event.kind, Kind::Rest { hidden: true, .. }))
    }

    pub(super) fn notes(&self) -> &'s [Note] {
        self.event.map_or(&[], |event| &event.notes)
    }

    pub(super) fn end(&self) -> Time {
        self.onset + self.duration
    }

    /// Its length as its sign has it, the tuplet's part taken off.
    pub(super) fn written(&self) -> Time {
        self.duration * Time::new(self.ratio.0.into(), self.ratio.1.into())
    }

    /// The item in two at a place inside it. Only silence can be cut without a tie.
    pub(super) fn cut(&self, at: Time) -> (Item<'s>, Item<'s>) {
        let mut first = self.clone();
        first.duration = at - self.onset;
        let mut second = Item::gap(at, self.end() - at);
        second.event = self.event;
        for half in [&mut first, &mut second] {
            half.ratio = natural_ratio(half.duration);
            half.whole_bar = false;
        }
        (first, second)
    }
}

/// A layer of a bar from its events: gaps filled to `length`, rests cut there, lengths without a sign taken apart.
pub(super) fn layer<'s>(events: &[&'s Event], length: Time) -> Vec<Item<'s>> {
    let mut items: Vec<Item<'s>> = Vec::with_capacity(events.len());
    let mut now = Time::ZERO;
    for event in events {
        if event.onset > now {
            split(Item::gap(now, event.onset - now), &mut items);
        }
        let mut item = Item::of(event);
        let whole = matches!(event.kind, Kind::Rest { whole_measure: true, .. });
        if whole && event.onset == Time::ZERO && events.len() == 1 {
            (item.duration, item.ratio) = (length, natural_ratio(length));
        }
        if event.is_rest() && item.end() > length {
            if item.onset >= length {
                continue;
            }
            (item, _) = item.cut(length);
        }
        item.whole_bar = event.is_rest() && item.onset == Time::ZERO && item.end() == length;
        now = now.max(item.end());
        if item.is_grace() || item.whole_bar {
            items.push(item);
        } else if item.duration > Time::ZERO {
            split(item, &mut items);
        }
    }
    if now < length {
        let mut gap = Item::gap(now, length - now);
        gap.whole_bar = now == Time::ZERO;
        if gap.whole_bar { items.push(gap) } else { split(gap, &mut items) }
    }
    items
}

/// A length without a sign becomes several items, tied if they sound.
fn split<'s>(item: Item<'s>, items: &mut Vec<Item<'s>>) {
    let signs = signs(item.written());
    let last = signs.len().saturating_sub(1);
    let mut onset = item.onset;
    for (index, sign) in signs.iter().enumerate() {
        let duration = *sign * Time::new(item.ratio.1.into(), item.ratio.0.into());
        let mut piece = Item { onset, duration, ..item.clone() };
        piece.continues = index > 0;
        piece.continued = index < last && item.is_note();
        if index > 0 {
            piece.marks.clear();
        }
        onset += duration;
        items.push(piece);
    }
}
