//! The sections of a piece: what the composer typed first, else what is heard; how they differ, and which come back.
//!
//! Parts (`P:`) and titled sections are taken at their word. Where there are none, double bars and repeats divide; where
//! there are none of those either, the joints of `boundaries` do. A return is the best diagonal of shared material
//! between a section and an earlier one, at its pitch or transposed: from 0.85 literal, from 0.6 varied, below 0.4
//! unrelated (from memory).

use super::contrast::Contrast;
use super::describe::{Descriptor, of_bars};
use super::material::Material;
use super::similarity::Matrix;
use super::table::{Slice, Table};
use crate::tune::Tune;
use std::collections::BTreeMap;

/// What says that a section begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// A part or a titled section is typed there.
    Typed,
    /// A double bar or a repeat.
    Line,
    /// What is heard.
    Heard,
    /// The piece begins.
    Beginning,
}

impl Source {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Source::Typed => "typed",
            Source::Line => "bar line",
            Source::Heard => "heard",
            Source::Beginning => "beginning",
        }
    }
}

/// A section: bars counted from 0, the last one included.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section {
    /// Its first bar.
    pub from: u32,
    /// Its last bar.
    pub to: u32,
    /// What the composer calls it, if anything.
    pub label: Option<String>,
    /// What says that it begins.
    pub source: Source,
}

impl Section {
    /// So many bars.
    pub fn bars(&self) -> u32 {
        self.to - self.from + 1
    }
}

/// Two sections that follow each other, compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// The earlier one, by its place in the list.
    pub a: usize,
    /// The later one.
    pub b: usize,
    /// How they differ.
    pub contrast: Contrast,
}

/// A section that comes back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Return {
    /// The later section, by its place in the list.
    pub section: usize,
    /// The earlier one that it is.
    pub of: usize,
    /// How much of it, 0 to 1.
    pub likeness: f64,
    /// How many semitones higher it is, within the octave.
    pub transposed: u32,
}

impl Return {
    /// "literal", "varied", or "related".
    pub fn name(&self) -> &'static str {
        match self.likeness {
            from if from >= 0.85 => "literal",
            from if from >= 0.6 => "varied",
            _ => "related",
        }
    }
}

/// Below this two sections are unrelated.
const RELATED: f64 = 0.4;
/// Sections shorter than this are a part of the one before.
const SHORTEST: u32 = 2;

/// What the composer typed of the form.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Marks {
    /// The bars that begin a part or a titled section, with what it is called.
    pub typed: BTreeMap<u32, String>,
    /// The bars that begin after a double bar or a repeat, or with the opening of one.
    pub lines: Vec<u32>,
}

impl Marks {
    /// All the bars that something typed begins.
    pub fn bars(&self) -> Vec<u32> {
        let mut all: Vec<u32> = self.typed.keys().chain(&self.lines).copied().collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Of a tune.
    pub fn of(tune: &Tune) -> Marks {
        let bars = tune.bars.len() as u32;
        let marks = tune.sections.iter().filter(|mark| mark.bar < bars);
        let mut lines: Vec<u32> = Vec::new();
        for voice in &tune.voices {
            for (bar, number) in voice.bars.iter().zip(0u32..) {
                // A second ending belongs to what was repeated.
                let ends = voice.bars.get(number as usize + 1).is_some_and(|next| !next.ending);
                lines.extend((bar.section_ends && ends).then_some(number + 1));
                lines.extend((bar.repeat_opens > 0).then_some(number));
            }
        }
        lines.retain(|bar| *bar > 0 && *bar < bars);
        lines.sort_unstable();
        lines.dedup();
        // Of several voices that name a bar, the first.
        Marks { typed: marks.rev().map(|mark| (mark.bar, mark.label.clone())).collect(), lines }
    }
}

/// The sections of a tune of so many bars; `heard` says where they begin if nothing typed does.
pub fn sections(bars: usize, marks: &Marks, heard: impl FnOnce() -> Vec<u32>) -> Vec<Section> {
    let (bars, typed) = (bars as u32, &marks.typed);
    let (source, mut begins) = if typed.keys().any(|bar| *bar > 0) {
        (Source::Typed, typed.keys().copied().collect::<Vec<u32>>())
    } else if marks.lines.is_empty() {
        (Source::Heard, heard())
    } else {
        (Source::Line, marks.lines.clone())
    };
    if source != Source::Typed {
        let mut kept: Vec<u32> = Vec::new();
        for bar in begins {
            if bar >= kept.last().map_or(0, |last| *last) + SHORTEST && bar + SHORTEST <= bars {
                kept.push(bar);
            }
        }
        begins = kept;
    }
    if bars == 0 {
        return Vec::new();
    }
    if begins.first() != Some(&0) {
        begins.insert(0, 0);
    }
    let ends = begins.iter().skip(1).copied().chain([bars]);
    let one = |(from, end): (&u32, u32)| Section {
        from: *from,
        to: end - 1,
        label: typed.get(from).cloned(),
        source: if *from == 0 && source != Source::Typed { Source::Beginning } else { source },
    };
    begins.iter().zip(ends).map(one).collect()
}

/// The descriptor of each section.
pub fn described(table: &Table, slices: &[Slice], sections: &[Section]) -> Vec<Descriptor> {
    let one =
        |section: &Section| of_bars(table, slices, section.from as usize, section.to as usize + 1);
    sections.iter().map(one).collect()
}

/// Each section against the next.
pub fn contrasts(described: &[Descriptor]) -> Vec<Compared> {
    let pairs = described.windows(2).enumerate();
    pairs
        .map(|(a, pair)| Compared { a, b: a + 1, contrast: Contrast::between(&pair[0], &pair[1]) })
        .collect()
}

/// The sections that are an earlier one again.
pub fn returns(sections: &[Section], material: &Material, shared: &Matrix) -> Vec<Return> {
    let mut found = Vec::new();
    for (later, section) in sections.iter().enumerate() {
        let best = (0..later)
            .map(|of| {
                let (likeness, transposed) = likeness(&sections[of], section, material, shared);
                Return { section: later, of, likeness, transposed }
            })
            // Of two as like, the earlier.
            .max_by(|a, b| a.likeness.total_cmp(&b.likeness).then(b.of.cmp(&a.of)));
        found.extend(best.filter(|best| best.likeness >= RELATED));
    }
    found
}

/// How much of a section an earlier one is, along the best diagonal that holds most of the shorter one.
fn likeness(a: &Section, b: &Section, material: &Material, shared: &Matrix) -> (f64, u32) {
    let length = a.bars().min(b.bars());
    let mut best = (0.0, 0);
    let slack = (length / 4).min(8);
    for late in 0..=slack {
        let held = (length - late) as usize;
        for (from_a, from_b) in [(a.from + late, b.from), (a.from, b.from + late)] {
            let own = shared.diagonal(from_a as usize, from_b as usize, held);
            if own > best.0 {
                best = (own, 0);
            }
        }
    }
    for semitones in 1..12 {
        let bars = (0..length).map(|at| {
            material.shared_transposed((b.from + at) as usize, (a.from + at) as usize, semitones)
        });
        let own = bars.sum::<f64>() / f64::from(length.max(1));
        if own > best.0 {
            best = (own, semitones);
        }
    }
    best
}
