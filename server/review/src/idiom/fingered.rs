//! Chords on strings, bowed or fretted, as one player meets them, and what is said of those that do not lie.

use super::{Held, Moment, Player, Reading, Remark, Stroke};
use crate::context::Context;
use crate::finding::Fix;
use crate::words::and_texts;
use recte_notation::write::TextEdit;
use recte_score::players::{Divisi, Players};
use recte_score::{Dynamic, Note, Span};
use recte_theory::Pitch;
use recte_theory::playability::Verdict;
use recte_theory::playability::fingerboard::{self, Fingering, Obstacle};
use std::collections::HashMap;

/// Seconds from which on a soft chord of three notes is held rather than struck.
const HELD: f64 = 1.5;

type Asked = (Vec<i32>, fingerboard::Stroke);

/// The chords of one player that do not lie, in order.
pub(crate) fn remarks<'a>(context: &Context<'a>, player: &Player<'a>) -> Vec<Remark<'a>> {
    let mut known: HashMap<Asked, Option<(Verdict, Reading)>> = HashMap::new();
    let mut remarks = Vec::new();
    for moment in player.moments(context) {
        let notes: Vec<&'a Note> = moment.notes.iter().map(|held| note_of(context, held)).collect();
        if !is_one_players(player, notes.len()) {
            continue;
        }
        let Some(struck) = moment.notes.iter().find(|held| held.struck) else { continue };
        let Some(stroke) = player.stroke(context, struck) else { continue };
        if stroke.harmonic || stroke.broken || stroke.tremolo {
            continue;
        }
        let way = way(context, moment, stroke);
        let asked = (notes.iter().map(|note| note.pitch.midi()).collect(), way);
        let judged = known.entry(asked).or_insert_with(|| {
            let judge = |reading| Some((fingering(player, &notes, reading, way)?.verdict, reading));
            let verdict = |found: &Option<(Verdict, Reading)>| found.map_or(Verdict::Easy, |f| f.0);
            player.kindest(context, judge, verdict)
        });
        let Some((verdict, reading)) = *judged else { continue };
        if verdict < Verdict::Awkward {
            continue;
        }
        let Some(lies) = fingering(player, &notes, reading, way) else { continue };
        let Some(message) = message(player, &notes, reading, &lies) else { continue };
        remarks.push(Chord { context, player, moment, notes: &notes, reading, way }.remark(
            struck.voice,
            lies.verdict,
            message,
        ));
    }
    remarks
}

/// Whether one player may have so many notes: two on one staff have a note each, and so have the desks of a divided section.
pub(super) fn is_one_players(player: &Player<'_>, notes: usize) -> bool {
    player.players == Players::Section(Divisi::Open) || player.players.share_of(notes) > 1
}

pub(super) fn note_of<'a>(context: &Context<'a>, held: &Held) -> &'a Note {
    &context.tune.voices[held.voice].notes[held.note as usize]
}

fn fingering(
    player: &Player<'_>,
    notes: &[&Note],
    reading: Reading,
    way: fingerboard::Stroke,
) -> Option<Fingering> {
    let sounding: Vec<Pitch> = notes.iter().map(|note| reading.sounding(note)).collect();
    fingerboard::chord(player.instrument, &sounding, way, player.level)
}

/// Whether a chord is held, struck or plucked. Three or four notes are broken by the bow unless they are soft and long.
pub(super) fn way(context: &Context<'_>, moment: &Moment, stroke: &Stroke) -> fingerboard::Stroke {
    if stroke.plucked {
        return fingerboard::Stroke::Plucked;
    }
    let end = moment.notes.iter().map(|held| held.end).min().unwrap_or(moment.onset);
    let long = context.idiom().clock(context.tune).between(moment.onset, end);
    let soft = stroke.dynamic.is_some_and(|dynamic| dynamic <= Dynamic::P);
    match long {
        Some(seconds) if soft && seconds.least >= HELD => fingerboard::Stroke::Held,
        _ if moment.notes.len() < 3 => fingerboard::Stroke::Held,
        _ => fingerboard::Stroke::Short,
    }
}

