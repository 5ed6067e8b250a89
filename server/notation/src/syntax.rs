//! The kinds of node the grammar has, as numbers looked up once.

use std::sync::LazyLock;
use tree_sitter::{Language, Node};

macro_rules! kinds {
    ($($variant:ident = $name:literal),* $(,)?) => {
        /// A kind of node that lowering looks at.
        #[derive(Clone, Copy, PartialEq, Eq, Debug)]
        pub(crate) enum Kind { $($variant),*, Other }

        static TABLE: LazyLock<Vec<Kind>> = LazyLock::new(|| {
            let language: Language = recte_grammar::LANGUAGE.into();
            (0..language.node_kind_count())
                .map(|id| match language.node_kind_for_id(id as u16) {
                    $(Some($name) => Kind::$variant,)*
                    _ => Kind::Other,
                })
                .collect()
        });
    };
}

kinds! {
    Tune = "tune",
    Header = "header",
    Body = "body",
    Field = "field",
    FieldName = "field_name",
    FieldValue = "field_value",
    InlineField = "inline_field",
    Directive = "directive",
    MusicLine = "music_line",
    Note = "note",
    Rest = "rest",
    Spacer = "spacer",
    Chord = "chord",
    ChordEnd = "chord_end",
    Length = "length",
    Grace = "grace",
    GraceEnd = "grace_end",
    Tuplet = "tuplet",
    Broken = "broken_rhythm",
    Tie = "tie",
    SlurOpen = "slur_open",
    SlurClose = "slur_close",
    Decoration = "decoration",
    Quoted = "quoted",
    Bar = "bar",
    BarLine = "bar_line",
    Ending = "ending",
    Overlay = "overlay",
    LineBreak = "line_break",
    Continuation = "continuation",
    Comment = "comment",
    Reserved = "reserved",
    Unknown = "unknown",
    TextLine = "text_line",
}

/// The kind of a node.
pub(crate) fn kind(node: Node<'_>) -> Kind {
    TABLE.get(usize::from(node.kind_id())).copied().unwrap_or(Kind::Other)
}
