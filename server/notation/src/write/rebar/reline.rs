//! One voice whose bar lines are put elsewhere.

use super::breaks::Breaks;
use super::gap::Gap;
use super::head::Signed;
use super::leaning::signed;
use super::length::Typing;
use super::plan::{Manner, Plan};
use super::rests::Rests;
use super::signs::Signs;
use super::sung::Sung;
use super::{Refusal, layered};
use crate::Lowered;
use crate::write::TextEdit;
use crate::write::pitch::accidental_text;
use recte_score::{Bar, Event, EventKind, LineStyle, MarkPlace, Span, Voice};
use recte_theory::{Metre, Time};

/// A voice on its way to new bars.
pub(super) struct Relined<'a> {
    pub(super) text: &'a str,
    pub(super) read: &'a Lowered,
    pub(super) voice: &'a Voice,
    pub(super) plan: &'a Plan<'a>,
    pub(super) signs: Signs<'a>,
    pub(super) sung: Sung<'a>,
    pub(super) signed: Signed,
    pub(super) typing: Typing,
    /// The signatures to be typed, by the moment: one where a bar begins, and one for the bar after the last.
    pub(super) metres: Vec<(Time, Metre)>,
    pub(super) edits: Vec<TextEdit>,
    /// What is written anew as a whole.
    pub(super) covered: Vec<Span>,
    pub(super) timed: Vec<u32>,
    pub(super) breaks: Breaks,
}

/// The edits that give a voice its new bars.
pub(super) fn reline<'a>(
    text: &'a str,
    read: &'a Lowered,
    voice: &'a Voice,
    plan: &'a Plan<'a>,
    signed_above: bool,
) -> Result<Vec<TextEdit>, Refusal> {
    let tune = &read.tune;
    let lengths = voice.events.iter().filter_map(|event| text.get(event.length.range()));
    let mut one = Relined {
        text,
        read,
        voice,
        plan,
        signs: Signs { text, tune, voice },
        sung: Sung::new(text, voice),
        signed: signed(read, voice, plan),
        typing: Typing::of(lengths),
        metres: Vec::new(),
        edits: Vec::new(),
        covered: Vec::new(),
        timed: Vec::new(),
        breaks: Breaks::default(),
    };
    one.check()?;
    if !signed_above {
        one.signatures()?;
    }
    let layers = one.bars().iter().any(|bar| bar.layers > 1);
    if layers {
        layered::write(&mut one)?;
    } else {
        let rests = Rests::find(&one)?;
        one.breaks = Breaks::find(&one);
        rests.write(&mut one)?;
        one.timed = one.sounding_or_resting();
        let helds = one.helds();
        if matches!(plan.manner, Manner::Plain { shows_joins: true, .. }) {
            one.show_joins(&helds);
        }
        for held in helds {
            let bar = held.events.first().map(|first| one.event(*first).bar);
            one.write_held(&held).map_err(|why| match bar {
                Some(bar) => why.in_bar(bar),
                None => why,
            })?;
        }
        one.lines()?;
    }
    one.accidentals();
    Ok(one.sorted())
}

