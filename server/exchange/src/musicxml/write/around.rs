//! What belongs to the events of one voice beside their notes: marks, slurs, syllables, tuplets.

use recte_score::{Event, Mark, MarkPlace, Syllable, Voice};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Slurs, or hairpins, that may be open at once in a part (`number-level` of the standard).
const MOST_OPEN: usize = 16;

/// The numbers that slurs or hairpins of one of so many voices of a part may have, so that none has another's.
pub(super) fn numbers_of(place: usize, voices: usize) -> Range<usize> {
    let each = (MOST_OPEN / voices.max(1)).max(1);
    let first = place * each + 1;
    first..(first + each).min(MOST_OPEN + 1)
}

/// A slur's end at an event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct SlurEnd {
    pub(super) number: usize,
    pub(super) start: bool,
    pub(super) dotted: bool,
}

/// A syllable of a verse.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Sung {
    pub(super) verse: u16,
    /// "single", "begin", "middle" or "end".
    pub(super) syllabic: &'static str,
    /// The text; none where the one before is held.
    pub(super) text: Option<String>,
    /// "start", "continue" or "stop" of the line that shows a held syllable.
    pub(super) extend: Option<&'static str>,
}

/// What stands around the events of one voice.
pub(super) struct Around<'a> {
    marks: BTreeMap<u32, Vec<&'a Mark>>,
    lines: BTreeMap<u32, Vec<&'a Mark>>,
    pub(super) slurs: BTreeMap<u32, Vec<SlurEnd>>,
    pub(super) syllables: BTreeMap<u32, Vec<Sung>>,
    /// The first and last event of each tuplet.
    pub(super) tuplet_first: BTreeSet<u32>,
    pub(super) tuplet_last: BTreeSet<u32>,
}

impl<'a> Around<'a> {
    /// `numbers` are those its slurs may have.
    pub(super) fn of(
        voice: &'a Voice,
        numbers: Range<usize>,
        left_out: &mut Vec<String>,
    ) -> Around<'a> {
        let mut around = Around {
            marks: BTreeMap::new(),
            lines: BTreeMap::new(),
            slurs: BTreeMap::new(),
            syllables: BTreeMap::new(),
            tuplet_first: BTreeSet::new(),
            tuplet_last: BTreeSet::new(),
        };
        for mark in &voice.marks {
            let next = voice.events.get(mark.event as usize);
            match mark.on {
                // A sign before the line that opens a bar stands before its first note.
                MarkPlace::BarLine(bar) if next.is_none_or(|event| event.bar > bar) => {
                    around.lines.entry(bar).or_default().push(mark);
                }
                _ => around.marks.entry(mark.event).or_default().push(mark),
            }
        }
        around.take_slurs(voice, numbers, left_out);
        around.take_syllables(voice);
        around.take_tuplets(&voice.events);
        around
    }

    /// The marks of an event.
    pub(super) fn marks(&self, event: u32) -> &[&'a Mark] {
        self.marks.get(&event).map_or(&[], Vec::as_slice)
    }

    /// The marks on the line after a bar.
    pub(super) fn on_line(&self, bar: u32) -> &[&'a Mark] {
        self.lines.get(&bar).map_or(&[], Vec::as_slice)
    }

    fn take_slurs(&mut self, voice: &Voice, numbers: Range<usize>, left_out: &mut Vec<String>) {
        let mut open: Vec<(usize, u32)> = Vec::new(); // number and last event
        let mut slurs: Vec<_> = voice.slurs.iter().filter(|slur| slur.from < slur.to).collect();
        slurs.sort_by_key(|slur| (slur.from, std::cmp::Reverse(slur.to)));
        for slur in slurs {
            open.retain(|(_, last)| *last >= slur.from);
            let free = |number: &usize| open.iter().all(|(taken, _)| taken != number);
            let Some(number) = numbers.clone().find(free) else {
                left_out.push(
                    "More slurs are open at once than MusicXML has numbers for (16 on a staff); the innermost are left out."
                        .to_owned(),
                );
                continue;
            };
            open.push((number, slur.to));
            let mut add = |event, start| {
                let end = SlurEnd { number, start, dotted: slur.dotted };
                self.slurs.entry(event).or_default().push(end);
            };
            add(slur.from, true);
            add(slur.to, false);
        }
        // What ends at a note comes before what begins there.
        self.slurs.values_mut().for_each(|ends| ends.sort_by_key(|end| end.start));
    }

    fn take_syllables(&mut self, voice: &Voice) {
        let mut verses: BTreeMap<u16, Vec<&Syllable>> = BTreeMap::new();
        for syllable in &voice.syllables {
            verses.entry(syllable.verse).or_default().push(syllable);
        }
        for (verse, mut sung) in verses {
            sung.sort_by_key(|syllable| syllable.event);
            let mut joined = false;
            for (index, syllable) in sung.iter().enumerate() {
                let next_held = sung.get(index + 1).is_some_and(|next| next.held);
                if syllable.held {
                    let extend = (!joined).then_some(if next_held { "continue" } else { "stop" });
                    let held = Sung { verse, syllabic: "single", text: None, extend };
                    if extend.is_some() {
                        self.syllables.entry(syllable.event).or_default().push(held);
                    }
                    continue;
                }
                let syllabic = match (joined, syllable.joined) {
                    (false, false) => "single",
                    (false, true) => "begin",
                    (true, true) => "middle",
                    (true, false) => "end",
                };
                joined = syllable.joined;
                let extend = (next_held && !joined).then_some("start");
                let text = Some(syllable.text.to_string());
                let sung = Sung { verse, syllabic, text, extend };
                self.syllables.entry(syllable.event).or_default().push(sung);
            }
        }
    }

    fn take_tuplets(&mut self, events: &[Event]) {
        let mut last: Option<(u32, u32)> = None; // tuplet and event
        for (index, event) in (0..).zip(events).filter(|(_, event)| !event.grace) {
            if let Some((tuplet, before)) = last
                && event.tuplet != Some(tuplet)
            {
                self.tuplet_last.insert(before);
            }
            if let Some(tuplet) = event.tuplet
                && last.map(|(before, _)| before) != Some(tuplet)
            {
                self.tuplet_first.insert(index);
            }
            last = event.tuplet.map(|tuplet| (tuplet, index));
        }
        self.tuplet_last.extend(last.map(|(_, event)| event));
    }
}
