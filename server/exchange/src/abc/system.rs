//! The body: bars of all voices under each other, some at a time.

use super::bar::{BarWriter, Field};
use super::header::{clef, key, tempo_at};
use super::marks::marks;
use super::pitch::Spelling;
use super::settings::{Current, Settings, concerns};
use super::text::field;
use super::words::{Going, lines as word_lines, verses};
use super::{Bar, Voice};
use crate::sheet::{LineStyle, Lines, ScoreMark, ScoreSign, Setting, Sheet};
use recte_theory::Time;
use std::collections::HashSet;
use std::fmt::Write;

/// So many bars to a system, if they fit.
const BARS: usize = 4;
/// So many characters of music to a line, if one bar does not need more.
const WIDTH: usize = 96;

/// Some bars written as one: usually a single bar, several where all voices rest.
struct Column {
    first: usize,
    count: usize,
    /// The text of each voice.
    cells: Vec<String>,
    /// Whether it begins a new line: after a final line, or under a heading.
    begins: bool,
}

pub(super) fn body(
    sheet: &Sheet,
    settings: &Settings,
    voices: &[Voice<'_>],
    unit: Time,
    lengths: &[Time],
) -> String {
    let texts: Vec<Vec<String>> = voices
        .iter()
        .enumerate()
        .map(|(index, voice)| VoiceWriter::new(sheet, settings, voices, index, unit).bars(voice))
        .collect();
    let columns = columns(sheet, &texts, lengths.len());
    let mut sung: Vec<(Vec<String>, Vec<Going>)> = Vec::new();
    for voice in voices {
        let verses = verses(voice);
        sung.push((verses.clone(), vec![Going::default(); verses.len()]));
    }
    let mut out = String::new();
    let mut rest = columns.as_slice();
    while !rest.is_empty() {
        let count = how_many(rest);
        let (system, after) = rest.split_at(count);
        write_system(sheet, voices, system, after.is_empty(), &mut sung, &mut out);
        rest = after;
    }
    out
}

/// As many columns as fit in a line.
fn how_many(columns: &[Column]) -> usize {
    let width =
        |column: &Column| column.cells.iter().map(|cell| cell.chars().count()).max().unwrap_or(0);
    let mut total = 0;
    let mut bars = 0;
    for (index, column) in columns.iter().enumerate() {
        total += width(column) + 3;
        bars += 1;
        if index > 0 && (column.begins || total > WIDTH || bars > BARS) {
            return index;
        }
    }
    columns.len()
}

/// Bars as columns; runs in which every voice rests become one.
fn columns(sheet: &Sheet, texts: &[Vec<String>], count: usize) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::new();
    for index in 0..count {
        let cells: Vec<String> =
            texts.iter().map(|bars| bars.get(index).cloned().unwrap_or_default()).collect();
        let rests = |cells: &[String]| {
            cells.iter().any(|cell| cell == "Z")
                && cells.iter().all(|cell| cell == "Z" || cell == "X")
        };
        let plain = index.checked_sub(1).and_then(|before| sheet.lines.get(before));
        let plain = plain.is_some_and(|lines| {
            lines.repeat_closes == 0 && lines.style == LineStyle::Plain && !lines.fermata
        });
        let own = sheet.lines.get(index);
        let plain =
            plain && own.is_some_and(|l| !l.repeat_opens && l.ending.is_none() && !l.opens_heavy);
        let before = index.checked_sub(1).and_then(|before| sheet.lines.get(before));
        let headed = sheet.headings(index).next().is_some();
        let begins = headed || before.is_some_and(|lines| lines.style == LineStyle::Final);
        match columns.last_mut() {
            Some(last) if !headed && plain && rests(&cells) && rests(&last.cells) => {
                last.count += 1
            }
            _ => columns.push(Column { first: index, count: 1, cells, begins }),
        }
    }
    for column in columns.iter_mut().filter(|column| column.count > 1) {
        for cell in &mut column.cells {
            let _ = write!(cell, "{}", column.count);
        }
    }
    columns
}

