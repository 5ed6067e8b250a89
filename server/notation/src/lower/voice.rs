//! A voice while it is being read: what is in force, and where it stands in time.

use super::accidentals::Accidentals;
use super::barline::Line;
use super::words::move_events;
use crate::fields::Properties;
use recte_score::{Bar, Clef, ClefChange, Event, LineStyle, LooseTie, Note, Span, Voice};
use recte_theory::pitch::usual_steps;
use recte_theory::{Pitch, Time};

/// A note whose tie waits for another of its pitch.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OpenTie {
    pub(crate) note: u32,
    pub(crate) layer: u8,
    pub(crate) span: Span,
}

/// The reading position of one voice.
#[derive(Clone, Debug, Default)]
pub(crate) struct Position {
    pub(crate) unit: Time,
    pub(crate) metre: u16,
    pub(crate) key: u16,
    pub(crate) octave: i8,
    pub(crate) transpose: i32,
    pub(crate) clef_octaves: i8,
    pub(crate) accidentals: Accidentals,
    /// The bar being read, and how far into it.
    pub(crate) bar: u32,
    pub(crate) cursor: Time,
    pub(crate) layer: u8,
    /// The last event of this bar and layer that took time.
    pub(crate) last: Option<u32>,
    /// Open ties.
    pub(crate) ties: Vec<OpenTie>,
    /// Notes of the chord being read that are tied onward, and where that is typed.
    pub(crate) chord_ties: Vec<(u32, Span)>,
    /// Open slurs: where they are typed, and the event they begin with.
    pub(crate) slurs: Vec<(Span, u32)>,
    /// How long the last event was before broken rhythm changed it.
    pub(crate) typed: Time,
    /// Broken rhythm has just met notes of unequal length.
    pub(crate) uneven: Option<Span>,
    /// The music line being read, and the first event of this voice on it.
    pub(crate) line: u32,
    pub(crate) line_begin: u32,
    /// The times of an ending that begins with the next bar.
    pub(crate) endings: Option<Vec<u8>>,
    /// A repeat that opens with the next bar: how often it is played, and its bar line.
    pub(crate) opens: Option<(u8, Span)>,
    /// The tuplet being filled, and how many notes it still takes.
    pub(crate) tuplet: Option<(u32, u32)>,
    /// A broken-rhythm sign that waits for its second note: how many, and whether the first is lengthened.
    pub(crate) broken: Option<(u32, bool, Span)>,
    /// Where the things that belong to the next event begin.
    pub(crate) lead: Option<u32>,
    /// Whether nothing has parted the next event from the last one.
    pub(crate) joined: bool,
    /// A signature typed since the last event.
    pub(crate) metre_typed: Option<Span>,
    /// An ending begins with the next bar.
    pub(crate) ending: bool,
    /// What it is called, in more than numbers.
    pub(crate) ending_words: Option<Box<str>>,
    /// Layers were typed after the bars they belong to, so events must be sorted at the end.
    pub(crate) unsorted: bool,
}

impl Position {
    /// Takes properties that were typed.
    pub(crate) fn take(&mut self, properties: &Properties) {
        self.octave = properties.octave.unwrap_or(self.octave);
        self.transpose = properties.transpose.unwrap_or(self.transpose);
        self.clef_octaves = properties.clef_octaves.unwrap_or(self.clef_octaves);
    }

    /// What sounds for what is written.
    pub(crate) fn sounding(&self, written: Pitch) -> Pitch {
        let sounding = written.shifted_octaves(self.clef_octaves);
        if self.transpose == 0 {
            return sounding;
        }
        sounding.transposed(usual_steps(self.transpose), self.transpose)
    }

