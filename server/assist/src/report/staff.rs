//! Quoted bars as they stand on a staff: what there is to draw, as plain data.

mod changed;
mod proposed;
mod read;
#[cfg(test)]
mod tests;

pub(super) use proposed::{Bars, Drafts};

use recte_score::signs::{Beam, Sign};
use recte_score::{Clef, LineStyle, Tune};
use recte_theory::key::Signature;
use recte_theory::{Metre, Time};
use std::ops::Range;

/// Bars of one voice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Staff {
    /// What is in force where they begin.
    pub front: Front,
    /// The bars.
    pub bars: Vec<StaffBar>,
    /// What stands in them, bar by bar, layer by layer.
    pub items: Vec<Item>,
    /// Notes in the time of others.
    pub tuplets: Vec<Bracket>,
    /// Slurs.
    pub slurs: Vec<Bow>,
}

/// What stands before the first note of a staff.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Front {
    /// The clef.
    pub clef: Clef,
    /// The key signature.
    pub signature: Signature,
    /// The time signature.
    pub metre: Metre,
}

/// A bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StaffBar {
    /// Its items.
    pub items: Range<usize>,
    /// How many layers it has.
    pub layers: u8,
    /// How long it is, in whole notes.
    pub length: Time,
    /// Whether a passage to repeat begins with it.
    pub opens: bool,
    /// Whether one ends with it.
    pub closes: bool,
    /// How the line that closes it looks; none where no line is typed.
    pub line: Option<LineStyle>,
    /// "1.", where an ending begins with it.
    pub ending: Option<String>,
}

/// What an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    /// Notes.
    Notes,
    /// A rest.
    Rest,
    /// A whole-bar rest.
    BarRest,
    /// Room for a rest that is not printed.
    Room,
}

/// Notes, a rest, or one of several tied signs that make one length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// What it is.
    pub figure: Figure,
    /// Its layer, counted from 0.
    pub layer: u8,
    /// Time from the beginning of its bar.
    pub start: Time,
    /// How long it lasts; nothing for grace notes.
    pub lasts: Time,
    /// Its value; none for a whole-bar rest.
    pub sign: Option<Sign>,
    /// Its notes, the lowest first.
    pub heads: Vec<Head>,
    /// Its part in the beams, as typed.
    pub beams: Vec<Beam>,
    /// Whether it is a grace note.
    pub grace: bool,
    /// Whether that has a stroke.
    pub slashed: bool,
    /// Whether it goes on with the sound of the item before, its length being no single sign.
    pub goes_on: bool,
    /// What takes over before it.
    pub changes: Vec<Change>,
    /// The chord symbol over it.
    pub symbol: Option<String>,
    /// Whether the remark is about it, or the proposal changes it.
    pub told: bool,
}

/// A note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    /// Steps above the middle line.
    pub step: i32,
    /// The accidental typed.
    pub accidental: Option<i8>,
    /// Whether a tie leads into it.
    pub tied_in: bool,
    /// Whether a tie leaves it.
    pub tied_out: bool,
    /// Whether the remark is about it, or the proposal changes it.
    pub told: bool,
}

/// What takes over within the bars.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// A clef.
    Clef(Clef),
    /// A key signature, and the one before it.
    Key(Signature, Signature),
    /// A time signature.
    Metre(Metre),
}

/// A tuplet: its first and last item, and its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bracket {
    /// The first item.
    pub first: usize,
    /// The last.
    pub last: usize,
    /// So many notes.
    pub number: u32,
}

/// A slur; an end that lies outside the bars is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bow {
    /// The first item.
    pub from: Option<usize>,
    /// The last.
    pub to: Option<usize>,
    /// Whether it is dotted.
    pub dotted: bool,
}

impl Staff {
    /// Bars of a voice of a tune, by index, with nothing marked; none where there is something that cannot be drawn: a length
    /// without a sign, a tuplet that is not typed, or no event at all.
    pub fn of(tune: &Tune, voice: usize, bars: Range<usize>) -> Option<Staff> {
        read::read(tune, tune.voices.get(voice)?, bars, |front| front, &[])
    }

    /// The moment each bar begins, in whole notes from the first.
    pub fn bar_starts(&self) -> Vec<Time> {
        let mut at = Time::ZERO;
        let start = |bar: &StaffBar| {
            let start = at;
            at += bar.length;
            start
        };
        self.bars.iter().map(start).collect()
    }

    /// The moment of each item.
    pub fn moments(&self) -> Vec<Time> {
        let starts = self.bar_starts();
        let bars = self.bars.iter().zip(&starts);
        bars.flat_map(|(bar, start)| {
            self.items[bar.items.clone()].iter().map(|item| *start + item.start)
        })
        .collect()
    }
}
