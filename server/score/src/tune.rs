//! The model of one tune.

use crate::meaning::Meaning;
use crate::page::{Grouping, LooseTie, MarginNote, SectionMark, Slur, Syllable, Tempo, TextField};
use crate::span::Span;
use recte_theory::{Key, Letter, Metre, Pitch, Time};
use std::ops::Range;

/// One tune: what its header says, and its voices.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tune {
    /// The reference number as typed, if there is one.
    pub reference: Option<String>,
    /// The titles, in order.
    pub titles: Vec<String>,
    /// The keys that occur; bars and events point into it.
    pub keys: Vec<Key>,
    /// The metres that occur; bars point into it.
    pub metres: Vec<Metre>,
    /// The voices, in the order they were first named.
    pub voices: Vec<Voice>,
    /// The bars of all voices together, aligned by their number.
    pub bars: Vec<TuneBar>,
    /// Remarks that the composer has accepted.
    pub accepts: Vec<Accept>,
    /// What the composer said of voices (`recte instrument`, `recte level`).
    pub instructions: Vec<Instruction>,
    /// The style that the composer asks for (`recte style`), in the order typed.
    pub styles: Vec<Style>,
    /// The tempi, in the order typed; the header's stands at the beginning.
    pub tempi: Vec<Tempo>,
    /// The order of parts, written out, if the header gives one.
    pub part_order: Option<String>,
    /// Parts and titled sections, in the order typed.
    pub sections: Vec<SectionMark>,
    /// Composer, rhythm, origin … in the order typed.
    pub texts: Vec<TextField>,
    /// What reviewers remark (`r:`), in the order typed.
    pub margin: Vec<MarginNote>,
    /// How voices are grouped, in the order typed; a later one replaces the earlier from there on.
    pub groupings: Vec<Grouping>,
    /// Whether a key is that of the Highland pipes (`K:HP`), whose notes leave their sharps out.
    pub pipes: bool,
    /// Whether the file asks for the letter of the standard.
    pub strict: bool,
    /// Where the header stands, `K:` included.
    pub header: Span,
    /// Where the whole tune stands.
    pub span: Span,
}

impl Tune {
    /// The first title, or an empty text.
    pub fn title(&self) -> &str {
        self.titles.first().map_or("", String::as_str)
    }

    /// The onset of an event on the time line that all voices share.
    pub fn onset(&self, event: &Event) -> Time {
        self.bars.get(event.bar as usize).map_or(Time::ZERO, |bar| bar.start) + event.offset
    }

    /// The number people give to a bar: 1 for the first full bar, 0 for a pickup.
    pub fn bar_number(&self, bar: u32) -> i32 {
        self.bars.get(bar as usize).map_or(bar as i32 + 1, |bar| bar.number)
    }

    /// The metre in force in a bar of a voice.
    pub fn metre(&self, bar: &Bar) -> &Metre {
        &self.metres[bar.metre as usize]
    }

    /// The beat of a bar at a moment of the tune, counted from 1 in the notes of the signature's lower number
    /// (quarters where there is none).
    pub fn beat_at(&self, bar: u32, moment: Time) -> Time {
        let start = self.bars.get(bar as usize).map_or(Time::ZERO, |bar| bar.start);
        let unit = self.metre_of(bar).and_then(Metre::unit).unwrap_or(Time::new(1, 4));
        (moment - start) / unit + Time::WHOLE
    }

    /// The metre in force in a bar of the tune: that of the first voice that has it.
    pub fn metre_of(&self, bar: u32) -> Option<&Metre> {
        let own = self.voices.iter().find_map(|voice| voice.bars.get(bar as usize))?;
        Some(self.metre(own))
    }

    /// The key in force at an event.
    pub fn key(&self, event: &Event) -> &Key {
        &self.keys[event.key as usize]
    }
}

/// A bar of the whole tune: the same bar of every voice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TuneBar {
    /// When it begins, in whole notes from the beginning.
    pub start: Time,
    /// Its length: the longest of the voices.
    pub length: Time,
    /// The number people give it.
    pub number: i32,
}

/// A clef, and what it does to the sound.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Clef {
    /// "treble", "alto", "tenor", "bass", "perc", "none"; empty when none was typed.
    pub name: String,
    /// The line it stands on, counted from the lowest; 0 for the usual one.
    pub line: u8,
    /// Octaves up or down that it sounds (`+8`, `-8`).
    pub octaves: i8,
}

impl Clef {
    /// Whether the notes under it have no pitch: places on a staff for percussion.
    pub fn is_percussion(&self) -> bool {
        self.name == "perc"
    }

    /// The pitch that a clef of this name marks, its octave not counted, and the line it usually marks it on, counted from
    /// the lowest; nothing for clefs without pitch.
    pub fn usual(name: &str) -> Option<(Pitch, u8)> {
        Some(match name {
            "treble" | "" => (Pitch::new(Letter::G, 0, 4), 2),
            "alto" => (Pitch::new(Letter::C, 0, 4), 3),
            "tenor" => (Pitch::new(Letter::C, 0, 4), 4),
            "bass" => (Pitch::new(Letter::F, 0, 3), 4),
            _ => return None,
        })
    }

