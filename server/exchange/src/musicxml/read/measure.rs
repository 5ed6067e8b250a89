//! A part, measure by measure: where it stands in time, and what stands there.

use super::tree::Element;
use crate::sheet::{Event, Measure, Notice, Part, ScoreMark, ScoreSign, Sheet, Sign};
use recte_theory::Time;

/// Nothing in a measure lasts longer, in whole notes.
const LONGEST: i64 = 64;
/// A measure with more than this is a mistake.
const LONGEST_MEASURE: i64 = 256;

/// More voices than any part has.
const MOST_VOICES: usize = 256;

/// A part being read.
pub(super) struct PartReader {
    pub(super) index: u16,
    pub(super) part: Part,
    /// Divisions of a quarter note; none until they are given.
    pub(super) divisions: Option<i64>,
    /// From the beginning of the measure.
    pub(super) position: Time,
    pub(super) measure: u32,
    pub(super) now: Measure,
    /// The event a chord note joins.
    pub(super) last: Option<usize>,
    /// Whether a second beam has just ended within the first.
    pub(super) second_beam_ended: bool,
    /// Open hairpins: their number, and whether the sound grows.
    pub(super) open_wedges: Vec<(String, bool)>,
    /// Whether a repeat begins with the measure to come.
    pub(super) repeat_opens_next: bool,
    /// The events of the measure that are not printed, in order.
    pub(super) unprinted: Vec<usize>,
    pub(super) notices: Vec<Notice>,
}

impl PartReader {
    pub(super) fn new(index: usize, id: &str) -> PartReader {
        PartReader {
            index: u16::try_from(index).unwrap_or(u16::MAX),
            part: Part { id: id.to_owned(), staves: 1, ..Part::default() },
            divisions: None,
            position: Time::ZERO,
            measure: 0,
            now: Measure::default(),
            last: None,
            second_beam_ended: false,
            open_wedges: Vec::new(),
            repeat_opens_next: false,
            unprinted: Vec::new(),
            notices: Vec::new(),
        }
    }

    /// What to call it in a sentence.
    pub(super) fn label(&self) -> &str {
        let Part { name, called, abbreviation, id, .. } = &self.part;
        [name, called, abbreviation, id]
            .into_iter()
            .find(|text| !text.is_empty())
            .map_or("", |text| text)
    }

    pub(super) fn notice(&mut self, what: impl Into<String>) {
        let (part, measure) = (Some(self.index), Some(self.measure));
        let notice = Notice { part, measure, what: what.into() };
        if self.notices.last() != Some(&notice) {
            self.notices.push(notice);
        }
    }

    /// Reads the measure at `index`; those before it that are missing stay empty.
    pub(super) fn measure(
        &mut self,
        index: usize,
        element: Element<'_, '_>,
        sheet: &mut Sheet,
    ) -> Result<(), String> {
        while self.part.measures.len() < index {
            self.part.measures.push(Measure::default());
        }
        (self.measure, self.position, self.last) = (index as u32, Time::ZERO, None);
        self.now = Measure::default();
        if std::mem::take(&mut self.repeat_opens_next)
            && let Some(lines) = sheet.lines.get_mut(index)
        {
            lines.repeat_opens = true;
        }
        for child in element.children() {
            match child.name() {
                "note" => self.note(child)?,
                "backup" => self.back(child)?,
                "forward" => self.forward(child)?,
                "attributes" => self.attributes(child)?,
                "direction" => self.direction(child, sheet)?,
                "harmony" => self.harmony(child)?,
                "figured-bass" => self.figured_bass(child)?,
                "barline" => self.barline(child, sheet)?,
                "sound" => self.sound(child, sheet),
                _ => {}
            }
        }
        self.settle_unprinted();
        let measure = std::mem::take(&mut self.now);
        if self.part.measures.len() > index {
            return Err("this part has the measure twice".to_owned());
        }
        self.part.measures.push(measure);
        sheet.notices.append(&mut self.notices);
        Ok(())
    }

    /// After the last of `count` measures.
    pub(super) fn finish(&mut self, count: usize, sheet: &mut Sheet) {
        self.part.measures.resize_with(count, Measure::default);
        if self.repeat_opens_next {
            self.notice("a repeat that begins after the last measure is left out");
        }
        if super::figures::typed_as_words(&mut self.part) {
            let what = "words that are figured bass stand as text below the notes".to_owned();
            self.notices.push(Notice { part: Some(self.index), measure: None, what });
        }
        sheet.notices.append(&mut self.notices);
    }

