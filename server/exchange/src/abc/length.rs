//! How long things are: measures, the signs of notes, the unit they are counted in.

use super::Voice;
use super::settings::Settings;
use crate::sheet::{Event, Kind, LineStyle, Measure, Notice, Sheet};
use recte_notation::write::length_text;
use recte_theory::Time;

/// The length of every measure, all parts together.
pub(super) fn measures(sheet: &Sheet, settings: &Settings, notices: &mut Vec<Notice>) -> Vec<Time> {
    (0..sheet.numbers.len()).map(|index| measure(sheet, settings, index, notices)).collect()
}

fn measure(sheet: &Sheet, settings: &Settings, index: usize, notices: &mut Vec<Notice>) -> Time {
    let each = || sheet.parts.iter().filter_map(|part| part.measures.get(index));
    let full = settings.metre(0, index).length();
    // A part that rests through a pickup often has the rest of a whole measure.
    let rests_through =
        |measure: &&Measure| index == 0 && full.is_some_and(|full| is_one_rest(measure, full));
    let filled = each().filter(|m| !rests_through(m)).map(filled).max().unwrap_or_default();
    let rests_run_over = full.is_some_and(|full| only_rests_run_over(each, full));
    let length = if let Some(full) = full.filter(|_| rests_run_over) {
        full
    } else if filled > Time::ZERO {
        filled
    } else if each().any(only_graces) {
        Time::ZERO
    } else {
        let counted = each().map(|measure| measure.length).max().unwrap_or_default();
        if counted > Time::ZERO { counted } else { full.unwrap_or(Time::WHOLE) }
    };
    let mut notice = |part: Option<usize>, what: String| {
        let part = part.and_then(|part| u16::try_from(part).ok());
        notices.push(Notice { part, measure: Some(index as u32), what });
    };
    for (number, part) in sheet.parts.iter().enumerate() {
        let own = part.measures.get(index).map(self::filled).unwrap_or_default();
        let through = part.measures.get(index).is_some_and(|measure| rests_through(&measure));
        if own > length && !through {
            notice(Some(number), "rests that go on after the measure end with it".to_owned());
        }
        if own > Time::ZERO && own < length {
            let what = format!(
                "this part holds {own} and the measure {length}; it is filled with unseen rests"
            );
            notice(Some(number), what);
        }
    }
    if let Some(full) = full {
        let strong = |lines: Option<&crate::sheet::Lines>| {
            lines.is_some_and(|lines| lines.repeat_closes > 0 || lines.style != LineStyle::Plain)
        };
        let before = index.checked_sub(1).and_then(|before| sheet.lines.get(before));
        let opens = sheet.lines.get(index).is_some_and(|l| l.repeat_opens || l.ending.is_some());
        let edge = index == 0
            || index + 1 == sheet.numbers.len()
            || opens
            || strong(before)
            || strong(sheet.lines.get(index))
            || sheet.lines.get(index + 1).is_some_and(|lines| lines.repeat_opens);
        if length > full || (length < full && !edge) {
            notice(
                None,
                format!(
                    "the measure holds {length} where the time signature asks for {full}; it is kept"
                ),
            );
        }
    }
    length
}

/// A measure that is only there for its grace notes takes no time.
fn only_graces(measure: &Measure) -> bool {
    !measure.events.is_empty() && measure.events.iter().all(|event| event.is_grace())
}

/// Whether a measure is longer than its time signature only by rests, which others do not share: some part holds
/// what is asked for, and no note goes on beyond it.
fn only_rests_run_over<'m, M: Iterator<Item = &'m Measure>>(
    each: impl Fn() -> M,
    full: Time,
) -> bool {
    let notes = each().flat_map(|measure| &measure.events).filter(|event| !event.is_rest());
    each().any(|measure| filled(measure) > full)
        && each().any(|measure| filled(measure) == full)
        && notes.map(Event::end).max().unwrap_or_default() <= full
}

fn is_one_rest(measure: &Measure, length: Time) -> bool {
    matches!(measure.events.as_slice(), [rest] if rest.is_rest() && rest.duration == length)
}

/// As far as notes and rests reach that are not said to fill whatever the measure is.
fn filled(measure: &Measure) -> Time {
    let counted = measure
        .events
        .iter()
        .filter(|event| !matches!(event.kind, Kind::Rest { whole_measure: true, .. }));
    counted.map(|event| event.end()).max().unwrap_or_default()
}

/// Whether one sign, with up to three dots, has this length: from the maxima down.
fn has_sign(written: Time) -> bool {
    let top = written.numerator();
    let odd = top >> top.trailing_zeros().min(62);
    written < Time::new(16, 1) && matches!(odd, 1 | 3 | 7 | 15)
}

/// A written length as lengths that have signs, the longest first.
pub(super) fn signs(written: Time) -> Vec<Time> {
    let mut left = written;
    let mut signs = Vec::new();
    while left > Time::ZERO && signs.len() < 4096 {
        if has_sign(left) {
            signs.push(left);
            break;
        }
        // The longest plain sign that fits.
        let mut sign = Time::new(8, 1);
        while sign > left && sign.denominator() < 4096 {
            sign = sign / Time::new(2, 1);
        }
        if sign > left {
            signs.push(left);
            break;
        }
        signs.push(sign);
        left -= sign;
    }
    signs
}

/// The unit that makes the text shortest; an eighth if several do.
pub(super) fn unit(voices: &[Voice<'_>]) -> Time {
    let mut counts: Vec<(Time, usize)> = Vec::new();
    let items = voices.iter().flat_map(|voice| voice.bars.iter().flatten().flatten());
    for item in items.filter(|item| item.is_note()) {
        let written = item.written();
        match counts.iter_mut().find(|(known, _)| *known == written) {
            Some((_, count)) => *count += 1,
            None => counts.push((written, 1)),
        }
    }
    let cost = |unit: Time| -> usize {
        counts.iter().map(|(written, count)| count * length_text(*written / unit).len()).sum()
    };
    let units = [Time::new(1, 8), Time::new(1, 4), Time::new(1, 16), Time::new(1, 2)];
    units.into_iter().min_by_key(|unit| cost(*unit)).unwrap_or(Time::new(1, 8))
}

/// Numbers above this are no lengths in text (abc standard v2.1, 4.3 asks for 1/128 at least).
const FINEST: i64 = 4096;

/// Whether every length can be written.
pub(super) fn check(sheet: &Sheet, voices: &[Voice<'_>], unit: Time) -> Result<(), String> {
    for voice in voices {
        for (number, bar) in voice.bars.iter().enumerate() {
            let lengths = bar.iter().flatten().map(|item| item.written() / unit);
            let fine = |length: &Time| length.numerator().max(length.denominator()) > FINEST;
            if let Some(length) = lengths.into_iter().find(fine) {
                let part = sheet.parts.get(voice.part).map_or("", |part| part.name.as_str());
                let measure = sheet.numbers.get(number).map_or("", String::as_str);
                let length = length * unit;
                return Err(format!(
                    "part “{part}”, measure {measure}: a length of {length} of a whole note is too fine to be written"
                ));
            }
        }
    }
    Ok(())
}
