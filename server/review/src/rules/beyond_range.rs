//! # A note the instrument does not have
//!
//! Every instrument has a lowest note, and a highest that its players can be asked for. A note beyond it
//! is found out at the first rehearsal, when it is too late to move the phrase.
//!
//! The instrument is known from `%%recte instrument VOICE NAME`, else from the voice's name or abbreviation.
//! Where that leaves a doubt nothing is said. A part typed with `transpose=` or with an octave clef is shifted
//! once, a part typed at concert pitch not at all; where the text does not say how it was typed, a note is told
//! of only if it lies outside either way. Notes marked as harmonics
//! are left alone. Where a part goes beyond one end in more than three bars, the fourth remark speaks for the
//! rest of them: the part may be meant for somebody else. The players' level comes from `%%recte level VOICE LEVEL` or from the configuration:
//! professional, advanced, school.
//!
//! Ranges are what can be asked for in writing, not a promise that a player likes it. For a singer or a
//! brass player the top of a range is a strain: never push for it, and let the player, the teacher or, where
//! something hurts, a clinician decide.
//!
//! What to do: move the note or the phrase by an octave, or give it to another instrument.
//!
//! Source: the instrument table (`recte instruments`), where each range names its own, such as the
//! Orchestra Library Information of standard ranges and Rimsky-Korsakov's "Principles of Orchestration";
//! what has none is marked "from memory".
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Cello" clef=bass
//! C,B,,A,,,G,|
//! ```
//! ```abc flagged
//! X:1
//! L:1/4
//! %%recte instrument top Flute
//! K:C
//! V:top
//! cBA,G|
//! ```
//! A part for a clarinet in B flat, typed as its player reads it:
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Clarinet in B-flat" transpose=-2
//! E,F,G,A,|
//! ```
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! V:1 name="Somebody"
//! C,,,B,,,A,,,G,|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Related, Severity};
use crate::rule::{Family, Rule};
use recte_notation::write::{TextEdit, pitch_text};
use recte_score::players::{Playing, knows, said_of};
use recte_score::{Event, Instruction, MarkKind, Note, Voice};
use recte_theory::instruments::{Instrument, Level, Range};
use recte_theory::{Pitch, instruments::Family as Section};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "a note that the named instrument does not have",
    check,
};

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for instruction in &context.tune.instructions {
        findings.extend(unknown(context, instruction));
    }
    for (index, voice) in context.voices() {
        let playing = context.playing(index).iter();
        for part in playing.filter_map(|playing| Part::of(context, voice, playing)) {
            part.check(context, index, findings);
        }
    }
}

/// An instruction that names no instrument, level or voice.
fn unknown(context: &Context<'_>, instruction: &Instruction) -> Option<Finding> {
    let value = &instruction.value;
    let known_voice = context.tune.voices.iter().any(|voice| voice.id == instruction.voice);
    // While the header is being typed, its voices are still to come.
    if !known_voice && !context.has_music() {
        return None;
    }
    let message = if !known_voice {
        format!("There is no voice “{}” in this tune.", instruction.voice)
    } else if instruction.what == "level" {
        if level(value).is_some() {
            return None;
        }
        format!("“{value}” is no level; there are professional, advanced and school.")
    } else {
        let roster = &context.config.roster;
        match (knows(value, roster), roster.nearest(value)) {
            (true, _) => return None,
            (false, Some(near)) => {
                format!("No instrument “{value}” is known; the nearest is “{near}”.")
            }
            (false, None) => format!("No instrument “{value}” is known."),
        }
    };
    Some(context.at(instruction.span, message))
}

fn level(word: &str) -> Option<Level> {
    match word {
        "professional" => Some(Level::Professional),
        "advanced" => Some(Level::Advanced),
        "school" => Some(Level::School),
        _ => None,
    }
}

/// A voice whose instrument is known.
struct Part<'a> {
    voice: &'a Voice,
    instrument: &'a Instrument,
    events: &'a [Event],
    level: Level,
    range: Range,
}

/// In so many bars each note beyond an end of the range has its remark; the next speaks for all that follow.
const MANY: usize = 3;

/// What was told of one end of the range.
#[derive(Default)]
struct Told {
    /// Remarks so far.
    count: usize,
    /// The bar of the last note told of.
    bar: Option<u32>,
    /// The last remark, by index.
    last: Option<usize>,
}

/// Which end of the range a note lies beyond.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Beyond {
    Below,
    Above,
}

