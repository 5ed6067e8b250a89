//! # A bar that is too long or too short
//!
//! The signature promises how much a bar holds. A bar that holds more or less stops a rehearsal: everyone
//! counts to the bar line, and arrives at a different moment.
//!
//! Nothing is said of free time, of a pickup, or of a bar that is divided: by a repeat, a double bar, an ending, or
//! in a hymn by the fermata at the end of a line, where the two parts played one after the other make a full bar. The
//! last bar of a passage leaves room for the pickup it began with; where it does not, both bars are named. A long bar is
//! never divided, so it is always told of. Layers of a bar (`&`) must fill it too, and a bar that may be short must be as
//! short in every voice. What all voices have in common is said once, in the first. Where many bars do not keep to
//! the signature, changes of signature are missing, and one remark says so. Of the bar being typed there is only a
//! hint.
//!
//! What to do: mend the length of a note, add the rest that is missing, or give the bar its own signature if it
//! is meant.
//!
//! Source: abc standard v2.1, 3.1.6 and 4.8 (metre and bar lines), 7.4 (layers); pickups and divided bars:
//! common practice, no source.
//!
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! CDEF|GAB|c4|]
//! ```
//! ```abc flagged
//! X:1
//! M:3/4
//! L:1/4
//! K:C
//! CDEF|GAB|c3|]
//! ```
//! ```abc flagged
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! |:G|cdef|gf:|
//! ```
//! A pickup, and a repeat whose last bar leaves room for it:
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! G|:cdef|gfe:|z|c3||d|ecBA|c3|]
//! ```
//! ```abc quiet
//! X:1
//! M:4/4
//! L:1/4
//! K:C
//! G|cdef|gf!fermata!e|d|cBAG|c3|]
//! ```
//! ```abc quiet
//! X:1
//! M:none
//! L:1/4
//! K:C
//! CDE|CDEFG|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Related, Severity};
use crate::metre::{Misfit, Misfits};
use crate::rule::{Family, Rule};
use recte_notation::write::{TextEdit, length_text, set_metre};
use recte_score::{Bar, EventKind, Span, Voice};
use recte_theory::{Metre, Time};

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Metre,
    severity: Severity::Warning,
    summary: "a bar that is longer or shorter than its signature",
    check,
};

/// Where more than one bar in so many is wrong, and at least three are, it is the signature that is missing.
const MANY: usize = 4;

/// A signature that is made for one bar counts no shorter values than eighths.
const SHORTEST_BEAT: i64 = 8;

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let misfits = Misfits::of(context.tune);
    for (index, voice) in context.voices() {
        let look = |number: usize, shared: bool| {
            let bar = &voice.bars[number];
            let full = context.tune.metre(bar).length()?;
            Some(Look { context, index, voice, number, bar, full, shared })
        };
        let own = &misfits.voices[index];
        let only = own.iter().filter(|(_, misfit)| *misfit == Misfit::Alone).count() == 1;
        // What is the voice's own, and what it says for all.
        let mut tallies = [Tally::default(), Tally::default()];
        for &(number, misfit) in own {
            let speaker = misfits.speaker(number);
            if speaker.is_some_and(|first| first != index) {
                continue;
            }
            let Some(look) = look(number, speaker.is_some()) else { continue };
            let tally = &mut tallies[usize::from(look.shared)];
            findings.extend(tally.finding(&look, misfit, only));
        }
        let short = |number| look(number, false)?.short_layer();
        findings.extend((0..voice.bars.len()).filter_map(short));
    }
}

/// How many bars stood out so far, and whether that was summed up.
#[derive(Default)]
struct Tally {
    alone: usize,
    summed_up: bool,
}

impl Tally {
    fn finding(&mut self, look: &Look<'_>, misfit: Misfit, only: bool) -> Option<Finding> {
        if misfit != Misfit::Alone {
            return Some(look.finding(misfit, only));
        }
        self.alone += 1;
        let many = self.alone >= 3 && self.alone * MANY > look.number + 1;
        if !many {
            return Some(look.finding(misfit, only));
        }
        let first = !std::mem::replace(&mut self.summed_up, true);
        first.then(|| look.summary(self.alone))
    }
}

/// One bar of one voice, looked at.
struct Look<'a> {
    context: &'a Context<'a>,
    index: usize,
    voice: &'a Voice,
    number: usize,
    bar: &'a Bar,
    /// What the signature promises.
    full: Time,
    /// Whether it is the same in every voice.
    shared: bool,
}

