//! Accidentals under other bar lines: those that a new line cancels are written out, those that were only written
//! because of a line that goes are taken away.

use super::head::Signed;
use super::plan::Plan;
use crate::Lowered;
use crate::write::respell::{between_lines, tied_previous};
use crate::write::signs::InForce;
use recte_score::{Event, Voice};
use recte_theory::Time;

/// What the notes of a voice are to have instead of what is typed, by note.
pub(super) fn signed(read: &Lowered, voice: &Voice, plan: &Plan<'_>) -> Signed {
    let walk = Walk { read, voice, plan };
    let events = walk.events();
    let old = walk.implied(&events);
    let mut signed = Signed::new();
    // Each is decided with those before it decided.
    let mut force = InForce::new(&read.tune, read.reach);
    let mut bar = None;
    let keeps = walk.repeats_accidentals();
    for (place, one) in events.iter().enumerate() {
        if bar.replace(one.new) != Some(one.new) {
            force.clear();
        }
        force.come_to(one.event);
        for index in one.event.notes.clone() {
            let note = &voice.notes[index as usize];
            let alter = note.written.name.alter;
            let tied = tied_previous(voice, index).map(|from| voice.notes[from as usize].written);
            let implied = force.implied(one.event, note.written, tied);
            let was = old[place][(index - one.event.notes.start) as usize];
            match note.accidental {
                None if implied != alter => {
                    signed.insert(index, Some(alter));
                }
                Some(typed)
                    if typed == alter
                        && implied == alter
                        && was != alter
                        // What the key says anyway is typed for courtesy after the line.
                        && read.tune.key(one.event).signature.alter(note.written.name.letter) != alter
                        && !keeps
                        && !walk.follows_loose_tie(index) =>
                {
                    signed.insert(index, None);
                }
                _ => {}
            }
            let typed = signed.get(&index).map_or(note.accidental, |sign| *sign);
            if typed.is_some() {
                force.record(note.written);
            }
        }
    }
    signed
}

/// An event with the bar it is in, old and new: for accidentals, from a typed line to the next.
struct Placed<'a> {
    event: &'a Event,
    old: (u32, u8),
    new: (usize, u8),
}

struct Walk<'a> {
    read: &'a Lowered,
    voice: &'a Voice,
    plan: &'a Plan<'a>,
}

impl<'a> Walk<'a> {
    /// The events of the bars, and those before and after that no typed bar line parts from them, in the order of
    /// the new bars and their layers.
    fn events(&self) -> Vec<Placed<'a>> {
        let (from, to) = (self.plan.from, self.plan.to);
        let first = between_lines(self.voice, from).0;
        let last = between_lines(self.voice, to).1;
        let (mut old, mut all) = (0, Vec::new());
        for index in first..=last {
            let bar = &self.voice.bars[index as usize];
            for event in self.voice.events_of(bar) {
                let new = match index {
                    _ if index < from => 0,
                    _ if index > to => self.lines_until(self.plan.start(to + 1)),
                    _ => self.lines_until(self.plan.start(index) + event.offset),
                };
                let layer = event.layer;
                all.push(Placed { event, old: (old, layer), new: (new, layer) });
            }
            old += u32::from(bar.line.is_some());
        }
        all.sort_by_key(|one| one.new);
        all
    }

    /// How many bar lines will be typed in the passage up to a moment. Where a line end stands for a bar line,
    /// accidentals reach on.
    fn lines_until(&self, at: Time) -> usize {
        let typed = |line: &Time| {
            let place = self.plan.old.iter().position(|old| old == line);
            let bar = place.map(|place| self.plan.from as usize + place - 1);
            bar.is_none_or(|bar| self.voice.bars[bar].line.is_some())
        };
        let inner = self.plan.new.iter().skip(1).take(self.plan.bars.len() - 1);
        inner.take_while(|line| **line <= at).filter(|line| typed(line)).count()
    }

    /// The alteration that each note has without its accidental, under the lines typed.
    fn implied(&self, events: &[Placed<'_>]) -> Vec<Vec<i8>> {
        let mut order: Vec<usize> = (0..events.len()).collect();
        order.sort_by_key(|&place| events[place].old);
        let mut force = InForce::new(&self.read.tune, self.read.reach);
        let mut bar = None;
        let mut all = vec![Vec::new(); events.len()];
        for place in order {
            let one = &events[place];
            if bar.replace(one.old) != Some(one.old) {
                force.clear();
            }
            force.come_to(one.event);
            for index in one.event.notes.clone() {
                let note = &self.voice.notes[index as usize];
                let tied = tied_previous(self.voice, index);
                let tied = tied.map(|from| self.voice.notes[from as usize].written);
                all[place].push(force.implied(one.event, note.written, tied));
                if note.accidental.is_some() {
                    force.record(note.written);
                }
            }
        }
        all
    }

    /// Whether a tie to another pitch of the same letter stands before a note: a bare letter would be taken for its
    /// goal.
    fn follows_loose_tie(&self, note: u32) -> bool {
        let own = &self.voice.notes[note as usize];
        let before = |other: u32| {
            let from = &self.voice.notes[other as usize];
            from.event < own.event && from.written.steps() == own.written.steps()
        };
        self.voice
            .loose_ties
            .iter()
            .any(|tie| tie.next.is_none_or(|next| next == own.event) && before(tie.note))
    }

    /// Whether accidentals are typed again within a bar more often than not: then that is how the composer writes.
    fn repeats_accidentals(&self) -> bool {
        let (mut again, mut bare) = (0, 0);
        let mut force = InForce::new(&self.read.tune, self.read.reach);
        for bar in &self.voice.bars {
            for event in self.voice.events_of(bar) {
                force.come_to(event);
                for note in self.voice.notes_of(event) {
                    let alter = note.written.name.alter;
                    let key = self.read.tune.key(event).signature.alter(note.written.name.letter);
                    if alter != key && force.implied(event, note.written, None) == alter {
                        *(if note.accidental.is_some() { &mut again } else { &mut bare }) += 1;
                    }
                    if note.accidental.is_some() {
                        force.record(note.written);
                    }
                }
            }
            if bar.line.is_some() {
                force.clear();
            }
        }
        again > bare
    }
}