    /// The bar being read, opened if it is new.
    pub(crate) fn open_bar<'v>(&mut self, voice: &'v mut Voice) -> &'v mut Bar {
        while voice.bars.len() <= self.bar as usize {
            let start = voice.bars.last().map_or(Time::ZERO, |bar| bar.start + bar.length);
            let opens = self.opens.take();
            voice.bars.push(Bar {
                start,
                repeat_opens: opens.map_or(0, |(times, _)| times),
                repeat_line: opens.map(|(_, line)| line),
                endings: self.endings.take().unwrap_or_default(),
                metre: self.metre,
                key: self.key,
                layers: 1,
                ending: std::mem::take(&mut self.ending),
                ending_words: self.ending_words.take(),
                metre_typed: self.metre_typed.take(),
                ..Bar::default()
            });
        }
        &mut voice.bars[self.bar as usize]
    }

    /// Places an event after the last one: gives it its bar, offset, layer and tuplet, and lets time pass.
    pub(crate) fn place(&mut self, voice: &mut Voice, mut event: Event) -> u32 {
        let index = voice.events.len() as u32;
        if !event.grace {
            let typed = event.duration;
            self.break_rhythm(voice, &mut event);
            self.typed = typed;
            self.fill_tuplet(voice, &mut event);
        }
        event.offset = self.cursor;
        event.layer = self.layer;
        event.key = self.key;
        event.unit = self.unit;
        event.joined = self.joined && self.last_is_adjacent(voice);
        let lead = self.lead.take().unwrap_or(event.span.start);
        event.full = Span { start: lead.min(event.span.start), end: event.span.end };
        self.cursor += event.duration;
        let cursor = self.cursor;
        let layer = self.layer;
        let bar = self.open_bar(voice);
        bar.length = bar.length.max(cursor);
        bar.layers = bar.layers.max(layer.saturating_add(1));
        bar.span = if bar.events.is_empty() { event.full } else { bar.span.join(event.full) };
        bar.events.end += 1; // counted here, placed at the end
        event.bar = self.bar;
        if !event.grace {
            self.last = Some(index);
        }
        self.joined = true;
        voice.events.push(event);
        index
    }

    fn last_is_adjacent(&self, voice: &Voice) -> bool {
        voice.events.last().is_some_and(|last| last.bar == self.bar && last.layer == self.layer)
    }

    /// Broken rhythm: n signs make 2 − 1/2ⁿ and 1/2ⁿ of the two lengths (4.4).
    fn break_rhythm(&mut self, voice: &mut Voice, event: &mut Event) {
        let (Some((count, first_longer, sign)), Some(last)) = (self.broken.take(), self.last)
        else {
            return;
        };
        self.uneven = (self.typed != event.duration).then_some(sign);
        let short = Time::new(1, 1 << count);
        let long = Time::new(2, 1) - short;
        let (first, second) = if first_longer { (long, short) } else { (short, long) };
        let before = &mut voice.events[last as usize];
        let changed = before.duration * first;
        let later = changed - before.duration;
        self.cursor += later;
        before.duration = changed;
        before.broken = true;
        // Grace notes between the two move with the second.
        voice.events.iter_mut().skip(last as usize + 1).for_each(|grace| grace.offset += later);
        event.duration = event.duration * second;
        event.broken = true;
    }

    fn fill_tuplet(&mut self, voice: &Voice, event: &mut Event) {
        let Some((index, left)) = self.tuplet else { return };
        let tuplet = &voice.tuplets[index as usize];
        event.tuplet = Some(index);
        event.duration =
            event.duration * Time::new(i64::from(tuplet.normal), i64::from(tuplet.actual));
        self.tuplet = (left > 1).then_some((index, left - 1));
    }

    /// Ties the notes of a new event to those that wait for them.
    pub(crate) fn join_ties(&mut self, voice: &mut Voice, event: &Event) {
        let layer = self.layer;
        let waiting = std::mem::take(&mut self.ties);
        let (mut here, others): (Vec<_>, Vec<_>) =
            waiting.into_iter().partition(|tie| tie.layer == layer);
        self.ties = others;
        let mut joined: Vec<Span> = Vec::new();
        here.retain(|tie| {
            let pitch = voice.notes[tie.note as usize].pitch.midi();
            let to = event.notes.clone().find(|&to| {
                let note = &voice.notes[to as usize];
                note.pitch.midi() == pitch && !note.tied_in
            });
            if let Some(to) = to {
                let from = &mut voice.notes[tie.note as usize];
                (from.tied_out, from.tie_dotted) = (true, tie.is_dotted());
                voice.notes[to as usize].tied_in = true;
                joined.push(tie.span);
            }
            to.is_none()
        });
        // One sign ties a whole chord; it has done its work if any of its notes goes on.
        here.retain(|tie| !joined.contains(&tie.span));
        let next = Some(voice.events.len() as u32);
        voice.loose_ties.extend(here.into_iter().map(|tie| tie.loose(next)));
        self.ties.extend(self.chord_ties.drain(..).map(|(note, span)| OpenTie {
            note,
            layer,
            span,
        }));
    }

    /// A rest follows: the ties of this layer lead nowhere.
    pub(crate) fn drop_ties(&mut self, voice: &mut Voice) {
        let layer = self.layer;
        let next = Some(voice.events.len() as u32);
        let (here, others): (Vec<_>, Vec<_>) =
            std::mem::take(&mut self.ties).into_iter().partition(|tie| tie.layer == layer);
        self.ties = others;
        voice.loose_ties.extend(here.into_iter().map(|tie| tie.loose(next)));
    }

    /// The alteration that a tie brings to a bare letter.
    pub(crate) fn tied_alter(&self, voice: &Voice, bare: Pitch) -> Option<i8> {
        let waiting = self.ties.iter().filter(|tie| tie.layer == self.layer);
        waiting
            .map(|tie| voice.notes[tie.note as usize].written)
            .find(|written| written.steps() == bare.steps())
            .map(|written| written.name.alter)
    }

    /// What a bar line says of the bars on both its sides.
    pub(crate) fn say(&mut self, voice: &mut Voice, line: Line, span: Span) {
        if let Some(bar) = self.bar.checked_sub(1).and_then(|bar| voice.bars.get_mut(bar as usize))
        {
            bar.repeat_closes = bar.repeat_closes.max(line.closes);
            bar.section_ends |= line.section;
            if bar.style == LineStyle::Plain {
                bar.style = line.style;
            }
        }
        if line.opens > 0 {
            self.opens = Some((line.opens, span));
        }
    }

    /// A bar line: the bar ends, and what lasts only for a bar is forgotten.
    pub(crate) fn close_bar(&mut self, voice: &mut Voice, line: Span, strong: bool) {
        let opened = voice.bars.len() > self.bar as usize;
        if opened {
            self.bar += 1;
        }
        if let Some(bar) = self.bar.checked_sub(1).and_then(|bar| voice.bars.get_mut(bar as usize))
        {
            bar.line = bar.line.or(Some(line));
            bar.strong_line |= strong;
        }
        if self.bar as usize >= voice.bars.len() {
            self.layer = 0;
        }
        self.begin_bar();
    }

    /// A line of music ends. Old books and songs printed a phrase to a line leave the bar line out where the
    /// line end stands in its place: a bar that is just full ends there. Its accidentals reach on, since no bar
    /// line is typed.
    pub(crate) fn end_line(&mut self, voice: &Voice, full: Option<Time>) {
        let bar = voice.bars.get(self.bar as usize);
        if bar.is_some_and(|bar| Some(bar.length) == full && bar.layers == 1)
            && self.broken.is_none()
        {
            self.bar += 1;
            let accidentals = std::mem::take(&mut self.accidentals);
            self.begin_bar();
            self.accidentals = accidentals;
        }
    }

    /// An overlay sign: back over `count` bar lines, into a new layer.
    pub(crate) fn step_back(&mut self, voice: &Voice, count: u32) {
        let inside = voice.bars.len() > self.bar as usize;
        let back = if inside { count.saturating_sub(1) } else { count };
        self.unsorted |= back > 0;
        self.bar = self.bar.saturating_sub(back);
        self.layer = self.layer.saturating_add(1);
        self.begin_bar();
    }

    fn begin_bar(&mut self) {
        self.cursor = Time::ZERO;
        self.last = None;
        self.lead = None;
        self.joined = false;
        self.accidentals.clear();
    }
}