impl Look<'_> {
    /// The last bar typed so far, while its bar line is missing.
    fn is_being_typed(&self) -> bool {
        self.bar.line.is_none() && self.number + 1 == self.voice.bars.len()
    }

    /// `only` tells that no other bar of the voice stands out.
    fn finding(&self, misfit: Misfit, only: bool) -> Finding {
        let mut finding = match misfit {
            Misfit::Alone => self.alone(only),
            Misfit::WithPickup(pickup) => self.with_pickup(&self.voice.bars[pickup]),
            Misfit::Apart(others) => self.apart(others),
        };
        if self.is_being_typed() && self.bar.length <= self.full {
            finding.severity = Severity::Hint;
        }
        finding
    }

    fn alone(&self, only: bool) -> Finding {
        let message = self.sentence("This bar holds", self.bar.length);
        let own = if only { self.own_signature() } else { None };
        let fixes = self.rest(self.full).into_iter().chain(own).collect();
        Finding { fixes, ..self.at(message) }
    }

    fn apart(&self, others: Time) -> Finding {
        let metre = self.context.tune.metre(self.bar);
        let unit = unit_for(metre, &[self.bar.length, others]);
        let held = self.context.config.words.counted(self.bar.length / unit, unit.denominator());
        let message = format!("This bar holds {held}; other voices hold {}.", others / unit);
        Finding { fixes: self.rest(others).into_iter().collect(), ..self.at(message) }
    }

    fn with_pickup(&self, pickup: &Bar) -> Finding {
        let both = self.bar.length + pickup.length;
        let message = self.sentence("With the pickup of its passage this bar holds", both);
        let related = Related { span: pickup.span, message: "The pickup".to_owned() };
        Finding { severity: Severity::Info, related: vec![related], ..self.at(message) }
    }

    /// What is said instead when many bars do not fit.
    fn summary(&self, count: usize) -> Finding {
        self.at(format!(
            "{count} of the first {} bars do not keep to {}; are changes of signature missing?",
            self.number + 1,
            self.context.tune.metre(self.bar)
        ))
    }

    /// A layer that does not fill a bar that another one fills.
    fn short_layer(&self) -> Option<Finding> {
        if self.bar.length != self.full || self.bar.layers < 2 {
            return None;
        }
        let ends = (0..self.bar.layers).map(|layer| {
            let events = self.voice.events_of(self.bar).iter();
            events.filter(|event| event.layer == layer).map(|event| event.end()).max()
        });
        let short = ends.flatten().find(|end| *end < self.full)?;
        let message = self.sentence("A layer of this bar holds", short);
        Some(Finding { severity: Severity::Info, ..self.at(message) })
    }

    fn sentence(&self, holds: &str, length: Time) -> String {
        let metre = self.context.tune.metre(self.bar);
        let unit = unit_for(metre, &[length]);
        let (held, asked) = (length / unit, self.full / unit);
        let held = self.context.config.words.counted(held, unit.denominator());
        format!("{holds} {held}; {metre} asks for {asked}.")
    }

    fn at(&self, message: String) -> Finding {
        let place = Some(self.number as u32);
        let voice = Some(self.index as u32);
        Finding { voice, bar: place, to_bar: place, ..self.context.at(self.bar.span, message) }
    }

    /// The bar's own signature, where it can be meant: more than half a bar inside a passage, in every
    /// voice alike, and nothing is left to be said of the metre then.
    fn own_signature(&self) -> Option<Fix> {
        let unit = unit_for(self.context.tune.metre(self.bar), &[self.bar.length]);
        let count = self.bar.length.count_of(unit).filter(|count| *count > 0)?;
        let differs = |voice: &Voice| {
            voice.bars.get(self.number).is_some_and(|bar| bar.length != self.bar.length)
        };
        let inside = self.bar.line.is_some() && !self.bar.strong_line;
        let large = self.bar.length + self.bar.length > self.full;
        if !inside
            || !large
            || unit.denominator() > SHORTEST_BEAT
            || self.context.tune.voices.iter().any(differs)
        {
            return None;
        }
        let name = format!("{count}/{}", unit.denominator());
        let metre = Metre::parse(&name).ok()?;
        let bar = self.number as u32;
        let read = self.context.lowered();
        let edits = set_metre(&self.context.block.text, read, bar, bar, &metre).ok()?;
        let after = self.context.block.edited(&edits).ok()?;
        if self.context.says_in(&after, Family::Metre) {
            return None;
        }
        Some(self.context.fix(format!("Give this bar its own signature: {name}"), edits))
    }

    /// The rest that is missing. Where other voices hold as much nothing else moves; alone it is a suggestion.
    fn rest(&self, wanted: Time) -> Option<Fix> {
        let bars = self.context.tune.voices.iter().filter_map(|v| v.bars.get(self.number));
        if bars.into_iter().any(|bar| bar.length >= wanted) {
            let edits = vec![self.rest_in(self.voice, wanted)?];
            return Some(self.context.fix("Fill the bar with a rest".to_owned(), edits));
        }
        let voices = self.context.tune.voices.iter().filter(|v| v.bars.len() > self.number);
        let (title, edits) = if self.shared {
            let edits: Option<Vec<_>> = voices.map(|voice| self.rest_in(voice, wanted)).collect();
            ("Fill the bar with a rest in every voice (changes the music)", edits?)
        } else {
            (
                "Fill the bar with a rest (changes the music)",
                vec![self.rest_in(self.voice, wanted)?],
            )
        };
        self.context.suggestion(title.to_owned(), edits)
    }

    fn rest_in(&self, voice: &Voice, wanted: Time) -> Option<TextEdit> {
        let bar = voice.bars.get(self.number)?;
        let last = voice.events_of(bar).iter().rev().find(|event| !event.grace)?;
        if bar.length >= wanted || bar.layers > 1 || matches!(last.kind, EventKind::BarRest(_)) {
            return None;
        }
        let end = bar.line.map_or(last.span.end, |line| line.start) as usize;
        let before = self.context.block.text.get(..end)?;
        let at = before.trim_end_matches([' ', '\t']).len();
        let text = format!(" z{}", length_text((wanted - bar.length) / last.unit));
        Some(TextEdit { span: Span::new(at, at), text })
    }
}

/// The longest of the usual values that counts these lengths and the signature.
fn unit_for(metre: &Metre, lengths: &[Time]) -> Time {
    let own = metre.unit().unwrap_or(Time::new(1, 8));
    let halves = std::iter::successors(Some(own), |unit| Some(*unit / Time::new(2, 1)));
    let counts = |unit: &Time| lengths.iter().all(|length| length.count_of(*unit).is_some());
    halves.take(5).find(counts).unwrap_or(own)
}

#[cfg(test)]
#[path = "../rule_tests/bar_length.rs"]
mod tests;