    /// A number of divisions as a time.
    pub(super) fn time(&self, divisions: Time) -> Result<Time, String> {
        let Some(quarter) = self.divisions else {
            return Err(
                "a length comes before the divisions of the quarter note are given".to_owned()
            );
        };
        let time = divisions / Time::new(quarter.saturating_mul(4), 1);
        if time > Time::new(LONGEST, 1) {
            return Err(format!("a length of {divisions} divisions is longer than any note"));
        }
        Ok(time)
    }

    /// The `<duration>` of an element, if it has one.
    pub(super) fn duration(&self, element: Element<'_, '_>) -> Result<Option<Time>, String> {
        let Some(child) = element.child("duration") else { return Ok(None) };
        let text = child.text();
        let Some(divisions) = decimal(text).filter(|length| *length >= Time::ZERO) else {
            return Err(format!("“{text}” is no length; it is a number of divisions"));
        };
        self.time(divisions).map(Some)
    }

    /// Time passes.
    pub(super) fn advance(&mut self, length: Time) -> Result<(), String> {
        self.position += length;
        if self.position > Time::new(LONGEST_MEASURE, 1) {
            return Err("the measure is longer than any measure is".to_owned());
        }
        self.now.length = self.now.length.max(self.position);
        Ok(())
    }

    fn back(&mut self, element: Element<'_, '_>) -> Result<(), String> {
        let length = self.duration(element)?.ok_or("a step back has no length")?;
        if length > self.position {
            self.notice("a step back reaches before the measure; it goes to its beginning");
        }
        self.position = (self.position - length).max(Time::ZERO);
        self.last = None;
        Ok(())
    }

    fn forward(&mut self, element: Element<'_, '_>) -> Result<(), String> {
        let length = self.duration(element)?.ok_or("a step forward has no length")?;
        self.last = None;
        self.advance(length)
    }

    /// A voice's place in the list of those that occur.
    ///
    /// Names beyond the most voices a part can have are read as one.
    pub(super) fn voice(&mut self, name: &str) -> u16 {
        let name = if name.is_empty() { "1" } else { name };
        let known = self.part.voices.iter().position(|known| known == name);
        let last = self.part.voices.len().checked_sub(1).filter(|last| *last >= MOST_VOICES);
        let place = known.or(last).unwrap_or_else(|| {
            self.part.voices.push(name.to_owned());
            self.part.voices.len() - 1
        });
        u16::try_from(place).unwrap_or(u16::MAX)
    }

    /// The staff an element names.
    pub(super) fn staff(&self, element: Element<'_, '_>) -> u8 {
        element.number("staff").filter(|staff| (1..=16).contains(staff)).unwrap_or(1)
    }

    /// Where an element stands that may be set off from here.
    pub(super) fn place(&self, element: Element<'_, '_>) -> Result<Time, String> {
        let Some(offset) = element.child("offset") else { return Ok(self.position) };
        let (sign, text) = match offset.text().strip_prefix('-') {
            Some(text) => (-1, text),
            None => (1, offset.text()),
        };
        let Some(offset) = decimal(text) else { return Ok(self.position) };
        let offset = self.time(offset)?;
        Ok((self.position + offset * Time::new(sign, 1)).max(Time::ZERO))
    }

    pub(super) fn push(&mut self, event: Event) {
        self.last = Some(self.now.events.len());
        self.now.events.push(event);
    }

    pub(super) fn sign(&mut self, sign: Sign) {
        self.now.signs.push(sign);
    }

    pub(super) fn score_sign(&self, onset: Time, what: ScoreMark, sheet: &mut Sheet) {
        sheet.signs.push(ScoreSign { measure: self.measure, onset, what });
    }
}

/// A number such as `12` or `1.5`, exactly.
pub(super) fn decimal(text: &str) -> Option<Time> {
    let (negative, text) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let part = part.trim_end_matches('0');
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.len() + part.len() == 0
        || whole.len() > 9
        || part.len() > 6
        || !digits(whole)
        || !digits(part)
    {
        return None;
    }
    let number: i64 = format!("{whole}{part}").parse().ok()?;
    let scale = 10_i64.checked_pow(u32::try_from(part.len()).ok()?)?;
    Some(Time::new(if negative { -number } else { number }, scale))
}
