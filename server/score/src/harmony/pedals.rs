//! Pedal points: a note held or repeated while the harmonies over or under it go on.
//!
//! Open Music Theory, "Embellishing tones" (from memory): a pedal begins and ends as a member of its harmony and is
//! foreign to some between. Three harmonies at least make a passage here, and it goes on for more than two bars; within two
//! whole bars two harmonies at least are foreign to it (common practice, no source).

use super::Harmony;
use crate::figures::NoteRef;
use crate::lines::{Line, Tone, lines};
use crate::tune::Tune;
use recte_theory::{PitchName, Time};
use std::ops::Range;

/// Where among all that sounds a pedal lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Below everything.
    Bass,
    /// Above everything.
    Top,
    /// Between.
    Inner,
}

/// A note held or repeated while the harmonies go on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PedalPoint {
    /// The note, as it sounds.
    pub name: PitchName,
    /// The voice, by index.
    pub voice: u32,
    /// Where it lies.
    pub place: Place,
    /// When it begins, in whole notes from the beginning.
    pub onset: Time,
    /// When it ends.
    pub end: Time,
    /// Its first and its last bar, by index.
    pub bars: (u32, u32),
    /// The harmonies it is heard with, by their places in the list.
    pub harmonies: Range<usize>,
    /// To how many of them it is foreign; at least one.
    pub foreign: usize,
    /// Its notes; of tied ones the first.
    pub notes: Vec<NoteRef>,
}

/// So many different harmonies make a passage.
const FEWEST: usize = 3;

/// Within two bars so many of them are foreign.
const FOREIGN_IN_TWO_BARS: usize = 2;

/// The pedal points of a tune with these harmonies, in time.
pub fn pedal_points(tune: &Tune, harmonies: &[Harmony]) -> Vec<PedalPoint> {
    let lines = lines(tune);
    let mut found: Vec<PedalPoint> = Vec::new();
    for line in &lines {
        let runs = line.tones.chunk_by(|a, b| a.pitch.name == b.pitch.name && a.end == b.onset);
        for run in runs {
            found.extend(pedal(tune, harmonies, &lines, line, run));
        }
    }
    found.sort_by_key(|one| (one.onset, one.voice));
    // Doubled in octaves it is one, told of in the lowest line.
    let mut kept: Vec<PedalPoint> = Vec::new();
    for one in found {
        let same = |other: &&mut PedalPoint| {
            other.name == one.name && other.onset < one.end && one.onset < other.end
        };
        match kept.iter_mut().find(same) {
            Some(other) if one.place == Place::Bass && other.place != Place::Bass => *other = one,
            Some(_) => {}
            None => kept.push(one),
        }
    }
    kept
}

fn pedal(
    tune: &Tune,
    harmonies: &[Harmony],
    lines: &[Line],
    line: &Line,
    run: &[Tone],
) -> Option<PedalPoint> {
    let (first, last) = (run.first()?, run.last()?);
    let name = first.pitch.name;
    let from = harmonies.partition_point(|harmony| harmony.end <= first.onset);
    let to = harmonies.partition_point(|harmony| harmony.onset < last.end);
    // Where it begins and ends it belongs to the harmony.
    let own = |harmony: &Harmony| harmony.chord.as_ref().is_some_and(|own| has(own, name));
    let heard = harmonies.get(from..to)?;
    let (begin, end) = (heard.iter().position(own)?, heard.iter().rposition(own)?);
    let heard = &heard[begin..=end];
    let (from, to) = (from + begin, from + end + 1);
    let mut roots: Vec<_> = heard.iter().filter_map(|harmony| harmony.chord.as_ref()).collect();
    roots.dedup_by_key(|heading| (heading.chord.root, heading.chord.quality.order));
    let foreign = roots.iter().filter(|heading| !has(heading, name)).count();
    if foreign == 0 || roots.len() < FEWEST || heard.iter().any(|harmony| harmony.chord.is_none()) {
        return None;
    }
    let (onset, end) =
        (first.onset.max(harmonies[from].onset), last.end.min(harmonies[to - 1].end));
    let bar = |moment: Time, closed: bool| {
        let before =
            |bar: &crate::tune::TuneBar| bar.start < moment || (closed && bar.start == moment);
        tune.bars.partition_point(before).saturating_sub(1) as u32
    };
    let bars = (bar(onset, true), bar(end, false));
    let whole =
        tune.bars.get(bars.0 as usize..=bars.1 as usize)?.iter().map(|bar| bar.length).max()?;
    let two = whole + whole;
    if end - onset < two || end - onset == two && foreign < FOREIGN_IN_TWO_BARS {
        return None;
    }
    Some(PedalPoint {
        name,
        voice: line.voice,
        place: place(lines, line, run),
        onset,
        end,
        bars,
        harmonies: from..to,
        foreign,
        notes: run.iter().map(|tone| tone.at).collect(),
    })
}

fn has(heading: &super::Heading, name: PitchName) -> bool {
    heading.chord.quality.names_on(heading.chord.root).contains(&name)
}

/// Where a run lies among what sounds with it, for most of its notes.
fn place(lines: &[Line], line: &Line, run: &[Tone]) -> Place {
    let (mut lowest, mut highest, mut all) = (0, 0, 0);
    for tone in run {
        let others = lines.iter().filter(|other| !std::ptr::eq(*other, line));
        let with = others.flat_map(|other| {
            let first = other.tones.partition_point(|own| own.end <= tone.onset);
            other.tones[first..].iter().take_while(|own| own.onset < tone.end)
        });
        let (mut below, mut above) = (false, false);
        for other in with {
            below |= other.pitch.midi() < tone.pitch.midi();
            above |= other.pitch.midi() > tone.pitch.midi();
        }
        all += 1;
        lowest += usize::from(!below);
        highest += usize::from(!above);
    }
    if lowest * 2 > all {
        Place::Bass
    } else if highest * 2 > all {
        Place::Top
    } else {
        Place::Inner
    }
}
