//! Tempo fields (abc standard v2.1, 3.1.8 and 10.1).

use super::text::decode;
use recte_theory::Time;

/// What a `Q:` field says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct TempoField {
    pub(crate) beats: Vec<Time>,
    pub(crate) per_minute: Option<u32>,
    pub(crate) text: Option<String>,
    /// Whether it counts unit lengths (`120`, `C=120`), as old files do.
    pub(crate) in_units: bool,
}

/// Reads the value of a `Q:` field; `None` if it says no tempo.
pub(crate) fn tempo_field(value: &str, unit: Time) -> Option<TempoField> {
    let (numbers, text) = take_text(value);
    let numbers = numbers.trim();
    let mut field = TempoField { text, ..TempoField::default() };
    if numbers.is_empty() {
        return Some(field);
    }
    let Some((beats, speed)) = numbers.split_once('=') else {
        if let Some(speed) = per_minute(numbers) {
            field.in_units = true;
            (field.beats, field.per_minute) = (vec![unit], Some(speed));
            return Some(field);
        }
        // Words without their quotation marks are met.
        let words = field.text.is_none() && !numbers.contains(|c: char| c.is_ascii_digit());
        field.text = words.then(|| decode(numbers).into_owned());
        return words.then_some(field);
    };
    field.per_minute = Some(per_minute(speed.trim())?);
    if let Some(units) = beats.trim().strip_prefix(['C', 'c']) {
        let units = if units.is_empty() { 1 } else { units.trim().parse::<i64>().ok()? };
        field.in_units = true;
        field.beats = vec![unit * Time::new(units.clamp(1, 64), 1)];
    } else {
        field.beats = beats.split_whitespace().map(fraction).collect::<Option<_>>()?;
    }
    (!field.beats.is_empty()).then_some(field)
}

/// The field without its quoted text, and that text.
fn take_text(value: &str) -> (String, Option<String>) {
    let Some((before, rest)) = value.split_once('"') else { return (value.to_owned(), None) };
    let (text, after) = rest.split_once('"').unwrap_or((rest, ""));
    (format!("{before} {after}"), Some(decode(text).into_owned()))
}

/// Whole beats; what is typed after a decimal point changes nothing that is heard.
fn per_minute(text: &str) -> Option<u32> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let number = whole.trim().parse::<u32>().ok()?;
    (part.bytes().all(|byte| byte.is_ascii_digit()) && (1..=2000).contains(&number))
        .then_some(number)
}

fn fraction(text: &str) -> Option<Time> {
    let (above, below) = text.split_once('/').unwrap_or((text, "1"));
    let (above, below) = (above.parse::<i64>().ok()?, below.parse::<i64>().ok()?);
    let bounds = 1..=512;
    (bounds.contains(&above) && bounds.contains(&below)).then(|| Time::new(above, below))
}

#[cfg(test)]
mod tests {
    use super::*;

    type Read = (Vec<String>, Option<u32>, Option<String>, bool);

    fn read(value: &str) -> Option<Read> {
        let field = tempo_field(value, Time::new(1, 8))?;
        let beats = field.beats.iter().map(Time::to_string).collect();
        Some((beats, field.per_minute, field.text, field.in_units))
    }

    #[test]
    fn every_form() {
        let beats =
            |texts: &[&str]| texts.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>();
        assert_eq!(read("1/4=96"), Some((beats(&["1/4"]), Some(96), None, false)));
        assert_eq!(
            read(" \"Brisk\" 3/8 = 80"),
            Some((beats(&["3/8"]), Some(80), Some("Brisk".into()), false))
        );
        assert_eq!(read("1/4 3/8=40"), Some((beats(&["1/4", "3/8"]), Some(40), None, false)));
        assert_eq!(read("\"Lento\""), Some((vec![], None, Some("Lento".into()), false)));
        assert_eq!(read("Lento"), Some((vec![], None, Some("Lento".into()), false)));
        assert_eq!(read("120"), Some((beats(&["1/8"]), Some(120), None, true)));
        assert_eq!(read("C3=40"), Some((beats(&["3/8"]), Some(40), None, true)));
        assert_eq!(read("1/4=fast"), None);
        assert_eq!(read("1/4"), None);
        assert_eq!(read("1/0=4"), None);
    }
}