/// One sentence on what is in the way; nothing where another rule says it.
fn message(
    player: &Player<'_>,
    notes: &[&Note],
    reading: Reading,
    lies: &Fingering,
) -> Option<String> {
    let name = player.name();
    let called = |at: usize| notes.get(at).map(|note| reading.written(note).symbol());
    let both = |[a, b]: [usize; 2]| Some(format!("{} and {}", called(a)?, called(b)?));
    let chord = || self::called(reading, notes);
    let strings = player.instrument.open_strings.len();
    Some(match lies.obstacle? {
        Obstacle::BelowLowest { .. } => return None,
        Obstacle::TooManyNotes { most } => {
            format!("The {name} sounds {most} notes at once; here are {}.", notes.len())
        }
        Obstacle::TooManyHeld { .. } => format!(
            "A bow holds two notes; {} can be broken, loud and short, but not held so softly.",
            chord()
        ),
        Obstacle::TooHigh { note } => {
            format!(
                "{} in this chord lies higher on the string than a {name} chord goes.",
                called(note)?
            )
        }
        Obstacle::OneString { notes, string } => {
            let string = &player.instrument.open_strings.get(string)?.name;
            format!("{} both lie only on the {name}'s {string} string.", both(notes)?)
        }
        Obstacle::TooFewStrings { notes: some, strings: few } => format!(
            "{some} notes of this chord lie on only {few} of the {name}'s {strings} strings."
        ),
        Obstacle::NotNeighbours => format!(
            "{} do not lie on neighbouring strings of the {name}; the bow cannot take them together.",
            chord()
        ),
        Obstacle::Reach { notes } => {
            let ease = if lies.verdict == Verdict::Impossible { "" } else { " with ease" };
            format!("{} lie further apart on the {name} than a hand reaches{ease}.", both(notes)?)
        }
        Obstacle::TooManyFingers { fingers } => {
            format!("This chord takes {fingers} fingers on the {name}; players have four.")
        }
        Obstacle::FlatFinger => {
            "One finger would have to lie flat over three strings in this chord.".to_owned()
        }
        Obstacle::NotForSchool => {
            format!("School players of the {name} have not learnt this stop yet.")
        }
    })
}

/// "G3, D4 and B4", as the player reads them.
pub(super) fn called(reading: Reading, notes: &[&Note]) -> String {
    let names: Vec<String> = notes.iter().map(|note| reading.written(note).symbol()).collect();
    and_texts(&names)
}

/// A chord that does not lie.
struct Chord<'c, 'a> {
    context: &'c Context<'a>,
    player: &'c Player<'a>,
    moment: &'c Moment,
    notes: &'c [&'a Note],
    reading: Reading,
    way: fingerboard::Stroke,
}

impl<'a> Chord<'_, 'a> {
    fn remark(&self, voice: usize, verdict: Verdict, mut message: String) -> Remark<'a> {
        let mut verdict = verdict;
        let mut fixes: Vec<Fix> = Vec::new();
        // A section divides what one player cannot take.
        if self.player.players == Players::Section(Divisi::Open) && verdict >= Verdict::Hard {
            verdict = Verdict::Hard;
            message.truncate(message.trim_end_matches('.').len());
            message.push_str("; divided, it is easy.");
            fixes.extend(self.divide());
        } else {
            fixes.extend(self.left_out());
        }
        let first = self.moment.notes.iter().position(|held| held.struck).unwrap_or_default();
        Remark {
            fixes,
            again: "Such a chord".to_owned(),
            ..Remark::new(voice, self.notes[first], verdict, message)
        }
    }

    /// The event whose notes these are, if it has all of them.
    fn event(&self) -> Option<&'a recte_score::Event> {
        let voice = &self.context.tune.voices[self.moment.notes.first()?.voice];
        let event = self.notes.first()?.event;
        let one = self.moment.notes.iter().zip(self.notes);
        let one = one.into_iter().all(|(held, note)| held.struck && note.event == event);
        one.then(|| &voice.events[event as usize])
    }

    fn divide(&self) -> Option<Fix> {
        let place = self.event()?.full.start;
        let span = Span { start: place, end: place };
        let edit = TextEdit { span, text: "\"^div.\"".to_owned() };
        Some(self.context.fix("Write div. over it".to_owned(), vec![edit]))
    }

    /// The chord without the one note that lets the rest lie best: neither the highest nor, if another will do, the lowest.
    fn left_out(&self) -> Option<Fix> {
        self.event()?;
        let count = self.notes.len();
        if count < 3 || self.notes.iter().any(|note| note.tied_in || note.tied_out) {
            return None;
        }
        let without = |at: usize| {
            let rest: Vec<&Note> = (0..count).filter(|n| *n != at).map(|n| self.notes[n]).collect();
            let lies = fingering(self.player, &rest, self.reading, self.way)?;
            (lies.verdict < Verdict::Hard).then_some((lies.verdict, at == 0, at))
        };
        let (_, _, at) = (0..count - 1).filter_map(without).min()?;
        let note = self.notes[at];
        let title =
            format!("Leave out {} (changes the music)", self.reading.written(note).symbol());
        self.context.suggestion(title, vec![TextEdit { span: note.span, text: String::new() }])
    }
}
