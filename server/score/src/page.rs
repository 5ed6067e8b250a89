//! What stands on the page around the notes: words, tempi, parts, text, the grouping of staves.

use crate::span::Span;
use recte_theory::Time;

/// What one note gets from a line of words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Syllable {
    /// The verse, counted from 0.
    pub verse: u16,
    /// The event it is sung to.
    pub event: u32,
    /// The text, with the verse's number if it is part of it; empty where the last one is held.
    pub text: Box<str>,
    /// Whether the word goes on with the next syllable.
    pub joined: bool,
    /// Whether this note holds the syllable before it.
    pub held: bool,
    /// Where it is typed.
    pub span: Span,
}

/// A slur from one event to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slur {
    /// The first event.
    pub from: u32,
    /// The last event.
    pub to: u32,
    /// Where it is opened.
    pub open: Span,
    /// Where it is closed.
    pub close: Span,
    /// Whether it is dotted.
    pub dotted: bool,
}

/// A tie that leads to no note of its pitch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LooseTie {
    /// The note it leaves.
    pub note: u32,
    /// Where the tie is typed.
    pub span: Span,
    /// What comes instead: an event of notes or a rest; `None` at the end.
    pub next: Option<u32>,
}

/// How fast, from a place on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tempo {
    /// The bar, counted from 0.
    pub bar: u32,
    /// Time from the beginning of that bar.
    pub offset: Time,
    /// The beat: one value, or several that make one beat together. Empty where only words are given.
    pub beats: Vec<Time>,
    /// So many beats a minute.
    pub per_minute: Option<u32>,
    /// The words.
    pub text: Option<String>,
    /// Where it is typed.
    pub span: Span,
}

impl Tempo {
    /// Whole notes a minute, where the tempo is given in numbers.
    pub fn whole_notes_per_minute(&self) -> Option<Time> {
        let beat = self.beats.iter().fold(Time::ZERO, |all, beat| all + *beat);
        self.per_minute.map(|number| beat * Time::new(i64::from(number), 1))
    }
}

/// A name at a bar: a part (`P:`) or a section's title.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SectionMark {
    /// What it is called.
    pub label: String,
    /// The bar it begins with, counted from 0.
    pub bar: u32,
    /// Whether it is a part that the order of parts may name.
    pub part: bool,
    /// Where it is typed.
    pub span: Span,
}

/// A remark that a reviewer typed (`r:`), in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarginNote {
    /// What it says.
    pub text: String,
    /// The voice it stands in, by index; none in the header.
    pub voice: Option<u32>,
    /// The bar it stands in, counted from 0; none in the header.
    pub bar: Option<u32>,
    /// Where it is typed.
    pub span: Span,
}

/// A text the header keeps: composer, rhythm, origin …
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextField {
    /// The field's letter.
    pub name: char,
    /// What it says.
    pub text: String,
    /// Where it is typed; empty for what the head of the file says for all.
    pub span: Span,
}

/// How voices share staves, braces and brackets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Grouping {
    /// As typed.
    pub text: String,
    /// What it says.
    pub groups: Vec<Group>,
    /// Where it is typed.
    pub span: Span,
}

/// A voice, or several that belong together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// What holds it together.
    pub kind: GroupKind,
    /// The voice's id, for a single voice.
    pub id: String,
    /// Whether bar lines run through to the next group.
    pub bars_joined: bool,
    /// Its members.
    pub members: Vec<Group>,
}

/// What holds a group together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GroupKind {
    /// One voice.
    Voice,
    /// One voice that moves between the staves beside it.
    Floating,
    /// One staff.
    Staff,
    /// A brace.
    Brace,
    /// A bracket.
    Bracket,
}

impl Grouping {
    /// The ids of the voices it names, in order.
    pub fn voices(&self) -> Vec<&str> {
        fn collect<'a>(groups: &'a [Group], ids: &mut Vec<&'a str>) {
            for group in groups {
                if !group.id.is_empty() {
                    ids.push(&group.id);
                }
                collect(&group.members, ids);
            }
        }
        let mut ids = Vec::new();
        collect(&self.groups, &mut ids);
        ids
    }
}
