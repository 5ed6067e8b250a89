//! A score as it stands on paper: parts, measures, notes as written. No text of any format.
//!
//! Names of marks are the decorations of abc standard v2.1, section 4.14.

use recte_theory::key::Signature;
use recte_theory::{Metre, Pitch, Time};

/// A whole score.
#[derive(Debug, Default)]
pub(crate) struct Sheet {
    pub(crate) head: Head,
    /// Whether it says that its beams are written, however few they are.
    pub(crate) beamed: bool,
    pub(crate) parts: Vec<Part>,
    pub(crate) groups: Vec<PartGroup>,
    /// What people call each measure.
    pub(crate) numbers: Vec<String>,
    /// What holds for all parts at the beginning and the end of each measure.
    pub(crate) lines: Vec<Lines>,
    /// What stands over the whole score: tempi, rehearsal marks, signs of repetition.
    pub(crate) signs: Vec<ScoreSign>,
    pub(crate) notices: Vec<Notice>,
}

/// What stands above the music.
#[derive(Debug, Default)]
pub(crate) struct Head {
    /// The number it goes by in its collection.
    pub(crate) number: Option<String>,
    pub(crate) titles: Vec<String>,
    pub(crate) composers: Vec<String>,
    /// Whatever else is said of it: the letter of the field that holds it, and its text.
    pub(crate) fields: Vec<(char, String)>,
    /// In what order its parts are played.
    pub(crate) part_order: Option<String>,
}

/// Something that is not held, or not as it should be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Notice {
    pub(crate) part: Option<u16>,
    pub(crate) measure: Option<u32>,
    pub(crate) what: String,
}

/// Parts that are bracketed together.
#[derive(Debug, Clone)]
pub(crate) struct PartGroup {
    /// From the first to the last part.
    pub(crate) first: usize,
    pub(crate) last: usize,
    pub(crate) brace: bool,
    /// Whether a brace or bracket is drawn at all.
    pub(crate) drawn: bool,
    pub(crate) bars_joined: bool,
}

#[derive(Debug, Default)]
pub(crate) struct Part {
    pub(crate) id: String,
    /// Its name in print.
    pub(crate) name: String,
    /// What it is called where its name is not printed.
    pub(crate) called: String,
    pub(crate) abbreviation: String,
    /// The instrument's own name, where it has one.
    pub(crate) instrument: String,
    pub(crate) staves: u8,
    pub(crate) staff_lines: Option<u8>,
    pub(crate) measures: Vec<Measure>,
    /// What the source calls its voices; events point into it.
    pub(crate) voices: Vec<String>,
    pub(crate) beamed: bool,
}

/// One measure of one part.
#[derive(Debug, Default)]
pub(crate) struct Measure {
    /// As far as its notes and gaps reach.
    pub(crate) length: Time,
    pub(crate) events: Vec<Event>,
    pub(crate) signs: Vec<Sign>,
    pub(crate) changes: Vec<Change>,
}

/// The bar lines of a measure.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub(crate) struct Lines {
    pub(crate) repeat_opens: bool,
    /// How often the passage that ends here is played; 0 if none ends.
    pub(crate) repeat_closes: u8,
    pub(crate) style: LineStyle,
    /// A heavy line before the measure.
    pub(crate) opens_heavy: bool,
    /// The times of the ending that begins here.
    pub(crate) ending: Option<String>,
    /// Whether an ending stops with the measure.
    pub(crate) ending_stops: bool,
    pub(crate) fermata: bool,
}

#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LineStyle {
    #[default]
    Plain,
    Double,
    Final,
    HeavyLight,
    Dotted,
    Hidden,
}