impl OpenTie {
    /// `.-` is dotted (4.11), and one sign longer than `-`.
    fn is_dotted(self) -> bool {
        self.span.end - self.span.start > 1
    }

    /// A tie that found no note of its pitch.
    pub(crate) fn loose(self, next: Option<u32>) -> LooseTie {
        LooseTie { note: self.note, span: self.span, next }
    }
}

/// Puts events into the order of their bars and layers, and gives every bar its range.
pub(crate) fn settle(voice: &mut Voice, unsorted: bool) {
    if unsorted {
        sort_by_bar(voice);
    }
    let mut at = 0;
    for bar in &mut voice.bars {
        let count = bar.events.end - bar.events.start;
        bar.events = at..at + count;
        at += count;
    }
}

fn sort_by_bar(voice: &mut Voice) {
    let mut order: Vec<u32> = (0..voice.events.len() as u32).collect();
    order.sort_by_key(|&index| voice.events[index as usize].bar);
    let mut place = vec![0; order.len() + 1];
    place[order.len()] = order.len() as u32;
    for (new, &old) in order.iter().enumerate() {
        place[old as usize] = new as u32;
    }
    let moved = |index: u32| place.get(index as usize).copied().unwrap_or(index);
    voice.events = order.iter().map(|&old| voice.events[old as usize].clone()).collect();
    voice.notes.iter_mut().for_each(|note: &mut Note| note.event = moved(note.event));
    voice.marks.iter_mut().for_each(|mark| mark.event = moved(mark.event));
    move_events(voice, moved);
    let mut start = voice.bars.first().map_or(Time::ZERO, |bar| bar.start);
    for bar in &mut voice.bars {
        bar.start = start;
        start += bar.length;
    }
}

