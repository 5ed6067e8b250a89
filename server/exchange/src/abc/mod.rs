//! A [`Sheet`] as a tune in ABC (open abc standard v2.1), laid out as a person would type it: voices named,
//! a line a voice, bars of one system under each other.

mod bar;
mod curves;
mod header;
mod items;
mod length;
mod marks;
mod names;
mod pitch;
mod place;
mod settings;
mod streams;
mod system;
#[cfg(test)]
mod tests;
mod text;
mod words;

use crate::sheet::{LineStyle, Lines, Notice, Sheet};
use items::Item;

/// A voice of the tune to be.
pub(crate) struct Voice<'s> {
    /// Its part, and the staff of it.
    part: usize,
    staff: u8,
    /// Whether it is the first on its staff.
    first: bool,
    id: String,
    bars: Vec<Bar<'s>>,
}

/// A bar of a voice: its layers.
type Bar<'s> = Vec<Vec<Item<'s>>>;

/// What was written, and what could not be.
pub(crate) struct Written {
    pub(crate) text: String,
    pub(crate) notices: Vec<Notice>,
}

/// Endings that stop where nothing in the text can end them (abc standard v2.1, 4.9).
fn endings(sheet: &Sheet) -> Vec<Notice> {
    let held = |(index, lines): (usize, &Lines)| {
        let weak = matches!(lines.style, LineStyle::Plain | LineStyle::Dotted | LineStyle::Hidden);
        let next = sheet.lines.get(index + 1)?;
        let goes_on = lines.repeat_closes == 0 && !next.repeat_opens && next.ending.is_none();
        let what = "an ending that stops at a plain bar line is held to the next double one";
        (lines.ending_stops && weak && goes_on).then(|| Notice {
            part: None,
            measure: Some(index as u32),
            what: what.to_owned(),
        })
    };
    sheet.lines.iter().enumerate().filter_map(held).collect()
}

/// Writes a score; `name` stands for a title it does not have.
///
/// # Errors
/// A sentence without its full stop: there are more voices and bars than any score has, or a length too fine to
/// be written.
pub(crate) fn write(sheet: &Sheet, name: &str) -> Result<Written, String> {
    let mut notices = endings(sheet);
    let settings = settings::Settings::new(sheet);
    let lengths = length::measures(sheet, &settings, &mut notices);
    let mut voices = streams::voices(sheet, &lengths, &mut notices)?;
    names::name(sheet, &mut voices);
    place::place(sheet, &mut voices, &mut notices);
    place::pair(&mut voices, &mut notices);
    curves::ties(&mut voices, &mut notices);
    curves::slurs(&mut voices, &mut notices);
    bar::join(sheet, &settings, &mut voices, &mut notices);
    let unit = length::unit(&voices);
    length::check(sheet, &voices, unit)?;
    let mut text = header::header(sheet, &settings, &voices, unit, name);
    text.push_str(&system::body(sheet, &settings, &voices, unit, &lengths));
    text.push_str(&header::words_below(sheet));
    Ok(Written { text, notices })
}
