//! Chord symbols, texts and decorations as typed.

use super::items::Item;
use super::text::quoted;
use crate::sheet::Mark;

/// Chord symbols, then other text, then slurs that begin, then decorations (abc standard v2.1, 4.20).
pub(super) fn stands_at(item: &Item<'_>, text: &mut String) {
    texts(&item.marks, text);
    for dotted in &item.opens {
        text.push_str(if *dotted { ".(" } else { "(" });
    }
    decorations(&item.marks, text);
}

/// The same without a note.
pub(super) fn marks(marks: &[Mark], text: &mut String) {
    texts(marks, text);
    decorations(marks, text);
}

fn texts(marks: &[Mark], text: &mut String) {
    for mark in marks {
        if let Mark::Chord(symbol) = mark {
            text.push_str(&quoted(symbol));
        }
    }
    for mark in marks {
        if let Mark::Text(side, words) = mark {
            text.push_str(&quoted(&format!("{side}{words}")));
        }
    }
}

fn decorations(marks: &[Mark], text: &mut String) {
    let mut seen: Vec<&str> = Vec::new();
    let names = marks.iter().filter_map(|mark| match mark {
        Mark::Decoration(name) => Some(name),
        _ => None,
    });
    // Single signs go next to the note.
    let single = |name: &&&str| matches!(**name, "." | "~" | "upbow" | "downbow");
    let (last, first): (Vec<_>, Vec<_>) = names.partition(single);
    for name in first.into_iter().chain(last) {
        if seen.contains(name) {
            continue;
        }
        seen.push(name);
        match *name {
            "." => text.push('.'),
            "upbow" => text.push('u'),
            "downbow" => text.push('v'),
            "~" => text.push('~'),
            name => text.extend(["!", name, "!"]),
        }
    }
}