    /// The pitch it marks, its octave not counted, and the line; without pitch as under a treble clef.
    pub fn marks(&self) -> (Pitch, u8) {
        let (pitch, line) =
            Clef::usual(&self.name).unwrap_or_else(|| (Pitch::new(Letter::G, 0, 4), 2));
        (pitch, if self.line == 0 { line } else { self.line })
    }
}

/// A clef or a transposition that takes over within a voice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClefChange {
    /// The first event it holds for.
    pub event: u32,
    /// The clef from there on.
    pub clef: Clef,
    /// Semitones from the written to the sounding pitch from there on, the clef's octave not counted.
    pub transpose: i32,
}

/// How a bar line looks; repeat signs are told by the bar itself.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LineStyle {
    /// One thin line, or whatever a repeat sign asks for.
    #[default]
    Plain,
    /// Two thin lines.
    Double,
    /// Thin and thick: the end.
    Final,
    /// Thick and thin.
    Opening,
    /// A dotted line.
    Dotted,
    /// A line that is not printed.
    Invisible,
}

/// One voice.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Voice {
    /// Its id as typed ("1" for a tune without voices).
    pub id: String,
    /// Its name, or an empty text.
    pub name: String,
    /// Its abbreviation, or an empty text.
    pub subname: String,
    /// The clef it begins with.
    pub clef: Clef,
    /// Semitones from the written to the sounding pitch, the clef's octave not counted, as it begins.
    pub transpose: i32,
    /// Clefs and transpositions that take over later, in the order of their events.
    pub clef_changes: Vec<ClefChange>,
    /// Whether the text itself says that what is typed is not what sounds (`transpose=`).
    pub transposes: bool,
    /// Where it is declared or first used.
    pub declared: Span,
    /// Bars, in order.
    pub bars: Vec<Bar>,
    /// Events, in the order of bars, layers and time.
    pub events: Vec<Event>,
    /// Notes; events point into it.
    pub notes: Vec<Note>,
    /// Tuplets; events point into it.
    pub tuplets: Vec<Tuplet>,
    /// Decorations, chord symbols and annotations.
    pub marks: Vec<Mark>,
    /// Lines of aligned words.
    pub lyrics: Vec<Span>,
    /// What the notes get from them, verse by verse in the order typed.
    pub syllables: Vec<Syllable>,
    /// Slurs, in the order they are closed.
    pub slurs: Vec<Slur>,
    /// Ties that lead to no note of their pitch.
    pub loose_ties: Vec<LooseTie>,
}

impl Voice {
    /// The clef in force at an event.
    pub fn clef_at(&self, event: u32) -> &Clef {
        let change = self.clef_changes.iter().rfind(|change| change.event <= event);
        change.map_or(&self.clef, |change| &change.clef)
    }

    /// The notes of an event.
    pub fn notes_of(&self, event: &Event) -> &[Note] {
        &self.notes[event.notes.start as usize..event.notes.end as usize]
    }

    /// The event of a note, by its index.
    pub fn event_of(&self, note: u32) -> &Event {
        &self.events[self.notes[note as usize].event as usize]
    }

    /// The events of a bar.
    pub fn events_of(&self, bar: &Bar) -> &[Event] {
        &self.events[bar.events.start as usize..bar.events.end as usize]
    }

    /// What to call it: its name, else its abbreviation, else its id.
    pub fn label(&self) -> &str {
        [&self.name, &self.subname, &self.id].into_iter().find(|s| !s.is_empty()).map_or("", |s| s)
    }
}

/// One bar of one voice.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bar {
    /// Its events.
    pub events: Range<u32>,
    /// When it begins in its own voice, in whole notes.
    pub start: Time,
    /// How long it is: its longest layer.
    pub length: Time,
    /// The metre in force.
    pub metre: u16,
    /// The key in force as it begins.
    pub key: u16,
    /// How many layers it has (1 without overlays).
    pub layers: u8,
    /// From its first item to its last, bar lines not counted.
    pub span: Span,
    /// The bar line that closes it, if there is one.
    pub line: Option<Span>,
    /// How that line looks.
    pub style: LineStyle,
    /// Whether that line is more than a plain one (repeat, double, ending).
    pub strong_line: bool,
    /// Whether that line ends a section: double, thin and thick, a repeat.
    pub section_ends: bool,
    /// How often the passage that this bar opens is played (2 for a simple repeat); 0 if none opens.
    pub repeat_opens: u8,
    /// The bar line that opens it.
    pub repeat_line: Option<Span>,
    /// How often the passage that this bar closes is played; 0 if none closes.
    pub repeat_closes: u8,
    /// The times for which the ending that begins with this bar is played.
    pub endings: Vec<u8>,
    /// Whether an ending begins with this bar.
    pub ending: bool,
    /// The words it is called by, where it has more than numbers.
    pub ending_words: Option<Box<str>>,
    /// Where the signature typed in this bar stands, if one is.
    pub metre_typed: Option<Span>,
}

