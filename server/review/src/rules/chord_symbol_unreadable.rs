//! # A chord symbol that cannot be read
//!
//! A text that looks like a chord symbol and is none: a root with a number no chord has, or with signs that
//! say nothing. Words are left alone, and so are alternatives such as `G(Em)`. H is the German name of B natural;
//! the standard's roots are A to G.
//!
//! An accompanist stops at it, and nothing can be played from it. A root, then m, dim, aug, sus, 7, maj7 and the
//! like, then the bass after a stroke.
//!
//! Source: abc standard v2.1, 4.18 (chord symbols); the table of chords in theory/data/chords.csv.
//!
//! ```abc flagged
//! X:1
//! L:1/4
//! K:C
//! "H7"EFGA|
//! ```
//!
//! ```abc fixed
//! X:1
//! L:1/4
//! K:C
//! "B7"EFGA|
//! ```
//!
//! ```abc quiet
//! X:1
//! L:1/4
//! K:C
//! "Am7"C"G(Em)"D"C/e"E"F#m7b5"F|"Bbsus4/F"C"Fine"D"D.C."E"A part"F|
//! ```

use crate::context::Context;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, Rule};
use recte_notation::write::TextEdit;
use recte_score::{Mark, MarkKind};
use recte_theory::chord::Chord;

pub(crate) const RULE: Rule = Rule {
    id: "",
    doc: "",
    family: Family::Source,
    severity: Severity::Hint,
    summary: "a chord symbol that cannot be read",
    check,
};

/// What may follow a root, longest first: kinds and signs in use.
const KINDS: [&str; 31] = [
    "maj", "Maj", "MAJ", "min", "Min", "MIN", "dim", "Dim", "aug", "Aug", "sus", "Sus", "add",
    "alt", "omit", "dom", "mi", "ma", "no", "m", "M", "o", "°", "ø", "Ø", "Δ", "+", "-", "(", ")",
    ",",
];
/// Numbers that chord symbols use.
const NUMBERS: [&str; 15] =
    ["2", "3", "4", "5", "6", "7", "9", "10", "11", "13", "69", "6/9", "24", "47", "79"];

fn check(context: &Context<'_>, findings: &mut Vec<Finding>) {
    for (index, voice) in context.voices() {
        for mark in voice.marks.iter().filter(|mark| mark.kind == MarkKind::ChordSymbol) {
            if let Some(message) = unreadable(&mark.text) {
                let place = match voice.events.get(mark.event as usize) {
                    Some(event) => context.at_event(index, event, message),
                    None => context.at(mark.span, message),
                };
                let fixes = german(context, mark).into_iter().collect();
                findings.push(Finding { span: mark.span, fixes, ..place });
            }
        }
    }
}

/// What is the matter with a symbol; `None` for one that can be read, and for words.
fn unreadable(text: &str) -> Option<String> {
    let text = text.trim();
    if let Some(tail) = text.strip_prefix('H') {
        let chord = tail.chars().next().is_some_and(|c| c.is_ascii_digit() || c == 'm')
            && tail_is_read(tail);
        return chord.then(|| format!("“{text}” has a German root; H is B natural here."));
    }
    let known = Chord::from_symbol(text).is_some() || !looks_like_chord(text) || is_read(text);
    (!known).then(|| format!("“{text}” is no chord symbol that is in use."))
}

/// H for B natural: the same chord with its English root.
fn german(context: &Context<'_>, mark: &Mark) -> Option<crate::finding::Fix> {
    let tail = mark.text.trim().strip_prefix('H')?;
    let typed = &context.block.text[mark.span.range()];
    let text = typed.replacen('H', "B", 1);
    Some(context.fix(format!("Write B{tail}"), vec![TextEdit { span: mark.span, text }]))
}

/// A root and then only signs that chord symbols are made of: not a word, not a sentence.
fn looks_like_chord(text: &str) -> bool {
    let mut chars = text.chars();
    let root = chars.next().is_some_and(|c| ('A'..='G').contains(&c));
    let rest = chars.as_str();
    let letters = rest.chars().filter(|c| c.is_alphabetic() && !"mMbsuadjino".contains(*c)).count();
    root && !rest.contains([' ', '.', '!', '?', ':', ';', '\''])
        && rest.contains(|c: char| c.is_ascii_digit())
        && letters <= 1
}

fn is_read(text: &str) -> bool {
    let mut chars = text.chars();
    chars.next().is_some_and(|c| ('A'..='G').contains(&c)) && tail_is_read(chars.as_str())
}

/// Reads everything after the root: signs, kinds, numbers, other chords after a stroke or in brackets.
fn tail_is_read(tail: &str) -> bool {
    let mut rest = tail.trim();
    while let Some(c) = rest.chars().next() {
        if c.is_ascii_digit() {
            let length = rest.bytes().take_while(u8::is_ascii_digit).count();
            if !NUMBERS.contains(&&rest[..length]) {
                return false;
            }
            rest = &rest[length..];
        } else if let Some(after) =
            rest.strip_prefix(['#', 'b', '♯', '♭', '=', '/', '^', '*', ' ', '[', ']'])
        {
            rest = after;
        } else if let Some(kind) = KINDS.iter().find(|kind| rest.starts_with(**kind)) {
            rest = &rest[kind.len()..];
        } else if let Some(after) =
            rest.strip_prefix(|c| ('A'..='G').contains(&c) || ('a'..='g').contains(&c))
        {
            rest = after;
        } else {
            return false;
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_in_use_is_read() {
        for text in [
            "A",
            "Am",
            "Am7",
            "C#dim7",
            "F♯m7b5",
            "Bb6/9",
            "Cmaj7",
            "CM7",
            "G7sus4",
            "G7/B",
            "Em/D",
            "Dm7/G",
            "G(Em)",
            "C+",
            "Co7",
            "C°",
            "Cø7",
            "Cadd9",
            "C7#9",
            "C7(b9)",
            "D5",
            "C13",
            "F#m7/C#",
            "G/Em",
            "Cm(maj7)",
            "Cmin",
            "A-7",
            "Ab^7",
            "Fine",
            "Chorus",
            "D.C.",
            "Bridge",
            "Am7 (2nd time)",
            "Coda",
            "D.S. al Fine",
            "Guitar 2",
            "A1 theme",
            "C-D-E",
            "H",
            "",
        ] {
            assert_eq!(unreadable(text), None, "{text}");
        }
    }

    #[test]
    fn what_is_not_is_said() {
        for text in ["G77", "Am12", "C7x", "Hm", "H7"] {
            assert!(unreadable(text).is_some(), "{text}");
        }
    }
}