#[derive(Debug)]
pub(crate) struct Event {
    pub(crate) voice: u16,
    pub(crate) staff: u8,
    pub(crate) onset: Time,
    /// Nothing for grace notes.
    pub(crate) duration: Time,
    /// So many in the time of so many.
    pub(crate) ratio: (u32, u32),
    pub(crate) tuplet_starts: bool,
    pub(crate) tuplet_ends: bool,
    pub(crate) kind: Kind,
    pub(crate) notes: Vec<Note>,
    pub(crate) beam: Beam,
    pub(crate) marks: Vec<Mark>,
    pub(crate) lyrics: Vec<Lyric>,
    pub(crate) slurs: Vec<SlurEnd>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Notes,
    /// A grace note, with the length its sign has.
    Grace {
        slashed: bool,
        sign: Time,
    },
    Rest {
        hidden: bool,
        whole_measure: bool,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Note {
    /// As written, but where an octave clef puts it at its sounding octave.
    pub(crate) pitch: Pitch,
    pub(crate) tied: bool,
    /// Whether its tie is dotted.
    pub(crate) dotted: bool,
    /// Whether its accidental is printed though not needed.
    pub(crate) courtesy: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Beam {
    None,
    Begins,
    GoesOn,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) enum Mark {
    Decoration(&'static str),
    /// Text above (`^`) or below (`_`).
    Text(char, String),
    Chord(String),
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Lyric {
    /// What the source calls the verse.
    pub(crate) verse: String,
    pub(crate) text: String,
    /// Whether the word goes on.
    pub(crate) joined: bool,
    /// Whether a line shows that it is held.
    pub(crate) extended: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct SlurEnd {
    pub(crate) number: u8,
    pub(crate) starts: bool,
    pub(crate) dotted: bool,
}

/// A sign of one staff at a time.
#[derive(Debug)]
pub(crate) struct Sign {
    pub(crate) onset: Time,
    pub(crate) staff: u8,
    pub(crate) voice: Option<u16>,
    /// Whether it ends something, and so belongs to what goes before.
    pub(crate) ends: bool,
    /// Whether it is set off from its place, as engravers do to make room.
    pub(crate) loose: bool,
    pub(crate) mark: Mark,
}

#[derive(Debug)]
pub(crate) struct ScoreSign {
    pub(crate) measure: u32,
    pub(crate) onset: Time,
    pub(crate) what: ScoreMark,
}

#[derive(Debug, PartialEq, Eq, Hash)]
pub(crate) enum ScoreMark {
    /// Words, the notes that make up the beat, and so many of it a minute.
    Tempo {
        words: String,
        beat: Vec<Time>,
        per_minute: u32,
    },
    /// A letter or name by which players find the place.
    Section(String),
    /// A heading over what follows.
    Heading(String),
    Mark(Mark),
}

#[derive(Debug)]
pub(crate) struct Change {
    pub(crate) onset: Time,
    /// One staff, or all of the part.
    pub(crate) staff: Option<u8>,
    pub(crate) what: Setting,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Setting {
    Key(KeySign),
    Clef(Clef),
    Metre(Metre),
    /// Semitones from written to sounding.
    Transpose(i32),
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct KeySign {
    /// As a `K:` field has it.
    pub(crate) name: String,
    pub(crate) signature: Signature,
}

/// A clef by its name, and the octaves it sounds away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Clef {
    pub(crate) name: &'static str,
    pub(crate) octaves: i8,
}

impl Sheet {
    /// The headings over a measure.
    pub(crate) fn headings(&self, measure: usize) -> impl Iterator<Item = &str> {
        self.signs.iter().filter(move |sign| sign.measure as usize == measure).filter_map(|sign| {
            match &sign.what {
                ScoreMark::Heading(text) => Some(text.as_str()),
                _ => None,
            }
        })
    }
}

impl Event {
    pub(crate) fn is_grace(&self) -> bool {
        matches!(self.kind, Kind::Grace { .. })
    }

    pub(crate) fn is_rest(&self) -> bool {
        matches!(self.kind, Kind::Rest { .. })
    }

    /// Whether nothing of it is seen or heard.
    pub(crate) fn is_space(&self) -> bool {
        matches!(self.kind, Kind::Rest { hidden: true, .. }) && self.marks.is_empty()
    }

    pub(crate) fn end(&self) -> Time {
        self.onset + self.duration
    }
}
