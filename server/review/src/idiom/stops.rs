//! What is awkward about chords on bowed strings beyond the single chord: from one to the next, too soft for the bow,
//! too high for a section. Told of only where the settings ask.

use super::fingered::{called, is_one_players, note_of, way};
use super::lines::loudness;
use super::{Moment, Player, Reading, Remark};
use crate::context::Context;
use recte_score::Note;
use recte_score::players::Players;
use recte_theory::Pitch;
use recte_theory::playability::Verdict;
use recte_theory::playability::fingerboard;
use recte_theory::playability::strings::{chain, force, is_for_a_section};

/// The awkward chords of one player, in order; those that do not lie at all are another matter.
pub(crate) fn remarks<'a>(context: &Context<'a>, player: &Player<'a>) -> Vec<Remark<'a>> {
    let mut remarks = Vec::new();
    let mut before: Option<Stop<'_, 'a>> = None;
    for moment in player.moments(context) {
        let stop = Stop::of(context, player, moment);
        if let Some(stop) = &stop {
            let far = before.as_ref().and_then(|before| stop.far_from(before));
            let sentence = far.or_else(|| stop.soft()).or_else(|| stop.high());
            let first = moment.notes[0].voice;
            remarks.extend(sentence.map(|message| Remark {
                again: "So".to_owned(),
                kind: 1,
                ..Remark::new(first, stop.notes[0], Verdict::Awkward, message)
            }));
        }
        before = stop;
    }
    remarks
}

/// A chord of two notes or more that one player strikes, and that lies.
struct Stop<'c, 'a> {
    context: &'c Context<'a>,
    player: &'c Player<'a>,
    moment: &'c Moment,
    notes: Vec<&'a Note>,
    /// The way in which the text is meant.
    reading: Reading,
}

impl<'c, 'a> Stop<'c, 'a> {
    fn of(
        context: &'c Context<'a>,
        player: &'c Player<'a>,
        moment: &'c Moment,
    ) -> Option<Stop<'c, 'a>> {
        let notes: Vec<&'a Note> = moment.notes.iter().map(|held| note_of(context, held)).collect();
        let struck = moment.notes.iter().all(|held| held.struck);
        let one = struck && is_one_players(player, notes.len());
        let stroke = player.stroke(context, moment.notes.first().filter(|_| one)?)?;
        if stroke.harmonic || stroke.broken || stroke.tremolo {
            return None;
        }
        let reading = player.readings(context.tune)[0];
        let stop = Stop { context, player, moment, notes, reading };
        let lies = stop.fingering(way(context, moment, stroke))?.verdict < Verdict::Hard;
        lies.then_some(stop)
    }

    fn sounding(&self) -> Vec<Pitch> {
        self.notes.iter().map(|note| self.reading.sounding(note)).collect()
    }

    fn fingering(&self, way: fingerboard::Stroke) -> Option<fingerboard::Fingering> {
        fingerboard::chord(self.player.instrument, &self.sounding(), way, self.player.level)
    }

    /// A change of position between two quick chords.
    fn far_from(&self, before: &Stop<'_, '_>) -> Option<String> {
        let figures = &self.context.idiom().figures;
        let clock = self.context.idiom().clock(self.context.tune);
        let seconds = clock.between(before.moment.onset, self.moment.onset)?;
        if seconds.most >= figures.leap_seconds {
            return None;
        }
        let (a, b) = (before.sounding(), self.sounding());
        let player = self.player;
        let chain = chain(player.instrument, &[&a, &b], player.level, figures)?;
        let change = chain.changes.first().filter(|change| !change.lies(figures))?;
        Some(format!(
            "From {} to {} the hand moves {} semitones along the string, far at this speed.",
            called(before.reading, &before.notes),
            called(self.reading, &self.notes),
            change.semitones
        ))
    }

    /// Three strings want force.
    fn soft(&self) -> Option<String> {
        let stroke = self.player.stroke(self.context, &self.moment.notes[0])?;
        let soft = !stroke.plucked && force(self.notes.len(), loudness(stroke)) > Verdict::Easy;
        let strings = if self.notes.len() == 3 { "Three" } else { "Four" };
        soft.then(|| {
            format!("{strings} strings at once want a strong bow, and here they are to be soft.")
        })
    }

    /// Those of a section stay in the low positions.
    fn high(&self) -> Option<String> {
        if !matches!(self.player.players, Players::Section(_)) {
            return None;
        }
        let lies = self.fingering(fingerboard::Stroke::Short)?;
        let high = !is_for_a_section(self.player.instrument, &lies);
        high.then(|| {
            format!(
                "{} lie high on the strings; sections stop chords in the first three positions.",
                called(self.reading, &self.notes)
            )
        })
    }
}
