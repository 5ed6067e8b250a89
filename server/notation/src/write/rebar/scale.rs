//! Halving or doubling all values of a passage, with a tempo that makes up for it.

use super::length::Typing;
use super::signs::Signs;
use super::{Refusal, in_order, tune_bar};
use crate::Lowered;
use crate::lower::read_length;
use crate::write::TextEdit;
use recte_score::{Event, EventKind, Span, Tempo, Tune, Voice};
use recte_theory::{Metre, Time};

/// Whether values become half as long or twice as long.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Half as long.
    Half,
    /// Twice as long.
    Double,
}

impl Scale {
    /// What a length is multiplied by.
    pub fn factor(self) -> Time {
        match self {
            Scale::Half => Time::new(1, 2),
            Scale::Double => Time::new(2, 1),
        }
    }

    /// A signature that counts values half or twice as long.
    ///
    /// # Errors
    /// When there is none.
    pub fn metre(self, metre: &Metre) -> Result<Metre, Refusal> {
        if metre.is_free() {
            return Ok(metre.clone());
        }
        let typed = metre.numbers().map_or_else(|| metre.to_string(), |(n, d)| format!("{n}/{d}"));
        let scaled: Vec<String> = typed
            .split('/')
            .enumerate()
            .map(|(place, part)| {
                let end = part.find(|c: char| !c.is_ascii_digit()).unwrap_or(part.len());
                match part[..end].parse::<u32>() {
                    Ok(below) if place > 0 => {
                        let below = match self {
                            Scale::Half => below * 2,
                            Scale::Double if below % 2 == 0 => below / 2,
                            Scale::Double => 0,
                        };
                        format!("{below}{}", &part[end..])
                    }
                    _ => part.to_owned(),
                }
            })
            .collect();
        Metre::parse(&scaled.join("/"))
            .map_err(|_| Refusal::new(format!("No signature counts the values of {metre} so.")))
    }
}

/// The tempo in numbers that is in force as a bar begins.
pub fn tempo_at(tune: &Tune, bar: u32) -> Option<&Tempo> {
    let counted = tune.tempi.iter().filter(|tempo| tempo.per_minute.is_some());
    let before = counted.filter(|tempo| (tempo.bar, tempo.offset) <= (bar, Time::ZERO));
    before.max_by_key(|tempo| (tempo.bar, tempo.offset))
}

/// The edits that halve or double all values of the bars `from` to `to` in every voice, the signatures and the
/// tempo with them; signature and tempo come back after them.
///
/// # Errors
/// When no tempo is given that could make up for it, or something cannot be written so.
pub fn scale_values(
    text: &str,
    read: &Lowered,
    from: u32,
    to: u32,
    scale: Scale,
) -> Result<Vec<TextEdit>, Refusal> {
    let tune = &read.tune;
    tune_bar(tune, to.max(from))?;
    let Some(tempo) = tempo_at(tune, from) else {
        return Err(Refusal::new(
            "No tempo is given in numbers (Q:) that could make up for other values.",
        ));
    };
    let work = Work { text, tune, from, to, scale };
    let whole = from == 0 && tune.voices.iter().all(|voice| voice.bars.len() <= to as usize + 1);
    if let Some(edits) = whole.then(|| work.by_unit()).flatten() {
        return edits;
    }
    let mut edits = Vec::new();
    let mut first = true;
    for voice in tune.voices.iter().filter(|voice| voice.bars.len() > from as usize) {
        for bar in from..=to.min(voice.bars.len() as u32 - 1) {
            in_order(voice, bar)?;
        }
        edits.extend(work.signatures(voice)?);
        if std::mem::take(&mut first) {
            edits.extend(work.tempi(voice, tempo)?);
        }
        edits.extend(work.lengths(voice)?);
    }
    Ok(edits)
}

struct Work<'a> {
    text: &'a str,
    tune: &'a Tune,
    from: u32,
    to: u32,
    scale: Scale,
}

