//! Signatures in one voice: typed at a bar, taken away, and given back after.

use super::Refusal;
use super::plan::Plan;
use crate::write::TextEdit;
use recte_score::{Bar, EventKind, Span, Tune, Voice};
use recte_theory::Metre;

/// One voice whose signatures are rewritten.
pub(super) struct Signs<'a> {
    pub(super) text: &'a str,
    pub(super) tune: &'a Tune,
    pub(super) voice: &'a Voice,
}

impl Signs<'_> {
    /// The edits that put the bars under one signature.
    pub(super) fn set(&self, from: u32, to: u32, metre: &Metre) -> Result<Vec<TextEdit>, Refusal> {
        let old = self.metre(from)?;
        let to = to.min(self.voice.bars.len() as u32 - 1);
        for bar in from + 1..=to {
            if !self.untyped(bar) {
                return Err(Refusal::new("Another signature is typed in this bar.").in_bar(bar));
            }
        }
        self.no_sign_inside(to + 1, self.bar(to)?)?;
        for bar in from..=to {
            self.no_tuplet_by_metre(self.bar(bar)?, old, metre)?;
        }
        let before = from.checked_sub(1).and_then(|bar| self.metre(bar).ok());
        let mut signs = Vec::new();
        let mut edits = Vec::new();
        match self.bar(from)?.metre_typed {
            Some(typed) if before == Some(metre) => edits.push(self.without(typed)),
            _ => signs.push((from, metre)),
        }
        if let Some(next) = self.voice.bars.get(to as usize + 1) {
            match next.metre_typed {
                Some(typed) if self.tune.metre(next) == metre => edits.push(self.without(typed)),
                Some(_) => {}
                None => signs.push((to + 1, old)),
            }
        }
        edits.extend(self.type_all(&signs)?);
        Ok(edits)
    }

    /// Types signatures at the beginnings of bars, parting long rests where they fall inside one.
    fn type_all(&self, signs: &[(u32, &Metre)]) -> Result<Vec<TextEdit>, Refusal> {
        let mut edits = Vec::new();
        let mut rests: Vec<(LongRest, Vec<(u32, &Metre)>)> = Vec::new();
        for &(bar, metre) in signs {
            match self.long_rest(bar).filter(|rest| rest.first < bar) {
                None => edits.push(self.typed_at(bar, metre)?),
                Some(rest) => match rests.iter_mut().find(|(known, _)| known.first == rest.first) {
                    Some((_, signs)) => signs.push((bar, metre)),
                    None => rests.push((rest, vec![(bar, metre)])),
                },
            }
        }
        for (rest, signs) in &rests {
            edits.extend(self.rest_anew(rest, signs)?);
        }
        Ok(edits)
    }

    fn bar(&self, bar: u32) -> Result<&Bar, Refusal> {
        self.voice.bars.get(bar as usize).ok_or_else(|| Refusal::new("There is no such bar."))
    }

    fn metre(&self, bar: u32) -> Result<&Metre, Refusal> {
        Ok(self.tune.metre(self.bar(bar)?))
    }

    /// The signature in force before a bar: for the first, the header's.
    pub(super) fn metre_before(&self, bar: u32) -> Option<Metre> {
        if let Some(before) = bar.checked_sub(1) {
            return self.metre(before).ok().cloned();
        }
        let first = self.bar(0).ok()?;
        if first.metre_typed.is_none() && self.just_before(first).is_none() {
            return self.metre(0).ok().cloned();
        }
        header_metre(self.text, self.tune)
    }

    /// Whether the voice has this bar and no signature is typed in it.
    fn untyped(&self, bar: u32) -> bool {
        self.bar(bar).is_ok_and(|bar| bar.metre_typed.is_none())
    }

    /// A signature for the next bar that stands among the notes of this one would be in the way.
    pub(super) fn no_sign_inside(&self, next: u32, bar: &Bar) -> Result<(), Refusal> {
        let typed = self.bar(next).ok().and_then(|next| next.metre_typed);
        if typed.is_some_and(|typed| typed.start < bar.span.end) {
            let why = "A signature stands in the middle of this bar.";
            return Err(Refusal::new(why).in_bar(next.saturating_sub(1)));
        }
        Ok(())
    }

    /// A bare `(5`, `(7` or `(9` is counted by the metre (4.13), so it would change with it.
    pub(super) fn no_tuplet_by_metre(
        &self,
        bar: &Bar,
        old: &Metre,
        new: &Metre,
    ) -> Result<(), Refusal> {
        let by_metre = |index: u32| {
            let tuplet = &self.voice.tuplets[index as usize];
            let typed = self.text.get(tuplet.span.range()).unwrap_or_default();
            matches!(tuplet.actual, 5 | 7 | 9)
                && typed.split(':').nth(1).is_none_or(|normal| normal.is_empty())
        };
        let tuplets = self.voice.events_of(bar).iter().filter_map(|event| event.tuplet);
        if old.is_compound() != new.is_compound() && tuplets.into_iter().any(by_metre) {
            return Err(Refusal::new(
                "A tuplet here is counted by the metre, and would change with it.",
            ));
        }
        Ok(())
    }

    /// A signature at the beginning of a bar, in the place of one already typed there.
    pub(super) fn typed_at(&self, bar: u32, metre: &Metre) -> Result<TextEdit, Refusal> {
        let bar = self.bar(bar)?;
        let Some(typed) = bar.metre_typed.or_else(|| self.just_before(bar)) else {
            let start = bar.span.start as usize;
            let space = if close_signs(self.text) { "" } else { " " };
            let text = format!("[M:{metre}]{space}");
            return Ok(TextEdit { span: Span::new(start, start), text });
        };
        let inline = self.text.get(typed.range()).is_some_and(|text| text.starts_with('['));
        let text = if inline { format!("[M:{metre}]") } else { format!("M:{metre}") };
        Ok(TextEdit { span: typed, text })
    }

    /// An inline signature that stands right before a bar: before any music the reader takes it for the
    /// whole tune's, not for the bar's.
    pub(super) fn just_before(&self, bar: &Bar) -> Option<Span> {
        let before = self.text.get(..bar.span.start as usize)?.trim_end_matches([' ', '\t']);
        let start = before.strip_suffix(']')?.rfind('[')?;
        before[start..].starts_with("[M:").then(|| Span::new(start, before.len()))
    }

    /// Takes a typed signature away, with its line if it has one to itself.
    pub(super) fn without(&self, typed: Span) -> TextEdit {
        let (start, mut end) = (typed.start as usize, typed.end as usize);
        let rest = self.text.get(end..).unwrap_or_default();
        let inline = self.text[start..].starts_with('[');
        end += if inline {
            usize::from(rest.starts_with([' ', '\t']))
        } else if rest.starts_with("\r\n") {
            2
        } else {
            usize::from(rest.starts_with(['\n', '\r']))
        };
        TextEdit { span: Span::new(start, end), text: String::new() }
    }

    /// The rest of several bars that a bar is in.
    pub(super) fn long_rest(&self, bar: u32) -> Option<LongRest> {
        let event = self.voice.events_of(self.bar(bar).ok()?).first()?;
        let EventKind::BarRest(count @ 2..) = event.kind else { return None };
        let own =
            |bar: &Bar| self.voice.events_of(bar).first().is_some_and(|e| e.span == event.span);
        let first = self.voice.bars.iter().position(own)? as u32;
        Some(LongRest { first, count, span: event.span })
    }

    /// A rest of several bars with signatures between them: `Z|[M:5/8] Z|[M:9/8] Z2`.
    fn rest_anew(
        &self,
        rest: &LongRest,
        signs: &[(u32, &Metre)],
    ) -> Result<Vec<TextEdit>, Refusal> {
        let letter = self.text.get(rest.span.start as usize..rest.span.start as usize + 1);
        let letter = letter.ok_or_else(|| Refusal::new("This rest is typed in an unusual way."))?;
        let mut runs: Vec<(Option<&Metre>, u32)> = Vec::new();
        for bar in rest.first..rest.first + rest.count {
            let sign = signs.iter().find(|sign| sign.0 == bar).map(|sign| sign.1);
            match runs.last_mut() {
                Some((_, count)) if sign.is_none() => *count += 1,
                _ => runs.push((sign, 1)),
            }
        }
        let text: Vec<String> = runs
            .iter()
            .map(|(sign, count)| {
                let sign = sign.map(|metre| format!("[M:{metre}] ")).unwrap_or_default();
                let count = if *count > 1 { count.to_string() } else { String::new() };
                format!("{sign}{letter}{count}")
            })
            .collect();
        let mut edits = vec![TextEdit { span: rest.span, text: text.join(" | ") }];
        let after = rest.first + rest.count;
        if let Some((_, metre)) = signs.iter().find(|sign| sign.0 == after) {
            edits.push(self.typed_at(after, metre)?);
        }
        Ok(edits)
    }
}

