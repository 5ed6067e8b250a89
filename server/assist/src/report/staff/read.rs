//! Bars of a tune that was read, as a staff.

use super::{Bow, Bracket, Change, Figure, Front, Head, Item, Staff, StaffBar};
use recte_score::signs::{Sign, grace_signs, layer_beams, pieces};
use recte_score::{Bar, Clef, Event, EventKind, MarkKind, Note, Span, Tune, Voice};
use recte_theory::Time;
use std::ops::Range;

/// The alterations there are signs for.
const ALTERATIONS: std::ops::RangeInclusive<i8> = -2..=2;
/// Breves to 128ths.
const HALVINGS: std::ops::RangeInclusive<i32> = -1..=7;

/// What one event is drawn as: how long each sign lasts, and its value.
type Signs = Vec<(Time, Option<Sign>)>;

/// The pitch on the middle line of a staff, in steps (C4 is 28). Percussion stands as under a treble clef.
fn middle(clef: &Clef) -> i32 {
    let (pitch, line) = clef.marks();
    pitch.steps() + 2 * (3 - i32::from(line))
}

/// What is in force at an event.
pub(super) fn front_at(tune: &Tune, voice: &Voice, bar: &Bar, event: Option<u32>) -> Front {
    let own = event.and_then(|at| voice.events.get(at as usize));
    let key = own.map_or(bar.key, |event| event.key);
    Front {
        clef: voice.clef_at(event.unwrap_or(bar.events.start)).clone(),
        signature: tune.keys.get(key as usize).map(|key| key.signature).unwrap_or_default(),
        metre: tune.metre(bar).clone(),
    }
}

/// The bars of a voice; `settle` says what is truly in force at their beginning, `about` what a remark is about. None where there is
/// something that cannot be drawn.
pub(super) fn read(
    tune: &Tune,
    voice: &Voice,
    bars: Range<usize>,
    settle: impl Fn(Front) -> Front,
    about: &[Span],
) -> Option<Staff> {
    let own = voice.bars.get(bars.clone())?;
    let first = own.first()?;
    let mut typed = front_at(tune, voice, first, own.iter().find_map(first_event));
    let mut reader = Reader {
        tune,
        voice,
        about,
        front: settle(typed.clone()),
        items: Vec::new(),
        events: Vec::new(),
    };
    let front = reader.front.clone();
    let mut shown = Vec::new();
    for bar in own {
        let begins = reader.items.len();
        reader.bar(bar, &mut typed)?;
        shown.push(StaffBar {
            items: begins..reader.items.len(),
            layers: bar.layers.max(1),
            length: bar.length,
            opens: bar.repeat_opens > 0,
            closes: bar.repeat_closes > 0,
            line: bar.line.map(|_| bar.style),
            ending: bar.ending.then(|| ending(bar)),
        });
    }
    let (tuplets, slurs) = (reader.tuplets(), reader.slurs());
    (!reader.items.is_empty()).then_some(Staff {
        front,
        bars: shown,
        items: reader.items,
        tuplets,
        slurs,
    })
}

fn first_event(bar: &Bar) -> Option<u32> {
    bar.events.clone().next()
}

/// "1., 2."
fn ending(bar: &Bar) -> String {
    match &bar.ending_words {
        Some(words) => words.to_string(),
        None => bar.endings.iter().map(|time| format!("{time}.")).collect::<Vec<_>>().join(" "),
    }
}

struct Reader<'a> {
    tune: &'a Tune,
    voice: &'a Voice,
    about: &'a [Span],
    /// What is in force.
    front: Front,
    items: Vec<Item>,
    /// The event of each item.
    events: Vec<u32>,
}

