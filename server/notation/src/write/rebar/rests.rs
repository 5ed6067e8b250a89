//! Whole-bar rests under other bar lines: counted again, or written out where a bar only begins or ends with one.

use super::Refusal;
use super::gap::{Gap, Joint};
use super::length::{length_text, values};
use super::reline::Relined;
use recte_score::{Event, EventKind, Span};
use recte_theory::metre::{ticks, time};
use recte_theory::{Metre, Time};

/// Bars of rest side by side, some of them perhaps beyond the passage.
struct Run {
    /// From the first sign to the last.
    span: Span,
    /// When each of its bars begins and the last ends.
    bars: Vec<Time>,
    /// Moments inside one sign: what was one may be one again.
    one: Vec<Time>,
    letter: char,
    unit: Time,
}

/// The whole-bar rests of a passage.
pub(super) struct Rests {
    runs: Vec<Run>,
}

impl Rests {
    pub(super) fn find(voice: &Relined<'_>) -> Result<Rests, Refusal> {
        let (from, to) = (voice.plan.from, voice.plan.to);
        let mut runs: Vec<Run> = Vec::new();
        let mut bar = from;
        while bar <= to {
            let Some(event) = rest_of(voice, bar)? else {
                bar += 1;
                continue;
            };
            let mut last = bar;
            while rest_goes_on(voice, last)? {
                last += 1;
            }
            let mut first = bar;
            while first > 0 && rest_goes_on(voice, first - 1)? {
                first -= 1;
            }
            runs.push(run(voice, first, last, event));
            bar = last + 1;
        }
        Ok(Rests { runs })
    }

    pub(super) fn write(&self, voice: &mut Relined<'_>) -> Result<(), Refusal> {
        for run in &self.runs {
            if let Some(text) = run.text(voice)? {
                voice.replace(run.span, text);
            }
        }
        Ok(())
    }
}

/// The whole-bar rest that a bar consists of.
fn rest_of<'a>(voice: &Relined<'a>, bar: u32) -> Result<Option<&'a Event>, Refusal> {
    let Some(bar) = voice.voice.bars.get(bar as usize) else { return Ok(None) };
    let events = voice.voice.events_of(bar);
    let is_rest = |event: &&Event| matches!(event.kind, EventKind::BarRest(_));
    match (events, events.iter().find(is_rest)) {
        ([event], Some(_)) => Ok(Some(event)),
        (_, None) => Ok(None),
        _ => Err(Refusal::new("A whole-bar rest stands among the notes of these bars.")),
    }
}

/// Whether a bar of rest and the next are written as one: one sign, bars of the passage with nothing but a line
/// between them, or what a split has parted.
fn rest_goes_on(voice: &Relined<'_>, bar: u32) -> Result<bool, Refusal> {
    let bars = &voice.voice.bars;
    if bar as usize + 1 >= bars.len() || bars[bar as usize + 1].layers > 1 {
        return Ok(false);
    }
    let is_alone = |bar: u32| {
        let events = voice.voice.events_of(&bars[bar as usize]);
        matches!(events, [event] if matches!(event.kind, EventKind::BarRest(_)))
    };
    if !is_alone(bar) || !is_alone(bar + 1) {
        return Ok(false);
    }
    let (Some(own), Some(next)) = (rest_of(voice, bar)?, rest_of(voice, bar + 1)?) else {
        return Ok(false);
    };
    if own.span == next.span {
        return Ok(true);
    }
    let inside = (voice.plan.from..voice.plan.to).contains(&bar);
    let strong = bars[bar as usize].strong_line || bars[bar as usize + 1].repeat_opens > 0;
    let plain = voice
        .gap_before(bar + 1)
        .filter(|_| own.hidden == next.hidden && next.full.start == next.span.start && !strong);
    let parted = |gap: &Gap<'_>| voice.plan.undoes && gap.joint() == Joint::Together;
    Ok(plain.is_some_and(|gap| inside || parted(&gap)))
}

fn run(voice: &Relined<'_>, first: u32, last: u32, event: &Event) -> Run {
    let (from, all) = (voice.plan.from, &voice.voice.bars);
    let before = all[first as usize..from.max(first) as usize].iter().map(|bar| bar.length);
    let mut at = voice.plan.start(first.max(from)) - before.sum::<Time>();
    let mut bars = vec![at];
    let mut one = Vec::new();
    let event_of = |bar: u32| voice.voice.events_of(&all[bar as usize]).first();
    for bar in first..=last {
        at += all[bar as usize].length;
        bars.push(at);
        let same = bar < last && event_of(bar).map(|e| e.span) == event_of(bar + 1).map(|e| e.span);
        let parted = || {
            let gap = voice.gap_before(bar + 1);
            voice.plan.undoes && gap.is_some_and(|gap| gap.joint() == Joint::Together)
        };
        if bar < last && (same || parted()) {
            one.push(at);
        }
    }
    let (begin, end) =
        (event_of(first).unwrap_or(event).span, event_of(last).unwrap_or(event).span);
    let letter = if event.hidden { 'X' } else { 'Z' };
    Run { span: begin.join(end), bars, one, letter, unit: event.unit }
}