impl<'a> Relined<'a> {
    pub(super) fn bars(&self) -> &'a [Bar] {
        &self.voice.bars[self.plan.from as usize..=self.plan.to as usize]
    }

    pub(super) fn event(&self, index: u32) -> &'a Event {
        &self.voice.events[index as usize]
    }

    /// When an event of the passage begins.
    pub(super) fn at(&self, event: &Event) -> Time {
        self.plan.start(event.bar) + event.offset
    }

    /// Notes and rests of the passage that are written bar by bar, not whole-bar rests.
    pub(super) fn timed(&self) -> &[u32] {
        &self.timed
    }

    fn sounding_or_resting(&self) -> Vec<u32> {
        let events = self.bars().iter().flat_map(|bar| bar.events.clone());
        let timed = |index: &u32| {
            let event = self.event(*index);
            !event.grace && !matches!(event.kind, EventKind::BarRest(_))
        };
        events.filter(timed).collect()
    }

    /// Whether an old bar line at this moment goes.
    pub(super) fn goes(&self, at: Time) -> bool {
        self.plan.began(at) && !self.plan.begins(at)
    }

    pub(super) fn sign_at(&self, at: Time) -> Option<&Metre> {
        self.metres.iter().find(|sign| sign.0 == at).map(|sign| &sign.1)
    }

    /// What stands between the bar that ends at a moment and the next, if that is a plain line.
    pub(super) fn gap_at(&self, at: Time) -> Option<Gap<'a>> {
        let place = self.plan.old.iter().position(|start| *start == at)?;
        self.gap_before(self.plan.from.checked_add(place as u32)?)
    }

    /// The same before a bar, by its number.
    pub(super) fn gap_before(&self, bar: u32) -> Option<Gap<'a>> {
        let line = self.voice.bars.get(bar.checked_sub(1)? as usize)?.line?;
        let next = self.voice.bars.get(bar as usize)?;
        let first = next.span.start as usize;
        (line.end as usize <= first).then(|| Gap::read(self.text, line, first))?
    }

    /// What must hold of every bar before anything can be rewritten.
    fn check(&self) -> Result<(), Refusal> {
        let bars = self.bars();
        for (place, bar) in bars.iter().enumerate() {
            let number = self.plan.from + place as u32;
            let whole = self.read.tune.bars[number as usize].length;
            if bar.length != whole {
                let label = self.voice.label();
                let why = format!("Voice {label} has another length in this bar.");
                return Err(Refusal::new(why).in_bar(number));
            }
            if bar.events.is_empty() {
                return Err(Refusal::new("This bar is empty.").in_bar(number));
            }
            self.signs.no_sign_inside(number + 1, bar)?;
            let old = self.read.tune.metre(bar);
            for new in self.plan.bars {
                let fits = self.signs.no_tuplet_by_metre(bar, old, &new.metre);
                fits.map_err(|why| why.in_bar(number))?;
            }
        }
        let divided =
            |at: Span| bars.iter().any(|bar| bar.span.start < at.start && at.end <= bar.span.end);
        if self.read.tune.sections.iter().any(|section| divided(section.span)) {
            return Err(Refusal::new("A part begins in the middle of one of these bars."));
        }
        for (place, pair) in bars.windows(2).enumerate() {
            if self.goes(self.plan.old[place + 1]) {
                let number = self.plan.from + place as u32;
                self.can_go(number, &pair[0], &pair[1]).map_err(|why| why.in_bar(number))?;
            }
        }
        let (from, to) = (bars[0].span.start as usize, bars[bars.len() - 1].span.end as usize);
        if self.sung.counts_bars(from, to) {
            return Err(Refusal::new("The words here are aligned bar by bar."));
        }
        Ok(())
    }

    fn can_go(&self, number: u32, bar: &Bar, next: &Bar) -> Result<(), Refusal> {
        let strong = bar.strong_line
            || bar.style != LineStyle::Plain
            || bar.repeat_closes > 0
            || next.repeat_opens > 0
            || next.ending;
        if strong {
            return Err(Refusal::new("A repeat, an ending or a double bar stands between."));
        }
        let on_line = |on: MarkPlace| on == MarkPlace::BarLine(number);
        if self.voice.marks.iter().any(|mark| on_line(mark.on)) {
            return Err(Refusal::new("A sign stands on a bar line that would go."));
        }
        Ok(())
    }

    /// Which signatures are to be typed, and which go.
    fn signatures(&mut self) -> Result<(), Refusal> {
        let (tune, plan) = (&self.read.tune, self.plan);
        let before = self.signs.metre_before(plan.from);
        let mut last = before.as_ref();
        for (bar, start) in plan.bars.iter().zip(&plan.new) {
            let needed = last != Some(&bar.metre);
            last = Some(&bar.metre);
            let place = plan.old.iter().position(|old| old == start);
            let old = place.and_then(|place| self.bars().get(place));
            let number = plan.from + place.unwrap_or(0) as u32;
            let typed = old.and_then(|old| old.metre_typed.or_else(|| self.signs.just_before(old)));
            match (typed, old) {
                (Some(_), Some(old)) if *tune.metre(old) == bar.metre => {}
                (Some(typed), _) if !needed => self.edits.push(self.signs.without(typed)),
                _ if !needed => {}
                (_, Some(_)) if !self.is_rest_inside(number) => {
                    self.edits.push(self.signs.typed_at(number, &bar.metre)?);
                }
                _ => self.metres.push((*start, bar.metre.clone())),
            }
        }
        for (place, bar) in self.bars().iter().enumerate().skip(1) {
            if let Some(typed) = bar.metre_typed.filter(|_| self.goes(plan.old[place])) {
                self.edits.push(self.signs.without(typed));
            }
        }
        if let Some(last) = last.cloned() {
            self.at_the_repeat(&last)?;
        }
        let last = plan.bars.last().map(|bar| &bar.metre);
        let Some(next) = self.voice.bars.get(plan.to as usize + 1) else { return Ok(()) };
        let (now, then) = (tune.metre(next), tune.metre(&self.bars()[self.bars().len() - 1]));
        match next.metre_typed {
            Some(typed) if Some(now) == last && now != then && plan.manner != Manner::Exact => {
                self.edits.push(self.signs.without(typed));
            }
            None if Some(now) != last && self.is_rest_inside(plan.to + 1) => {
                let end = plan.new.last().copied().unwrap_or_default();
                self.metres.push((end, now.clone()));
            }
            None if Some(now) != last => {
                self.edits.push(self.signs.typed_at(plan.to + 1, now)?);
            }
            _ => {}
        }
        Ok(())
    }

    /// A repeat that leads back from the last bar finds its own signature where it begins, not the one it leaves;
    /// when a split is undone that goes again.
    fn at_the_repeat(&mut self, last: &Metre) -> Result<(), Refusal> {
        let (from, to) = (self.plan.from, self.plan.to);
        let all = &self.voice.bars;
        if all[to as usize].repeat_closes == 0 {
            return Ok(());
        }
        let ends =
            |bar: &u32| all[*bar as usize].section_ends || all[*bar as usize].repeat_closes > 0;
        let opens = (0..=from).rev().find(|bar| all[*bar as usize].repeat_opens > 0);
        let after = (0..from).rev().find(ends).map(|bar| bar + 1);
        let begin = opens.max(after).unwrap_or(0);
        let (bar, metre) = (&all[begin as usize], self.read.tune.metre(&all[begin as usize]));
        if begin == from || self.is_rest_inside(begin) {
            return Ok(());
        }
        match bar.metre_typed.or_else(|| self.signs.just_before(bar)) {
            None if metre != last => self.edits.push(self.signs.typed_at(begin, metre)?),
            Some(typed) if self.plan.undoes && metre == last => {
                let known = self.signs.metre_before(begin);
                if known.as_ref() == Some(metre) {
                    self.edits.push(self.signs.without(typed));
                }
            }
            _ => {}
        }
        Ok(())
    }

    /// Whether a bar is one of several that a rest counts, and not the first.
    fn is_rest_inside(&self, bar: u32) -> bool {
        self.signs.long_rest(bar).is_some_and(|rest| rest.first < bar)
    }

    /// Writes a stretch of text anew as a whole.
    pub(super) fn replace(&mut self, span: Span, text: String) {
        self.covered.push(span);
        self.edits.push(TextEdit { span, text });
    }

    pub(super) fn is_covered(&self, span: Span) -> bool {
        self.covered.iter().any(|whole| whole.overlaps(span))
    }

    /// Where an event begins with its grace notes and signs.
    pub(super) fn start_of(&self, event: &Event) -> usize {
        let bar = &self.voice.bars[event.bar as usize];
        let graces = self.voice.events_of(bar).iter().filter(|grace| {
            grace.grace && grace.offset == event.offset && grace.layer == event.layer
        });
        let first = graces.map(|grace| grace.full.start).min().unwrap_or(event.full.start);
        first.min(event.full.start) as usize
    }

    /// The accidentals that other bar lines ask for, where they are not already written.
    fn accidentals(&mut self) {
        for (&index, alter) in &self.signed {
            let span = self.voice.notes[index as usize].span;
            if self.is_covered(span) {
                continue;
            }
            let typed = self.text.get(span.range()).unwrap_or_default();
            let bare = typed.trim_start_matches(['^', '_', '=']);
            let start = span.start as usize;
            let span = Span::new(start, start + typed.len() - bare.len());
            let text = alter.map_or("", accidental_text).to_owned();
            self.edits.push(TextEdit { span, text });
        }
    }

    /// The edits, less those inside what is written anew as a whole.
    fn sorted(self) -> Vec<TextEdit> {
        let Relined { edits, covered, .. } = self;
        let inside = |span: Span| {
            covered.iter().any(|whole| match span.start == span.end {
                true => whole.start < span.start && span.end < whole.end,
                false => whole.overlaps(span) && *whole != span,
            })
        };
        edits.into_iter().filter(|edit| !inside(edit.span)).collect()
    }
}