impl Reader<'_> {
    fn bar(&mut self, bar: &Bar, typed: &mut Front) -> Option<()> {
        let indexes: Vec<u32> = bar.events.clone().collect();
        let events: Vec<&Event> = self.voice.events_of(bar).iter().collect();
        let runs = indexes.iter().zip(&events).collect::<Vec<_>>();
        for layer in runs.chunk_by(|a, b| a.1.layer == b.1.layer) {
            let indexes: Vec<u32> = layer.iter().map(|(index, _)| **index).collect();
            let events: Vec<&Event> = layer.iter().map(|(_, event)| **event).collect();
            self.layer(bar, &indexes, &events, typed)?;
        }
        Some(())
    }

    fn layer(
        &mut self,
        bar: &Bar,
        indexes: &[u32],
        events: &[&Event],
        typed: &mut Front,
    ) -> Option<()> {
        let drawn = self.signs(events)?;
        let signs: Vec<Vec<Option<Sign>>> =
            drawn.iter().map(|all| all.iter().map(|(_, sign)| *sign).collect()).collect();
        let beams = layer_beams(events, &signs);
        for (at, (&index, &event)) in indexes.iter().zip(events).enumerate() {
            let mut changes = self.changes(bar, index, typed);
            let mut start = event.offset;
            let count = drawn[at].len();
            for (piece, (lasts, sign)) in drawn[at].iter().enumerate() {
                let mut item = self.item(index, event)?;
                (item.start, item.lasts, item.sign) = (start, *lasts, *sign);
                item.goes_on = piece > 0;
                item.symbol = item.symbol.filter(|_| piece == 0);
                item.changes = std::mem::take(&mut changes);
                item.beams.clone_from(&beams[at]);
                for head in &mut item.heads {
                    head.tied_in |= piece > 0;
                    head.tied_out |= piece + 1 < count;
                    head.accidental = head.accidental.filter(|_| piece == 0);
                }
                start += *lasts;
                self.items.push(item);
                self.events.push(index);
            }
        }
        Some(())
    }

    /// What each event is drawn as.
    fn signs(&self, events: &[&Event]) -> Option<Vec<Signs>> {
        let mut all = Vec::new();
        for run in events.chunk_by(|a, b| a.grace == b.grace) {
            if run.first().is_some_and(|event| event.grace) {
                let lengths: Vec<Time> = run.iter().map(|event| event.grace_length).collect();
                all.extend(grace_signs(&lengths).into_iter().map(|sign| vec![(Time::ZERO, sign)]));
                continue;
            }
            for event in run {
                all.push(self.pieces(event)?);
            }
        }
        let can = |sign: &Option<Sign>| sign.is_none_or(|one| HALVINGS.contains(&one.halvings()));
        all.iter().flatten().all(|(_, sign)| can(sign)).then_some(all)
    }

    fn pieces(&self, event: &Event) -> Option<Signs> {
        if matches!(event.kind, EventKind::BarRest(_)) {
            return Some(vec![(event.duration, None)]);
        }
        let tuplet = event.tuplet.and_then(|at| self.voice.tuplets.get(at as usize));
        let ratio = tuplet.map(|tuplet| (tuplet.actual, tuplet.normal));
        let all = pieces(event.duration, ratio, event.offset);
        // A tuplet that is not typed has no number to draw.
        let named = |told: Option<(i64, i64)>| told == ratio.map(|(a, n)| (a.into(), n.into()));
        all.iter().all(|piece| piece.sign.is_some() && named(piece.ratio)).then_some(())?;
        Some(all.iter().map(|piece| (piece.duration, piece.sign)).collect())
    }

    /// What takes over before an event.
    fn changes(&mut self, bar: &Bar, index: u32, typed: &mut Front) -> Vec<Change> {
        let now = front_at(self.tune, self.voice, bar, Some(index));
        let mut changes = Vec::new();
        if now.clef != typed.clef {
            self.front.clef = now.clef.clone();
            changes.push(Change::Clef(now.clef.clone()));
        }
        if now.signature != typed.signature {
            changes.push(Change::Key(now.signature, self.front.signature));
            self.front.signature = now.signature;
        }
        if now.metre.to_string() != typed.metre.to_string() {
            self.front.metre = now.metre.clone();
            changes.push(Change::Metre(now.metre.clone()));
        }
        *typed = now;
        changes
    }

    fn item(&self, index: u32, event: &Event) -> Option<Item> {
        let figure = match event.kind {
            EventKind::Notes => Figure::Notes,
            EventKind::InvisibleRest => Figure::Room,
            _ if event.hidden => Figure::Room,
            EventKind::Rest => Figure::Rest,
            EventKind::BarRest(_) => Figure::BarRest,
        };
        let is_about = |span: Span| self.about.iter().any(|about| about.overlaps(span));
        let middle = middle(&self.front.clef);
        let loose = |at: usize| self.voice.loose_ties.iter().any(|tie| tie.note as usize == at);
        let head = |(note, at): (&Note, usize)| {
            note.accidental.is_none_or(|alter| ALTERATIONS.contains(&alter)).then(|| Head {
                step: note.written.steps() - middle,
                accidental: note.accidental,
                tied_in: note.tied_in,
                tied_out: note.tied_out || loose(at),
                told: is_about(note.span),
            })
        };
        let notes = self.voice.notes_of(event).iter().zip(event.notes.start as usize..);
        let mut heads = notes.map(head).collect::<Option<Vec<Head>>>()?;
        heads.sort_by_key(|head| (head.step, head.accidental));
        let symbol = self
            .voice
            .marks
            .iter()
            .find(|mark| mark.event == index && mark.kind == MarkKind::ChordSymbol);
        Some(Item {
            figure,
            layer: event.layer,
            start: event.offset,
            lasts: event.duration,
            sign: None,
            told: is_about(event.span) || heads.iter().any(|head| head.told),
            heads,
            beams: Vec::new(),
            grace: event.grace,
            slashed: event.slashed,
            goes_on: false,
            changes: Vec::new(),
            symbol: symbol.map(|mark| mark.text.to_string()),
        })
    }

    fn tuplets(&self) -> Vec<Bracket> {
        let own = |at: usize| {
            self.voice.events[self.events[at] as usize].tuplet.filter(|_| !self.items[at].grace)
        };
        let mut all: Vec<(u32, Bracket)> = Vec::new();
        for (at, tuplet) in (0..self.items.len()).filter_map(|at| Some((at, own(at)?))) {
            match all.iter_mut().find(|(other, _)| *other == tuplet) {
                Some((_, bracket)) => bracket.last = at,
                None => {
                    let number =
                        self.voice.tuplets.get(tuplet as usize).map_or(0, |one| one.actual);
                    all.push((tuplet, Bracket { first: at, last: at, number }));
                }
            }
        }
        all.into_iter().map(|(_, bracket)| bracket).collect()
    }

    fn slurs(&self) -> Vec<Bow> {
        let (Some(first), Some(last)) = (self.events.iter().min(), self.events.iter().max()) else {
            return Vec::new();
        };
        let own = self.voice.slurs.iter().filter(|slur| slur.to >= *first && slur.from <= *last);
        let bow = |slur: &recte_score::Slur| Bow {
            from: self.events.iter().position(|event| *event == slur.from),
            to: self.events.iter().rposition(|event| *event == slur.to),
            dotted: slur.dotted,
        };
        let outside = |bow: &Bow| bow.from.is_none() && bow.to.is_none();
        own.map(bow).filter(|bow| !outside(bow)).collect()
    }
}
