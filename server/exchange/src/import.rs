//! From the bytes of a MusicXML score to text a person can edit, with a list of what the text does not hold.

use crate::abc::write;
use crate::musicxml::sheet;
use crate::sheet::{Notice, Sheet};
use std::collections::HashMap;
use std::fmt::Write;

/// A score as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Imported {
    /// The tune, in ABC (open abc standard v2.1).
    pub text: String,
    /// What the text does not hold, or not as the source has it: a sentence each, without its full stop.
    pub left_out: Vec<String>,
    /// What the source calls each bar, in the order of the bars of the tune.
    pub bars: Vec<String>,
}

/// Reads a MusicXML score, compressed or not, and writes it as ABC. `name` is the title of a score without one.
///
/// # Errors
/// A sentence without its full stop: the bytes are no score, are cut short, or say what cannot be; with the
/// part and the measure where it is.
pub fn import_musicxml(bytes: &[u8], name: &str) -> Result<Imported, String> {
    let mut sheet = sheet(bytes)?;
    let written = write(&sheet, name)?;
    let mut notices = std::mem::take(&mut sheet.notices);
    notices.extend(written.notices);
    let left_out = sentences(&sheet, &notices);
    Ok(Imported { text: written.text, left_out, bars: sheet.numbers })
}

/// One sentence for each thing, with all the measures it concerns: "Viola, bars 3, 5–7: …".
fn sentences(sheet: &Sheet, notices: &[Notice]) -> Vec<String> {
    let mut groups: Vec<(Option<u16>, &str, Vec<u32>)> = Vec::new();
    let mut places: HashMap<(Option<u16>, &str), usize> = HashMap::new();
    for notice in notices {
        let place = *places.entry((notice.part, &notice.what)).or_insert(groups.len());
        if place == groups.len() {
            groups.push((notice.part, &notice.what, Vec::new()));
        }
        if let Some((_, _, measures)) = groups.get_mut(place) {
            measures.extend(notice.measure);
        }
    }
    let sentence = |(part, what, measures): (Option<u16>, &str, Vec<u32>)| {
        let part = part.and_then(|part| sheet.parts.get(usize::from(part)));
        let part = part.and_then(|part| {
            [&part.name, &part.called, &part.id].into_iter().find(|name| !name.is_empty())
        });
        let mut place: Vec<String> = part.cloned().into_iter().collect();
        place.extend(bars(sheet, measures));
        if place.is_empty() { what.to_owned() } else { format!("{}: {what}", place.join(", ")) }
    };
    groups.into_iter().map(sentence).collect()
}

/// "bar 3", "bars 3, 5–7".
fn bars(sheet: &Sheet, mut measures: Vec<u32>) -> Option<String> {
    measures.sort_unstable();
    measures.dedup();
    let name = |measure: u32| match sheet.numbers.get(measure as usize).map(String::as_str) {
        None | Some("") => (measure + 1).to_string(),
        Some(name) => name.to_owned(),
    };
    let mut text = String::new();
    let mut runs = measures.chunk_by(|a, b| a + 1 == *b).peekable();
    while let Some(run) = runs.next() {
        if let (Some(first), Some(last)) = (run.first(), run.last()) {
            text.push_str(&name(*first));
            if last > first {
                let _ =
                    write!(text, "{}{}", if *last == first + 1 { ", " } else { "–" }, name(*last));
            }
        }
        if runs.peek().is_some() {
            text.push_str(", ");
        }
    }
    match measures.len() {
        0 => None,
        1 => Some(format!("bar {text}")),
        _ => Some(format!("bars {text}")),
    }
}