impl Work<'_> {
    fn typed(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or_default()
    }

    /// The whole tune by its unit length, where one is given for all of it.
    fn by_unit(&self) -> Option<Result<Vec<TextEdit>, Refusal>> {
        let header = self.typed(self.tune.header);
        let body = self.text.get(self.tune.header.end as usize..self.tune.span.end as usize)?;
        let inner = body.contains("[L:") || body.lines().any(|line| line.starts_with("L:"));
        let mut fields = header
            .match_indices("L:")
            .filter(|(at, _)| *at == 0 || header[..*at].ends_with(['\n', '\r']));
        let (Some((at, _)), None, false) = (fields.next(), fields.next(), inner) else {
            return None;
        };
        let value = &header[at + 2..];
        let value = &value[..value.find(['\n', '\r', '%']).unwrap_or(value.len())];
        let unit = crate::fields::unit_length(value.trim())? * self.scale.factor();
        let start = self.tune.header.start as usize + at + 2;
        let lead = value.len() - value.trim_start().len();
        let span = Span::new(start + lead, start + value.trim_end().len());
        let mut edits = vec![TextEdit { span, text: unit.to_string() }];
        Some(self.fields(&mut edits).map(|()| edits))
    }

    /// Every signature and tempo typed in the tune.
    fn fields(&self, edits: &mut Vec<TextEdit>) -> Result<(), Refusal> {
        let mut at = self.tune.header.start as usize;
        let end = self.tune.span.end as usize;
        while let Some(found) = self.text.get(at..end).and_then(|rest| rest.find("M:")) {
            let start = at + found;
            at = start + 2;
            let inline = self.text[..start].ends_with('[');
            let line = start == 0 || self.text[..start].ends_with(['\n', '\r']);
            if !inline && !line {
                continue;
            }
            let value = &self.text[at..end];
            let stop: &[char] = if inline { &[']'] } else { &['\n', '\r', '%'] };
            let value = &value[..value.find(stop).unwrap_or(value.len())];
            let Ok(metre) = Metre::parse(value.trim()) else { continue };
            let lead = value.len() - value.trim_start().len();
            let span = Span::new(at + lead, at + value.trim_end().len());
            edits.push(TextEdit { span, text: self.scale.metre(&metre)?.to_string() });
        }
        for tempo in self.tune.tempi.iter().filter(|tempo| tempo.per_minute.is_some()) {
            edits.push(self.tempo(tempo)?);
        }
        Ok(())
    }

    /// A tempo that counts the values of before.
    fn tempo(&self, tempo: &Tempo) -> Result<TextEdit, Refusal> {
        let typed = self.typed(tempo.span);
        let text = scaled_tempo(typed, tempo, self.scale)
            .ok_or_else(|| Refusal::new("A tempo here is typed in an unusual way."))?;
        Ok(TextEdit { span: tempo.span, text })
    }

    fn signatures(&self, voice: &Voice) -> Result<Vec<TextEdit>, Refusal> {
        let signs = Signs { text: self.text, tune: self.tune, voice };
        let mut edits = Vec::new();
        let last = self.to.min(voice.bars.len() as u32 - 1);
        for number in self.from..=last {
            let bar = &voice.bars[number as usize];
            signs.no_sign_inside(number + 1, bar)?;
            if number == self.from || bar.metre_typed.is_some() {
                let metre = self.scale.metre(self.tune.metre(bar))?;
                if number > 0 && signs.long_rest(number).is_some_and(|rest| rest.first < number) {
                    let why = "A rest of several bars lies over the beginning.";
                    return Err(Refusal::new(why).in_bar(number));
                }
                edits.push(signs.typed_at(number, &metre)?);
            }
        }
        let Some(next) = voice.bars.get(last as usize + 1) else { return Ok(edits) };
        if signs.long_rest(last + 1).is_some_and(|rest| rest.first <= last) {
            let why = "A rest of several bars lies over the end.";
            return Err(Refusal::new(why).in_bar(last));
        }
        if next.metre_typed.is_none() {
            edits.push(signs.typed_at(last + 1, self.tune.metre(next))?);
        }
        Ok(edits)
    }

    /// The tempi of the passage, and the one that comes back after it.
    fn tempi(&self, voice: &Voice, before: &Tempo) -> Result<Vec<TextEdit>, Refusal> {
        let mut edits = Vec::new();
        let start = (self.from, Time::ZERO);
        let counted = || self.tune.tempi.iter().filter(|tempo| tempo.per_minute.is_some());
        let place = |tempo: &&Tempo| (tempo.bar, tempo.offset);
        let inside = |tempo: &&Tempo| {
            let header = tempo.span.end <= self.tune.header.end;
            start <= place(tempo) && tempo.bar <= self.to && !header
        };
        for tempo in counted().filter(inside) {
            edits.push(self.tempo(tempo)?);
        }
        let insert = |bar: u32, text: String| {
            let at = voice.bars.get(bar as usize).map_or(0, |bar| bar.span.start as usize);
            TextEdit { span: Span::new(at, at), text: format!("[Q:{text}] ") }
        };
        if !counted().filter(inside).any(|tempo| place(&tempo) == start) {
            edits.push(insert(self.from, tempo_text(before, self.scale.factor())));
        }
        let after = (self.to + 1, Time::ZERO);
        let back = counted().filter(|tempo| place(tempo) < after).max_by_key(place);
        let typed = counted().any(|tempo| place(&tempo) == after);
        if let Some(back) = back.filter(|_| !typed && voice.bars.len() > self.to as usize + 1) {
            edits.push(insert(self.to + 1, tempo_text(back, Time::WHOLE)));
        }
        Ok(edits)
    }

    fn lengths(&self, voice: &Voice) -> Result<Vec<TextEdit>, Refusal> {
        let lengths = voice.events.iter().map(|event| self.typed(event.length));
        let typing = Typing::of(lengths);
        let last = self.to.min(voice.bars.len() as u32 - 1) as usize;
        let bars = &voice.bars[self.from as usize..=last];
        let mut edits = Vec::new();
        for event in bars.iter().flat_map(|bar| voice.events_of(bar)) {
            if event.grace || matches!(event.kind, EventKind::BarRest(_)) {
                continue;
            }
            for span in length_spans(self.text, voice, event) {
                let units = read_length(self.typed(span))
                    .ok_or_else(|| Refusal::new("A note here has a length that cannot be read."))
                    .map_err(|why| why.in_bar(event.bar))?;
                let scaled = units * self.scale.factor();
                if scaled.denominator() > 512 {
                    return Err(Refusal::new("A note here is too short to be halved."));
                }
                edits.push(TextEdit { span, text: typing.text(scaled) });
            }
        }
        Ok(edits)
    }
}