impl<'a> Part<'a> {
    fn of(context: &Context<'a>, voice: &'a Voice, playing: &Playing<'a>) -> Option<Part<'a>> {
        let instrument = playing.instrument;
        let events = playing.events.start as usize..playing.events.end as usize;
        let events = voice.events.get(events).unwrap_or(&voice.events);
        let set = context.config.levels.get(&instrument.id).copied();
        let said = said_of(context.tune, voice, "level");
        let level = said.and_then(level).or(set).unwrap_or(context.config.level);
        Some(Part { voice, instrument, events, level, range: instrument.range(level)? })
    }

    fn check(&self, context: &Context<'_>, index: usize, findings: &mut Vec<Finding>) {
        let (mut below, mut above) = (Told::default(), Told::default());
        for event in self.events.iter().filter(|event| !event.notes.is_empty()) {
            for note in self.voice.notes_of(event) {
                let Some(beyond) = self.beyond(note) else { continue };
                if self.is_harmonic(event) || note.tied_in {
                    continue;
                }
                let told = if beyond == Beyond::Below { &mut below } else { &mut above };
                // One remark a bar and end of the range; the rest of the bar is told of with it.
                let again = told.bar == Some(event.bar);
                if let Some(finding) = told.last.filter(|_| again || told.count > MANY) {
                    let name = note.written.name.words();
                    let message = if again {
                        format!("{name} too.")
                    } else {
                        format!("{name} in bar {} too.", context.tune.bar_number(event.bar))
                    };
                    if let Some(finding) = findings.get_mut(finding) {
                        finding.related.push(Related { span: note.span, message });
                    }
                    told.bar = Some(event.bar);
                    continue;
                }
                told.count += 1;
                told.bar = Some(event.bar);
                told.last = Some(findings.len());
                findings.push(self.finding(context, index, note, beyond, told.count > MANY));
            }
        }
    }

    /// What is typed may be what sounds or what the player reads: a text that does not say which is given the
    /// benefit of the doubt. A line that tenors read under an octave clef may lack the clef's eight.
    fn beyond(&self, note: &Note) -> Option<Beyond> {
        let sounding = |pitch| side(pitch, self.range.sounding_min, self.range.sounding_max);
        let first = sounding(note.pitch);
        let written = side(note.written, self.range.written_min, self.range.written_max);
        let octave = self.instrument.clefs.iter().any(|clef| clef == "treble-8")
            && self.voice.clef.octaves == 0
            && sounding(note.pitch.shifted_octaves(-1)).is_none();
        first.filter(|_| first == written && !octave)
    }

    fn is_harmonic(&self, event: &Event) -> bool {
        let index = self.voice.notes[event.notes.start as usize].event;
        let marks = self.voice.marks.iter().filter(|mark| mark.event == index);
        marks.into_iter().any(|mark| match mark.kind {
            MarkKind::Decoration => &*mark.text == "open",
            _ => mark.text.to_lowercase().contains("harm"),
        })
    }

    /// `often` says that this remark stands for the rest of the part.
    fn finding(
        &self,
        context: &Context<'_>,
        index: usize,
        note: &Note,
        beyond: Beyond,
        often: bool,
    ) -> Finding {
        let (side, end, sounding, written) = match beyond {
            Beyond::Below => ("Below", "lowest", self.range.sounding_min, self.range.written_min),
            Beyond::Above => ("Above", "highest", self.range.sounding_max, self.range.written_max),
        };
        let strings = self.instrument.family == Section::Strings && beyond == Beyond::Below;
        let thing = if strings { "string" } else { "note" };
        let limit = if self.voice.transposes || self.voice.clef.octaves != 0 {
            format!("{}, sounding {}", plain(written), plain(sounding))
        } else {
            plain(sounding)
        };
        let who = match self.level {
            Level::Professional => String::new(),
            Level::Advanced => " for advanced players".to_owned(),
            Level::School => " for school players".to_owned(),
        };
        let strain = matches!(self.instrument.family, Section::Voice | Section::Brass);
        let care = beyond == Beyond::Above && strain;
        let player = if self.instrument.family == Section::Voice { "voice" } else { "instrument" };
        let closing = match (often, care) {
            (false, false) => ".".to_owned(),
            (false, true) => "; nobody should strain for it, so ask the player.".to_owned(),
            (true, care) => {
                let care = if care { "nobody should strain for it: " } else { "" };
                format!(
                    " once more; {care}is the part meant for another {player}, or another octave?"
                )
            }
        };
        let message = format!(
            "{side} the {} {end} {thing}{who} ({limit}){closing}",
            possessive(self.instrument)
        );
        let mut finding = context.at_note(index, note, message);
        finding.fixes.extend(self.octave(context, note, beyond));
        finding
    }

    fn octave(
        &self,
        context: &Context<'_>,
        note: &Note,
        beyond: Beyond,
    ) -> Option<crate::finding::Fix> {
        if note.tied_in || note.tied_out {
            return None;
        }
        let (shift, word) = if beyond == Beyond::Below { (1, "higher") } else { (-1, "lower") };
        let moved = Note {
            pitch: note.pitch.shifted_octaves(shift),
            written: note.written.shifted_octaves(shift),
            ..*note
        };
        self.beyond(&moved).is_none().then_some(())?;
        let typed = moved.written.shifted_octaves(-note.octave_shift);
        let text = pitch_text(typed, note.accidental.is_some());
        let title = format!("Write it an octave {word} (changes the music)");
        context.suggestion(title, vec![TextEdit { span: note.span, text }])
    }
}

fn side(pitch: Pitch, lowest: Pitch, highest: Pitch) -> Option<Beyond> {
    if pitch.midi() < lowest.midi() {
        Some(Beyond::Below)
    } else if pitch.midi() > highest.midi() {
        Some(Beyond::Above)
    } else {
        None
    }
}

/// "cello's", "clarinet in B-flat's".
fn possessive(instrument: &Instrument) -> String {
    let name = instrument.name.split(" (").next().unwrap_or_default();
    let name = if instrument.id == "cello" { "cello" } else { name };
    let mut letters = name.chars();
    let first = letters.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
    format!("{first}{}'s", letters.as_str())
}

/// "C2", "F♯3".
fn plain(pitch: Pitch) -> String {
    format!("{}{}", pitch.name.symbol(), pitch.octave)
}

#[cfg(test)]
#[path = "../rule_tests/beyond_range.rs"]
mod tests;