/// A rest of several bars.
pub(super) struct LongRest {
    pub(super) first: u32,
    pub(super) count: u32,
    pub(super) span: Span,
}

/// Whether signatures inside lines mostly stand right before the notes, without a space.
fn close_signs(text: &str) -> bool {
    let (mut close, mut all) = (0, 0);
    for (at, _) in text.match_indices("[M:") {
        let after = text[at..].find(']').map_or("", |end| &text[at + end + 1..]);
        all += 1;
        close += usize::from(!after.starts_with([' ', '\t', '\n', '\r']));
    }
    2 * close > all
}

/// Whether bar lines mostly have spaces around them.
pub(super) fn spaced_lines(text: &str, tune: &Tune) -> bool {
    let (mut spaced, mut all) = (0, 0);
    let lines = tune.voices.iter().flat_map(|voice| &voice.bars).filter_map(|bar| bar.line);
    for line in lines.filter(|line| text.get(line.range()) == Some("|")) {
        let before = text[..line.start as usize].ends_with([' ', '\t']);
        let after = text[line.end as usize..].starts_with([' ', '\t']);
        all += 1;
        spaced += usize::from(before && after);
    }
    2 * spaced > all
}

/// Whether the new bars all stand under the signature around them, and the old did not.
pub(super) fn undoes(text: &str, tune: &Tune, plan: &Plan<'_>) -> bool {
    let Some(voice) = tune.voices.iter().find(|voice| voice.bars.len() > plan.to as usize) else {
        return false;
    };
    let Some(metre) = plan.bars.first().map(|bar| &bar.metre) else { return false };
    let bars = &voice.bars;
    let was = bars[plan.from as usize..=plan.to as usize].iter();
    let before = Signs { text, tune, voice }.metre_before(plan.from);
    let after = bars.get(plan.to as usize + 1).map(|bar| tune.metre(bar));
    plan.bars.iter().all(|bar| bar.metre == *metre)
        && was.into_iter().any(|bar| tune.metre(bar) != metre)
        && (before.as_ref() == Some(metre) || after == Some(metre))
}

