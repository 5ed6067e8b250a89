//! # A bar that is too long or too short
//!
//! The signature promises how much a bar holds. A bar that holds more or less stops a rehearsal: everyone
//! counts to the bar line, and arrives at a different moment.
//!
//! Nothing is said of free time, of a pickup, or of a bar that is divided: by a repeat, a double bar, or an
//! ending, where the two parts played one after the other make a full bar (the short last bar before a repeat
//! that begins with a pickup is the commonest case). A long bar is never divided, so it is always told of.
//! Layers of a bar (`&`) must fill it too. Where many bars of a voice do not keep to the signature, changes of
//! signature are missing, and one remark says so.
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
//! M:none
//! L:1/4
//! K:C
//! CDE|CDEFG|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Fix, Severity};
use crate::rule::{Family, Rule};
use recte_notation::write::{TextEdit, length_text};
use recte_score::{Bar, EventKind, Span, Voice, playing_order};
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

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    let mut order = None;
    for (index, voice) in context.voices() {
        let before = findings.len();
        for (number, bar) in voice.bars.iter().enumerate() {
            let Some(full) = context.tune.metre(bar).length() else { continue };
            let look = Look { context, index, voice, number, bar, full };
            if bar.length == full {
                findings.extend(look.short_layer());
            } else if bar.length > full {
                findings.push(look.finding(bar.length));
            } else {
                let order = order.get_or_insert_with(|| playing_order(context.tune));
                if !look.is_divided(order) && !look.is_being_typed() {
                    findings.push(look.finding(bar.length));
                }
            }
        }
        let found = findings.len() - before;
        if found >= 3 && found * MANY > voice.bars.len() {
            let metre = context.tune.metre(&voice.bars[0]);
            let first = &mut findings[before];
            first.fixes.clear();
            first.message = format!(
                "{found} of {} bars do not keep to {metre}, this one first; are changes of signature missing?",
                voice.bars.len()
            );
            findings.truncate(before + 1);
        }
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
}

impl Look<'_> {
    /// Whether what is played before or after it makes it whole, or it is the pickup of the piece.
    fn is_divided(&self, order: &[u32]) -> bool {
        if self.number == 0 {
            return true;
        }
        let here = self.number as u32;
        let length = |bar: u32| self.voice.bars.get(bar as usize).map(|bar| bar.length);
        let whole =
            |bar: u32| length(bar).is_some_and(|other| other + self.bar.length == self.full);
        let neighbours = order.windows(2).any(|pair| {
            self.is_seam(pair[0], pair[1])
                && (pair[0] == here && whole(pair[1]) || pair[1] == here && whole(pair[0]))
        });
        // The last bar of a piece or a part leaves room for the pickup it began with.
        neighbours || self.bar.strong_line && whole(0)
    }

    /// Whether a bar can be divided between these two, played one after the other.
    fn is_seam(&self, from: u32, to: u32) -> bool {
        let bar = |bar: u32| self.voice.bars.get(bar as usize);
        from + 1 != to
            || bar(from).is_some_and(|bar| bar.strong_line)
            || bar(to).is_some_and(|bar| bar.repeat_opens > 0 || bar.ending)
    }

    /// The last bar typed so far, while its bar line is missing.
    fn is_being_typed(&self) -> bool {
        self.bar.line.is_none() && self.number + 1 == self.voice.bars.len()
    }

    /// A layer that does not fill the bar.
    fn short_layer(&self) -> Option<Finding> {
        let layers = 0..self.bar.layers;
        let ends = layers.map(|layer| {
            let events = self.voice.events_of(self.bar).iter();
            events.filter(|event| event.layer == layer).map(|event| event.end()).max()
        });
        let short = ends.flatten().find(|end| *end < self.full)?;
        Some(Finding { severity: Severity::Info, fixes: Vec::new(), ..self.finding(short) })
    }

    fn finding(&self, length: Time) -> Finding {
        let metre = self.context.tune.metre(self.bar);
        let words = self.context.config.words;
        let unit = unit_for(metre, length);
        let (holds, asked) = (length / unit, self.full / unit);
        let thing = if self.bar.length == self.full { "A layer of this bar" } else { "This bar" };
        let message = format!(
            "{thing} holds {holds} {}; {metre} asks for {asked}.",
            words.plural(unit.denominator())
        );
        let place = self.number as u32;
        Finding {
            voice: Some(self.index as u32),
            bar: Some(place),
            to_bar: Some(place),
            fixes: self.rest().into_iter().collect(),
            ..self.context.at(self.bar.span, message)
        }
    }

    /// The rest that is missing. Where other voices fill the bar nothing else moves; alone it is a suggestion.
    fn rest(&self) -> Option<Fix> {
        if self.bar.length >= self.full {
            return None;
        }
        let events = self.voice.events_of(self.bar);
        let last = events.iter().rev().find(|event| !event.grace)?;
        if self.bar.layers > 1 || matches!(last.kind, EventKind::BarRest(_)) {
            return None;
        }
        let missing = self.full - self.bar.length;
        let end = self.bar.line.map_or(last.span.end, |line| line.start) as usize;
        let before = self.context.block.text.get(..end)?;
        let at = before.trim_end_matches([' ', '\t']).len();
        let text = format!(" z{}", length_text(missing / last.unit));
        let edits = vec![TextEdit { span: Span::new(at, at), text }];
        if self.others_fill_it() {
            return Some(self.context.fix("Fill the bar with a rest".to_owned(), edits));
        }
        let title = "Fill the bar with a rest (changes the music)".to_owned();
        self.context.suggestion(title, edits)
    }

    /// Whether another voice fills the bar, so that nothing moves when this one does.
    fn others_fill_it(&self) -> bool {
        let bars = self.context.tune.voices.iter().filter_map(|v| v.bars.get(self.number));
        bars.into_iter().any(|bar| bar.length >= self.full)
    }
}

/// The longest of the usual values that counts both the bar and its signature.
fn unit_for(metre: &Metre, length: Time) -> Time {
    let own = metre.unit().unwrap_or(Time::new(1, 8));
    let halves = std::iter::successors(Some(own), |unit| Some(*unit / Time::new(2, 1)));
    halves.take(5).find(|unit| length.count_of(*unit).is_some()).unwrap_or(own)
}

#[cfg(test)]
#[path = "../rule_tests/bar_length.rs"]
mod tests;