/// Where the lengths of an event are typed: of a chord inside or after it.
fn length_spans(text: &str, voice: &Voice, event: &Event) -> Vec<Span> {
    let number = |c: char| c.is_ascii_digit() || c == '/';
    let inner = event.notes.clone().filter_map(|note| {
        let start = voice.notes[note as usize].span.end as usize;
        let rest = text.get(start..)?;
        let length = rest.find(|c: char| !number(c)).unwrap_or(rest.len());
        Some(Span::new(start, start + length))
    });
    let chord = text.get(event.span.start as usize..).is_some_and(|t| t.starts_with('['));
    let inner: Vec<Span> = inner.filter(|_| chord).collect();
    let typed = inner.iter().any(|span| span.start < span.end);
    if typed && event.length.start == event.length.end { inner } else { vec![event.length] }
}

/// A tempo in numbers as a field says it, its beats so many times as long: `1/4=84`.
pub fn tempo_text(tempo: &Tempo, factor: Time) -> String {
    let fraction = |beat: &Time| {
        let beat = *beat * factor;
        format!("{}/{}", beat.numerator(), beat.denominator())
    };
    let beats: Vec<String> = tempo.beats.iter().map(fraction).collect();
    format!("{}={}", beats.join(" "), tempo.per_minute.unwrap_or(0))
}

/// A tempo field with its beats half or twice as long; its words stay.
fn scaled_tempo(typed: &str, tempo: &Tempo, scale: Scale) -> Option<String> {
    let mut text = String::new();
    let at = typed.find("Q:")? + 2;
    text.push_str(&typed[..at]);
    // Words in quotation marks may stand before the numbers or after them.
    let end = typed.strip_suffix(']').map_or(typed.len(), str::len);
    let value = &typed[at..end];
    let mut done = false;
    for (place, part) in value.split('"').enumerate() {
        if place > 0 {
            text.push('"');
        }
        if place % 2 == 1 || part.trim().is_empty() || done {
            text.push_str(part);
            continue;
        }
        done = true;
        let (lead, tail) = (part.len() - part.trim_start().len(), part.trim_end().len());
        text.push_str(&part[..lead]);
        text.push_str(&tempo_text(tempo, scale.factor()));
        text.push_str(&part[tail..]);
    }
    text.push_str(&typed[end..]);
    done.then_some(text)
}