/// What the one `M:` field of the header says.
pub(super) fn header_metre(text: &str, tune: &Tune) -> Option<Metre> {
    let lines = text.get(tune.header.range())?.lines();
    let mut fields = lines.filter_map(|line| line.strip_prefix("M:"));
    let field = fields.next_back()?;
    Metre::parse(field.split('%').next()?.trim()).ok()
}

/// The `M:` field of the header rewritten, where the bars are all there are under it.
pub(super) fn in_header(
    text: &str,
    tune: &Tune,
    from: u32,
    to: u32,
    metre: &Metre,
) -> Option<TextEdit> {
    let whole = tune.voices.iter().all(|voice| {
        let later = voice.bars.get(to as usize + 1);
        let own = &voice.bars[..voice.bars.len().min(to as usize + 1)];
        own.iter().all(|bar| bar.metre_typed.is_none())
            && later.is_none_or(|bar| bar.metre_typed.is_some())
    });
    let first = tune.voices.iter().filter_map(|voice| voice.bars.first()).map(|bar| bar.span.start);
    let lead = text.get(tune.header.end as usize..first.min()? as usize)?;
    if from > 0 || !whole || lead.contains("M:") {
        return None;
    }
    let header = text.get(tune.header.range())?;
    let mut fields = header
        .match_indices("M:")
        .filter(|(at, _)| *at == 0 || header[..*at].ends_with(['\n', '\r']));
    let (at, _) = fields.next().filter(|_| fields.next().is_none())?;
    let value = &header[at + 2..];
    let value = &value[..value.find(['\n', '\r', '%']).unwrap_or(value.len())];
    let start = tune.header.start as usize + at + 2 + (value.len() - value.trim_start().len());
    Some(TextEdit { span: Span::new(start, start + value.trim().len()), text: metre.to_string() })
}