impl Run {
    fn begin(&self) -> Time {
        self.bars.first().copied().unwrap_or_default()
    }

    fn end(&self) -> Time {
        self.bars.last().copied().unwrap_or_default()
    }

    /// What the run is now; none if it stays as it is.
    fn text(&self, voice: &Relined<'_>) -> Result<Option<String>, Refusal> {
        let plan = voice.plan;
        let total = plan.new.last().copied().unwrap_or_default();
        let outside = |at: &Time| *at < Time::ZERO || *at > total;
        let is_line = |at: Time| plan.begins(at) || outside(&at) && self.bars.contains(&at);
        let mut points: Vec<Time> = self.bars.iter().copied().filter(|at| outside(at)).collect();
        points.extend(plan.new.iter().filter(|at| self.begin() <= **at && **at <= self.end()));
        points.extend([self.begin(), self.end()]);
        points.sort_unstable();
        points.dedup();
        let signs = points
            .iter()
            .any(|at| *at > self.begin() && *at < self.end() && voice.sign_at(*at).is_some());
        if points == self.bars && points.iter().all(|at| is_line(*at)) && !signs {
            return Ok(None);
        }
        // What lay inside one sign, or inside what was one bar, is one sign again where it can be.
        let one = |at: Time| self.one.contains(&at) || self.counted_around(at);
        let mut text = String::new();
        let mut count = 0;
        for pair in points.windows(2) {
            let sign = voice.sign_at(pair[0]).filter(|_| pair[0] > self.begin());
            // A whole-bar rest lasts as long as the signature says; the part of a bar at either end does not.
            let inside = Time::ZERO <= pair[0] && pair[1] <= total;
            let full =
                || plan.bars[plan.bar_at(pair[0]).0].metre.length() == Some(pair[1] - pair[0]);
            let whole = is_line(pair[0]) && is_line(pair[1]) && (!inside || full());
            let goes_on = count > 0 && whole && sign.is_none() && one(pair[0]);
            if !goes_on {
                self.flush(&mut text, &mut count);
                if pair[0] > self.begin() {
                    let joint = if one(pair[0]) { Joint::Together } else { Joint::Apart };
                    text.push_str(&voice.line(joint, pair[0]));
                }
            }
            if whole {
                count += 1;
            } else {
                text.push_str(&self.written_out(pair[0], pair[1], voice));
            }
        }
        self.flush(&mut text, &mut count);
        Ok(Some(text))
    }

    /// Whether a moment lies in a bar that one sign counts with others.
    fn counted_around(&self, at: Time) -> bool {
        let inside = !self.bars.contains(&at);
        let place = self.bars.iter().rposition(|bar| *bar < at).unwrap_or(0);
        let near = [self.bars.get(place), self.bars.get(place + 1)];
        inside && near.into_iter().flatten().any(|line| self.one.contains(line))
    }

    fn flush(&self, text: &mut String, count: &mut u32) {
        if *count > 0 {
            text.push(self.letter);
            if *count > 1 {
                text.push_str(&count.to_string());
            }
        }
        *count = 0;
    }

    /// A part of a bar.
    fn written_out(&self, from: Time, to: Time, voice: &Relined<'_>) -> String {
        let (bar, begin) = voice.plan.bar_at(from);
        let metre: &Metre = &voice.plan.bars[bar].metre;
        let letter = self.letter.to_ascii_lowercase();
        let typed = |value: &Time| format!("{letter}{}", length_text(*value / self.unit));
        let values = rests(metre, from - begin, to - begin)
            .unwrap_or_else(|| values(from - begin, to - from, metre));
        values.iter().map(typed).collect::<Vec<_>>().join(" ")
    }
}

/// The rests that show the beats of this stretch of a bar; none in free metre.
fn rests(metre: &Metre, from: Time, to: Time) -> Option<Vec<Time>> {
    let beats = metre.beats().into_iter().next()?;
    Some(beats.rests(ticks(from)?, ticks(to)?).into_iter().map(time).collect())
}