/// A new voice with the properties it was declared with.
pub(crate) fn declare(id: &str, properties: &Properties, declared: Span) -> Voice {
    let mut voice = Voice { id: id.to_owned(), declared, ..Voice::default() };
    describe(&mut voice, properties);
    voice
}

/// Adds what a later field says of a voice.
pub(crate) fn describe(voice: &mut Voice, properties: &Properties) {
    if let Some(name) = &properties.name {
        voice.name.clone_from(name);
    }
    if let Some(subname) = &properties.subname {
        voice.subname.clone_from(subname);
    }
    let clef = new_clef(voice, properties);
    if !voice.events.is_empty() {
        return change_clef(voice, clef, properties.transpose);
    }
    voice.clef = clef.unwrap_or_else(|| std::mem::take(&mut voice.clef));
    if let Some(transpose) = properties.transpose {
        voice.transpose = transpose;
        voice.transposes = true;
    }
}

/// The clef that is typed, or the octave of the one in force.
fn new_clef(voice: &Voice, properties: &Properties) -> Option<Clef> {
    let octaves = properties.clef_octaves;
    let now = voice.clef_changes.last().map_or(&voice.clef, |change| &change.clef);
    match (&properties.clef, octaves) {
        (Some(name), _) => Some(Clef {
            name: name.clone(),
            line: properties.clef_line,
            octaves: octaves.unwrap_or(0),
        }),
        (None, Some(octaves)) => Some(Clef { octaves, ..now.clone() }),
        (None, None) => None,
    }
}

/// A clef or a transposition typed after the first note holds from the next event on.
fn change_clef(voice: &mut Voice, clef: Option<Clef>, transpose: Option<i32>) {
    if clef.is_none() && transpose.is_none() {
        return;
    }
    let event = voice.events.len() as u32;
    let (before, semitones) = match voice.clef_changes.last() {
        Some(change) => (&change.clef, change.transpose),
        None => (&voice.clef, voice.transpose),
    };
    let change = ClefChange {
        event,
        clef: clef.unwrap_or_else(|| before.clone()),
        transpose: transpose.unwrap_or(semitones),
    };
    if change.clef != *before || change.transpose != semitones {
        voice.clef_changes.retain(|earlier| earlier.event < event);
        voice.clef_changes.push(change);
    }
}
