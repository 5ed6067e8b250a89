//! Which tunes, voices and bars a command is asked for.

use clap::Args;
use recte_notation::{Block, BlockKind, Document};
use recte_score::{Tune, Voice};
use std::ops::RangeInclusive;
use std::sync::Arc;

#[derive(Args)]
pub(super) struct PassageArgs {
    /// Only these bars, by their numbers: 8-16, or 8
    #[arg(long, value_name = "BARS")]
    bars: Option<String>,
    /// Only these voices, by id or name, with commas between them
    #[arg(long, value_name = "VOICES", value_delimiter = ',')]
    voices: Vec<String>,
}

/// Voices by index, and bars counted from 0.
pub(super) type Asked = (Vec<usize>, RangeInclusive<u32>);

impl PassageArgs {
    /// The voices and bars of a tune that are asked for; nothing where that is the whole of it.
    ///
    /// # Errors
    /// A sentence about voices or bars that the tune does not have.
    pub(super) fn of(&self, tune: &Tune) -> Result<Option<Asked>, String> {
        if self.bars.is_none() && self.voices.is_empty() {
            return Ok(None);
        }
        let voices = voices_of(tune, &self.voices)?;
        Ok(Some((voices, bars_of(tune, self.bars.as_deref())?)))
    }
}

/// The tunes of a document, or those with a number (X:), each with the byte it begins at.
pub(super) fn tunes_of<'a>(
    document: &'a Document,
    number: Option<&str>,
) -> Vec<(usize, &'a Arc<Block>)> {
    let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    let wanted =
        |block: &Block| number.is_none() || block.lowered().tune.reference.as_deref() == number;
    tunes.filter(|(_, block)| wanted(block)).collect()
}

/// What to say when there is none.
pub(super) fn no_tune(number: Option<&str>) -> String {
    number.map_or("there is no tune in it.".to_owned(), |number| {
        format!("there is no tune with the number {number} in it.")
    })
}

/// The voices asked for, by index in the order of the score; all of them if none is.
fn voices_of(tune: &Tune, wanted: &[String]) -> Result<Vec<usize>, String> {
    let mut found = Vec::new();
    for name in wanted.iter().map(|name| name.trim()) {
        let by = |of: fn(&Voice) -> &str| tune.voices.iter().position(|voice| of(voice) == name);
        let place = by(|voice| &voice.id).or_else(|| by(|voice| &voice.name));
        found.push(place.ok_or_else(|| unknown_voice(tune, name))?);
    }
    if wanted.is_empty() {
        found.extend(0..tune.voices.len());
    }
    found.sort_unstable();
    found.dedup();
    Ok(found)
}

fn unknown_voice(tune: &Tune, name: &str) -> String {
    let names = tune.voices.iter().flat_map(|voice| [&voice.id, &voice.name]);
    let near =
        |known: &&String| strsim::damerau_levenshtein(&name.to_lowercase(), &known.to_lowercase());
    match names.filter(|known| !known.is_empty()).min_by_key(near) {
        Some(nearest) => format!("there is no voice “{name}”; the nearest is “{nearest}”."),
        None => format!("there is no voice “{name}”."),
    }
}

/// The bars asked for, counted from 0; all of them if none is. A number that the parts of a divided bar share
/// means all of them.
fn bars_of(tune: &Tune, wanted: Option<&str>) -> Result<RangeInclusive<u32>, String> {
    let last = (tune.bars.len() as u32).saturating_sub(1);
    let Some(wanted) = wanted else { return Ok(0..=last) };
    let (from, to) = wanted.split_once('-').unwrap_or((wanted, wanted));
    let number = |text: &str| text.trim().parse::<i32>().ok();
    let (Some(from), Some(to)) = (number(from), number(to)) else {
        return Err(format!("“{wanted}” names no bars; they are given like 8-16, or 8."));
    };
    if from > to {
        return Err(format!("bars are given from the first to the last, so {to}-{from}."));
    }
    let place = |number: i32| tune.bars.iter().position(|bar| bar.number == number);
    let end = tune.bars.iter().rposition(|bar| bar.number == to);
    match (place(from), end) {
        (Some(first), Some(last)) => Ok(first as u32..=last as u32),
        _ => Err(match (tune.bars.first(), tune.bars.last()) {
            (Some(first), Some(last)) => format!(
                "there are no bars {wanted}; this tune has bars {} to {}.",
                first.number, last.number
            ),
            _ => format!("there are no bars {wanted}; this tune has no music."),
        }),
    }
}