fn write_system(
    sheet: &Sheet,
    voices: &[Voice<'_>],
    system: &[Column],
    last: bool,
    sung: &mut [(Vec<String>, Vec<Going>)],
    out: &mut String,
) {
    let (Some(first), Some(end)) = (system.first(), system.last()) else { return };
    let end = end.first + end.count;
    for heading in sheet.headings(first.first) {
        let _ = writeln!(out, "T:{}", field(heading));
    }
    let number = sheet.numbers.get(first.first).map_or("", String::as_str);
    if !number.is_empty() {
        let _ = writeln!(out, "% {}", field(number));
    }
    let opening = opening(sheet, first.first);
    let lines: Vec<(String, String)> = system
        .iter()
        .enumerate()
        .map(|(place, column)| {
            let next = column.first + column.count;
            let inside = place + 1 < system.len();
            line(sheet, next, inside, last && !inside)
        })
        .collect();
    let ids = voices.iter().map(|voice| voice.id.chars().count()).max().unwrap_or(0);
    for (index, voice) in voices.iter().enumerate() {
        let mut text = String::new();
        if voices.len() > 1 {
            let pad = ids - voice.id.chars().count();
            let _ = write!(text, "[V:{}] {}", voice.id, " ".repeat(pad));
        }
        text.push_str(&opening);
        for (place, (column, (line, lead))) in system.iter().zip(&lines).enumerate() {
            let cell = column.cells.get(index).map_or("", String::as_str);
            let widths = column.cells.iter().map(|cell| cell.chars().count());
            let width = widths.max().unwrap_or(0);
            text.push_str(cell);
            text.extend(std::iter::repeat_n(' ', width - cell.chars().count()));
            let _ = write!(text, " {line}");
            if place + 1 < system.len() {
                let _ = write!(text, " {lead}");
            }
        }
        let _ = writeln!(out, "{}", text.trim_end());
        if let Some((verses, going)) = sung.get_mut(index) {
            let bars: &[Bar<'_>] = voice.bars.get(first.first..end).unwrap_or_default();
            for words in word_lines(verses, bars, going) {
                let _ = writeln!(out, "{}", format!("w: {words}").trim_end());
            }
        }
    }
}

/// What stands before the first bar of a line: the beginning of a repeat or an ending.
fn opening(sheet: &Sheet, measure: usize) -> String {
    let Some(lines) = sheet.lines.get(measure) else { return String::new() };
    let mut text = String::new();
    if lines.repeat_opens {
        text.push_str("|: ");
    }
    if let Some(ending) = &lines.ending {
        let _ = write!(text, "[{ending} ");
    }
    text
}

/// The bar line before measure `next`, and what opens that measure. At the end of a line only what closes
/// stands there; at the end of the tune a thin and a thick line if the source has them.
fn line(sheet: &Sheet, next: usize, inside: bool, last: bool) -> (String, String) {
    let plain = Lines::default();
    let before = next.checked_sub(1).and_then(|index| sheet.lines.get(index)).unwrap_or(&plain);
    let after = sheet.lines.get(next).filter(|_| !last).unwrap_or(&plain);
    let colons = ":".repeat(usize::from(before.repeat_closes.max(1)) - 1);
    let mut text = match (before.repeat_closes > 0, inside && after.repeat_opens) {
        (true, true) if colons.len() == 1 => "::".to_owned(),
        (true, true) => format!("{colons}|:"),
        (true, false) => format!("{colons}|"),
        (false, true) => match before.style {
            LineStyle::Plain | LineStyle::HeavyLight => "|:",
            LineStyle::Double => "||:",
            LineStyle::Final => "|] |:",
            LineStyle::Dotted => ".| |:",
            LineStyle::Hidden => "[|] |:",
        }
        .to_owned(),
        (false, false) if after.opens_heavy && !after.repeat_opens => "[|".to_owned(),
        (false, false) => match before.style {
            LineStyle::Plain => "|",
            LineStyle::Double => "||",
            LineStyle::Final => "|]",
            LineStyle::HeavyLight => "[|",
            LineStyle::Dotted => ".|",
            LineStyle::Hidden => "[|]",
        }
        .to_owned(),
    };
    if before.fermata {
        text = format!("!fermata!{text}");
    }
    let mut lead = String::new();
    if let Some(ending) = after.ending.as_ref().filter(|_| inside) {
        if matches!(text.as_str(), "|" | ":|") && !ending.starts_with('"') {
            text.push_str(ending);
        } else {
            let _ = write!(lead, "[{ending} ");
        }
    }
    (text, lead)
}

/// Writes the bars of one voice, one after another.
struct VoiceWriter<'a> {
    sheet: &'a Sheet,
    /// The signs of the whole score that are still to come, if they stand in this voice.
    signs: Vec<&'a ScoreSign>,
    writer: BarWriter,
    current: Option<Current>,
    /// Fields that stand before the next bar's first note.
    due: Vec<(Time, Field)>,
}

impl<'a> VoiceWriter<'a> {
    fn new(
        sheet: &'a Sheet,
        settings: &Settings,
        voices: &[Voice<'_>],
        index: usize,
        unit: Time,
    ) -> VoiceWriter<'a> {
        let voice = voices.get(index);
        let current = voice.and_then(|v| settings.opening(v.part, v.staff)).cloned();
        let mut due = Vec::new();
        if let Some(current) = &current {
            if Some(current.key.name.as_str()) != key(settings, voices) {
                due.push((Time::ZERO, plain_field(format!("[K:{}]", current.key.name))));
            }
            if current.metre != settings.metre(0, 0) {
                due.push((Time::ZERO, plain_field(format!("[M:{}]", current.metre))));
            }
        }
        let signature = current.as_ref().map(|c| c.key.signature).unwrap_or_default();
        let octaves = current.as_ref().map_or(0, |c| c.clef.octaves);
        let metre = current.as_ref().map(|c| c.metre.clone()).unwrap_or_default();
        let spelling = Spelling::new(signature, octaves);
        let writer = BarWriter { unit, metre, spelling };
        let mut signs: Vec<&ScoreSign> = Vec::new();
        if index == 0 {
            signs.extend(&sheet.signs);
            // The last one first, so that each is taken from the end.
            signs.sort_by_key(|sign| std::cmp::Reverse(sign.measure));
        }
        VoiceWriter { sheet, signs, writer, current, due }
    }

    fn bars(mut self, voice: &Voice<'_>) -> Vec<String> {
        let bars = voice.bars.iter().enumerate();
        bars.map(|(number, bar)| self.bar(voice, number, bar)).collect()
    }

    fn bar(&mut self, voice: &Voice<'_>, number: usize, bar: &Bar<'_>) -> String {
        let mut fields = std::mem::take(&mut self.due);
        self.score_fields(number, &mut fields);
        self.changes(voice, number, &mut fields);
        fields.sort_by_key(|(onset, _)| *onset);
        let mut text = String::new();
        for (layer, items) in bar.iter().enumerate() {
            if layer > 0 {
                text.push_str(" & ");
            }
            text.push_str(&self.writer.layer(layer, items, &mut fields));
        }
        // Before the bar line, what stands on no note any more.
        if let Some(last) =
            bar.first().and_then(|items| items.last()).filter(|i| !i.after.is_empty())
        {
            text.push(' ');
            marks(&last.after, &mut text);
        }
        // What stands at the end of the bar holds from the next one.
        fields.iter_mut().for_each(|(onset, _)| *onset = Time::ZERO);
        self.due = fields;
        text
    }

    /// Tempi and rehearsal marks, in the top voice.
    fn score_fields(&mut self, number: usize, fields: &mut Vec<(Time, Field)>) {
        let rest = self.signs.iter().rposition(|sign| sign.measure as usize > number);
        let mut here = self.signs.split_off(rest.map_or(0, |rest| rest + 1));
        here.reverse();
        let mut before: HashSet<(Time, String)> = HashSet::new();
        for sign in here {
            let text = match &sign.what {
                ScoreMark::Tempo { .. } if number == 0 && sign.onset == Time::ZERO => continue,
                ScoreMark::Tempo { .. } => match tempo_at(self.sheet, number, sign.onset) {
                    Some(tempo) => format!("[Q:{}]", tempo.replace(['[', ']'], "")),
                    None => continue,
                },
                ScoreMark::Section(name) => format!("[P:{}]", field(&name.replace(['[', ']'], ""))),
                ScoreMark::Mark(_) | ScoreMark::Heading(_) => continue,
            };
            if before.insert((sign.onset, text.clone())) {
                fields.push((sign.onset, plain_field(text)));
            }
        }
    }

    /// Changes of key, clef, transposition and metre; those at one place share a bracket where they can.
    fn changes(&mut self, voice: &Voice<'_>, number: usize, fields: &mut Vec<(Time, Field)>) {
        let measure = self.sheet.parts.get(voice.part).and_then(|part| part.measures.get(number));
        let (Some(measure), Some(current)) = (measure, &mut self.current) else { return };
        let mut onsets: Vec<Time> = Vec::new();
        for change in measure.changes.iter().filter(|change| concerns(change, voice.staff)) {
            let in_head = number == 0 && change.onset == Time::ZERO;
            if !in_head && !onsets.contains(&change.onset) {
                onsets.push(change.onset);
            }
        }
        onsets.sort_unstable();
        for onset in onsets {
            let before = current.clone();
            let here = measure.changes.iter().filter(|change| change.onset == onset);
            let mut metre = None;
            for change in here.filter(|change| concerns(change, voice.staff)) {
                match &change.what {
                    Setting::Metre(new) if onset == Time::ZERO => {
                        metre = Some((onset, new.clone()))
                    }
                    Setting::Metre(new) => {
                        // Too late for this bar: it holds from the next.
                        let text = format!("[M:{new}]");
                        let field = Field { metre: Some(new.clone()), ..plain_field(text) };
                        fields.push((Time::new(i64::MAX, 1), field));
                    }
                    what => current.take(what),
                }
            }
            let mut words: Vec<String> = Vec::new();
            if before.key != current.key {
                words.push(current.key.name.clone());
            }
            if before.clef != current.clef {
                words.push(format!("clef={}", clef(current)));
            }
            if before.transpose != current.transpose {
                words.push(format!("transpose={}", current.transpose));
            }
            if !words.is_empty() {
                let clef_only = before.key == current.key && before.transpose == current.transpose;
                let field = Field {
                    clef_only,
                    signature: Some(current.key.signature),
                    octaves: Some(current.clef.octaves),
                    ..plain_field(format!("[K:{}]", words.join(" ")))
                };
                fields.push((onset, field));
            }
            if let Some((onset, new)) = metre.filter(|(_, new)| *new != current.metre) {
                current.metre = new.clone();
                let text = format!("[M:{new}]");
                fields.push((onset, Field { metre: Some(new), ..plain_field(text) }));
            }
        }
    }
}

fn plain_field(text: String) -> Field {
    Field { text, clef_only: false, signature: None, octaves: None, metre: None }
}
