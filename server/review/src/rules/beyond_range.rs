//! # A note the instrument does not have
//!
//! Every instrument has a lowest note, and a highest that its players can be asked for. A note beyond it
//! is found out at the first rehearsal, when it is too late to move the phrase.
//!
//! The instrument is known from `%%recte instrument VOICE NAME`, else from the voice's name or abbreviation.
//! Where that leaves a doubt nothing is said. A part typed with `transpose=` or with an octave clef is shifted
//! once, a part typed at concert pitch not at all; where the text does not say how it was typed, a note is told
//! of only if it lies outside either way. Notes marked as harmonics
//! are left alone. A note that the instrument has, but not at the players' level, is a hint; more than a fourth beyond
//! that level it counts as not there. Where a part goes beyond one end in more than three bars, the fourth remark speaks for the
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
use crate::finding::{Finding, Fix, Severity};
use crate::idiom::{Player, Reading, Remark, Stroke, level, tell};
use crate::rule::{Family, Rule};
use recte_notation::write::{TextEdit, pitch_text};
use recte_score::players::knows;
use recte_score::{Instruction, Note};
use recte_theory::instruments::{Instrument, Level, Pedalboard};
use recte_theory::playability::Verdict;
use recte_theory::{Letter, Pitch, PitchName, instruments::Family as Section};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Idiom,
    severity: Severity::Warning,
    summary: "a note that the named instrument does not have",
    check,
};

/// So far beyond what a level of players has, in semitones, a note that the instrument has still counts as there.
const A_FOURTH: i32 = 5;
/// Semitones between neighbours that tear a line apart.
const FAR: i32 = 9;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for instruction in &context.tune.instructions {
        findings.extend(unknown(context, instruction));
    }
    for player in &context.idiom().players {
        let parts = [Part::of(context, player), Part::for_the_feet(context, player)];
        for part in parts.into_iter().flatten() {
            tell(context, "beyond-range", part.remarks(), findings);
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

/// Which end of the range a note lies beyond.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Beyond {
    Below,
    Above,
}

/// A note outside.
struct Out {
    beyond: Beyond,
    verdict: Verdict,
    /// The end of the range, as it sounds.
    limit: Pitch,
    /// The same as it would be typed here.
    typed: Pitch,
}

/// What a player whose instrument is known has for the hands, or for the feet.
struct Part<'a> {
    context: &'a Context<'a>,
    player: &'a Player<'a>,
    instrument: &'a Instrument,
    /// The lowest and the highest note, sounding.
    ends: [Pitch; 2],
    /// The pedals of an organ.
    feet: Option<&'a Pedalboard>,
}