/// What an event is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EventKind {
    /// One note or several together.
    Notes,
    /// A rest that players see.
    Rest,
    /// A rest that is not printed.
    InvisibleRest,
    /// One bar of a whole-bar rest; the number is how many bars the sign counts.
    BarRest(u32),
}

/// Something with a place in time: a note, a chord, a rest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// What it is.
    pub kind: EventKind,
    /// From its first sign to its length; decorations, chord symbols and ties not counted.
    pub span: Span,
    /// The same with everything that belongs before it (grace notes, symbols, decorations, tuplet, slurs).
    pub full: Span,
    /// Time from the beginning of its bar.
    pub offset: Time,
    /// How long it lasts; nothing for grace notes.
    pub duration: Time,
    /// Its bar, counted from 0.
    pub bar: u32,
    /// Its layer, 0 without overlays.
    pub layer: u8,
    /// Its notes.
    pub notes: Range<u32>,
    /// The key in force.
    pub key: u16,
    /// Whether it is a grace note.
    pub grace: bool,
    /// Whether it is a grace note with a stroke (acciaccatura).
    pub slashed: bool,
    /// Whether nothing parts it from the event before, so that the two share a beam if they can.
    pub joined: bool,
    /// Whether it is a whole-bar rest that is not printed.
    pub hidden: bool,
    /// Its tuplet, if it is in one.
    pub tuplet: Option<u32>,
    /// Whether broken rhythm has changed its length.
    pub broken: bool,
    /// Where its length is typed; empty, after it, when none is.
    pub length: Span,
    /// The unit length in force.
    pub unit: Time,
    /// How long the sign of a grace note is; how long it is played is left open. Nothing for all others.
    pub grace_length: Time,
}

impl Event {
    /// When it ends, from the beginning of its bar.
    pub fn end(&self) -> Time {
        self.offset + self.duration
    }

    /// Whether it takes time and sounds.
    pub fn sounds(&self) -> bool {
        self.kind == EventKind::Notes && !self.grace
    }
}

/// One note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// What the player reads.
    pub written: Pitch,
    /// What sounds.
    pub pitch: Pitch,
    /// Octaves that were added to what is typed (`octave=`).
    pub octave_shift: i8,
    /// The accidental typed, if one is.
    pub accidental: Option<i8>,
    /// From the accidental to the octave signs.
    pub span: Span,
    /// Whether a tie leads into it: it goes on, it does not begin.
    pub tied_in: bool,
    /// Whether a tie leads out of it.
    pub tied_out: bool,
    /// Whether that tie is dotted.
    pub tie_dotted: bool,
    /// The event it belongs to.
    pub event: u32,
}

/// Notes in the time of others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tuplet {
    /// So many notes …
    pub actual: u32,
    /// … in the time of so many.
    pub normal: u32,
    /// The sign.
    pub span: Span,
}

/// A sign on an event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// What kind of sign.
    pub kind: MarkKind,
    /// What it says, without its delimiters.
    pub text: Box<str>,
    /// Where it stands.
    pub span: Span,
    /// The event it belongs to (the one that follows); the number of events if none does.
    pub event: u32,
    /// What it asks of the player, where that is known.
    pub meaning: Option<Meaning>,
    /// What it stands on.
    pub on: MarkPlace,
}

/// What a sign stands on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum MarkPlace {
    /// Its event.
    #[default]
    Event,
    /// A space: the event is only the next one.
    Space,
    /// The bar line after this bar, counted from 0.
    BarLine(u32),
    /// Its event, from a line of symbols under the music: the first such line is 0.
    Line(u16),
}

/// The kinds of signs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkKind {
    /// `!name!` or a letter that stands for one.
    Decoration,
    /// A chord symbol.
    ChordSymbol,
    /// Text at a place.
    Annotation,
}

/// How far an acceptance reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// All tunes of the file.
    File,
    /// The tune.
    Tune,
    /// One bar, counted from 0, in every voice.
    Bar(u32),
}

/// Rules whose remarks the composer accepts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accept {
    /// The rules named.
    pub rules: Vec<String>,
    /// Where it holds.
    pub scope: Scope,
    /// Where it is typed.
    pub span: Span,
}

/// The style the composer writes in: `recte style WORDS`. In the tune it holds for the whole of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Style {
    /// "strict" or "free", and what else is asked for: "direct".
    pub words: Vec<String>,
    /// Where it is typed.
    pub span: Span,
}

/// What the composer said of a voice: `recte instrument VOICE NAME`, `recte level VOICE LEVEL`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Instruction {
    /// "instrument" or "level".
    pub what: String,
    /// The voice's id.
    pub voice: String,
    /// The rest.
    pub value: String,
    /// Where it is typed.
    pub span: Span,
}