impl<'a> Part<'a> {
    fn of(context: &'a Context<'a>, player: &'a Player<'_>) -> Option<Part<'a>> {
        let instrument = player.instrument;
        let range = instrument.range(player.level)?;
        let ends = [range.sounding_min, range.sounding_max];
        Some(Part { context, player, instrument, ends, feet: None })
    }

    fn for_the_feet(context: &'a Context<'a>, player: &'a Player<'_>) -> Option<Part<'a>> {
        let instrument = player.instrument;
        let pedals = instrument.pedalboard.as_ref()?;
        let ends = [pedals.written_min, pedals.written_max];
        Some(Part { context, player, instrument, ends, feet: Some(pedals) })
    }

    fn remarks(&self) -> Vec<Remark<'a>> {
        let mut remarks = Vec::new();
        let strokes = self.player.strokes(self.context);
        for (place, stroke) in strokes.iter().enumerate().filter(|(_, stroke)| !stroke.harmonic) {
            let feet = self.player.has_feet_on(stroke.voice);
            if feet != self.feet.is_some() || self.player.is_convention(self.context, stroke.voice)
            {
                continue;
            }
            for note in stroke.typed(self.context.tune) {
                if !note.tied_in
                    && let Some(out) = self.beyond(note)
                {
                    let beside = |at: Option<usize>| strokes.get(at?).filter(|s| stroke.is_near(s));
                    let near = [place.checked_sub(1), Some(place + 1)].map(beside);
                    remarks.push(self.remark(stroke, note, out, near));
                }
            }
        }
        remarks
    }

    /// Where a note lies outside, and how badly: for the kindest reading of the text.
    fn beyond(&self, note: &Note) -> Option<Out> {
        let judge = |reading: Reading| self.beyond_in(reading, note);
        let verdict = |found: &Option<Out>| found.as_ref().map_or(Verdict::Easy, |out| out.verdict);
        self.player.kindest(self.context, judge, verdict)
    }

    fn beyond_in(&self, reading: Reading, note: &Note) -> Option<Out> {
        let sounding = reading.sounding(note);
        let [lowest, highest] = self.ends;
        let (beyond, distance, limit) = if sounding.midi() < lowest.midi() {
            (Beyond::Below, lowest.midi() - sounding.midi(), lowest)
        } else if sounding.midi() > highest.midi() {
            (Beyond::Above, sounding.midi() - highest.midi(), highest)
        } else {
            let usual = self.feet.filter(|pedals| sounding.midi() > pedals.usual_max.midi())?;
            (Beyond::Above, 0, usual.usual_max)
        };
        let there = self.instrument.range(Level::Professional)?.contains_sounding(sounding);
        let hard = there && distance <= A_FOURTH;
        let verdict = match distance {
            0 => Verdict::Awkward,
            _ if hard && self.feet.is_none() => Verdict::Hard,
            _ => Verdict::Impossible,
        };
        // As the text is typed: as far from this note's letter as the limit is from its sound.
        let steps = note.written.steps() - sounding.steps();
        let typed = plain(limit.transposed(steps, note.written.midi() - sounding.midi()));
        Some(Out { beyond, verdict, limit, typed })
    }

    fn remark(
        &self,
        stroke: &Stroke,
        note: &'a Note,
        out: Out,
        near: [Option<&Stroke>; 2],
    ) -> Remark<'a> {
        let (side, end) = match out.beyond {
            Beyond::Below => ("Below", "lowest"),
            Beyond::Above => ("Above", "highest"),
        };
        let family = self.instrument.family;
        let strings = family == Section::Strings && out.beyond == Beyond::Below;
        let thing = if strings { "string" } else { "note" };
        let limit = if out.typed.midi() == out.limit.midi() {
            out.limit.symbol()
        } else {
            format!("{}, sounding {}", out.typed.symbol(), out.limit.symbol())
        };
        let who = match self.player.level {
            _ if out.verdict == Verdict::Awkward => " on many instruments",
            Level::Professional => "",
            _ if self.feet.is_some() => "",
            Level::Advanced => " for advanced players",
            Level::School => " for school players",
        };
        let strain = matches!(family, Section::Voice | Section::Brass);
        let care = out.beyond == Beyond::Above && strain;
        let (part, person) = match family {
            Section::Voice => ("voice", "singer"),
            _ => ("instrument", "player"),
        };
        let name = self.player.name();
        let thing = if self.feet.is_some() { "pedal" } else { thing };
        let place = format!("{side} the {name}'s {end} {thing}{who} ({limit})");
        let closing = match care {
            true => format!("; nobody should strain for it, so ask the {person}."),
            false => ".".to_owned(),
        };
        let spared = if care { "nobody should strain for it: " } else { "" };
        let often = format!(
            "{place} once more; {spared}is the part meant for another {part}, or another octave?"
        );
        Remark {
            often: Some(often),
            kind: out.beyond as u8,
            fixes: self.octave(note, out.beyond, near).into_iter().collect(),
            ..Remark::new(stroke.voice, note, out.verdict, format!("{place}{closing}"))
        }
    }

    /// The note an octave nearer, where that tears no line apart.
    fn octave(&self, note: &Note, beyond: Beyond, near: [Option<&Stroke>; 2]) -> Option<Fix> {
        // A note of a tie is moved with its other half, or not at all.
        if note.tied_out {
            return None;
        }
        let (shift, word) = if beyond == Beyond::Below { (1, "higher") } else { (-1, "lower") };
        let moved = Note {
            pitch: note.pitch.shifted_octaves(shift),
            written: note.written.shifted_octaves(shift),
            ..*note
        };
        self.beyond(&moved).is_none().then_some(())?;
        let far = |other: &Stroke| {
            let other = other.typed(self.context.tune).first();
            other.is_some_and(|other| (other.pitch.midi() - moved.pitch.midi()).abs() > FAR)
        };
        let torn = near.into_iter().flatten().any(far);
        if torn {
            return None;
        }
        let typed = moved.written.shifted_octaves(-note.octave_shift);
        let text = pitch_text(typed, note.accidental.is_some());
        let title = format!("Write it an octave {word} (changes the music)");
        self.context.suggestion(title, vec![TextEdit { span: note.span, text }])
    }
}

/// B sharp as C, and whatever else sounds like a note without a sign.
fn plain(pitch: Pitch) -> Pitch {
    let natural = |letter| Pitch::with_name(pitch.midi(), PitchName::new(letter, 0));
    Letter::ALL.into_iter().find_map(natural).unwrap_or(pitch)
}

#[cfg(test)]
#[path = "../rule_tests/beyond_range.rs"]
mod tests;
