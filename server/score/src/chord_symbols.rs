//! Chord symbols as they are typed: what each says, and from when to when it holds.
//!
//! The abc standard v2.1, 4.18, asks readers to be liberal: a bass in either case after a stroke, an alternative in
//! brackets (`G(Em)`), several on one sign, parted by `;` or `\n`.

use crate::tune::{Event, Mark, MarkKind, MarkPlace, Tune};
use recte_theory::chord::{Chord, quality_named};
use recte_theory::{PitchName, Time};
use std::collections::BTreeSet;

/// A chord symbol in its place.
#[derive(Clone, Debug)]
pub struct Typed<'a> {
    /// The voice, by index.
    pub voice: usize,
    /// The sign.
    pub mark: &'a Mark,
    /// The event it stands on.
    pub event: &'a Event,
    /// When it begins, in whole notes from the beginning of the tune.
    pub onset: Time,
    /// When the next one of its voice begins, else the end of the tune.
    pub end: Time,
    /// Whether another one stands on the same event.
    pub shares: bool,
    /// What it says, then its alternatives; nothing where it is no chord.
    pub chords: Vec<Chord>,
}

/// Every chord symbol of a tune, by when it begins, then by voice.
pub fn typed_symbols(tune: &Tune) -> Vec<Typed<'_>> {
    let tune_ends = tune.bars.last().map_or(Time::ZERO, |bar| bar.start + bar.length);
    let mut all = Vec::new();
    for (voice, own) in tune.voices.iter().enumerate() {
        let signs = own.marks.iter().filter(|mark| {
            mark.kind == MarkKind::ChordSymbol && !matches!(mark.on, MarkPlace::BarLine(_))
        });
        let mut placed: Vec<Typed<'_>> = signs
            .filter_map(|mark| {
                let event = own.events.get(mark.event as usize)?;
                let (onset, chords) = (tune.onset(event), chords_of(&mark.text));
                let (end, shares) = (tune_ends, false);
                Some(Typed { voice, mark, event, onset, end, shares, chords })
            })
            .collect();
        placed.sort_by_key(|typed| (typed.onset, typed.mark.span));
        for at in 1..placed.len() {
            let (before, own) = placed.split_at_mut(at);
            let onset = own[0].onset;
            for last in before.iter_mut().rev().take_while(|last| last.end > onset) {
                if last.onset == onset {
                    (last.shares, own[0].shares) = (true, true);
                } else {
                    last.end = onset;
                }
            }
        }
        all.extend(placed);
    }
    all.sort_by_key(|typed| (typed.onset, typed.voice, typed.mark.span));
    all
}

/// The symbol that holds at a moment: the last one typed before, of the first voice that has one.
pub fn in_force<'a, 't>(typed: &'a [Typed<'t>], moment: Time) -> Option<&'a Typed<'t>> {
    let here = typed.iter().filter(|one| one.onset <= moment && moment < one.end);
    here.filter(|one| !one.chords.is_empty()).max_by_key(|one| (one.onset, usize::MAX - one.voice))
}

/// What a symbol says, then its alternatives. Nothing for words and for what no table has.
pub fn chords_of(text: &str) -> Vec<Chord> {
    let parts = text.split([';', '\n']).flat_map(|part| part.split("\\n"));
    parts.flat_map(|part| with_alternatives(part.trim())).collect()
}

fn with_alternatives(text: &str) -> Vec<Chord> {
    if let Some(chord) = one(text) {
        return vec![chord];
    }
    if let Some((first, rest)) = text.split_once('(') {
        let inside = rest.trim_end().trim_end_matches(')');
        let found = [first.trim(), inside.trim()].into_iter().filter(|part| !part.is_empty());
        let chords: Vec<Option<Chord>> = found.map(one).collect();
        return chords.into_iter().collect::<Option<Vec<Chord>>>().unwrap_or_default();
    }
    if let Some((first, second)) = text.split_once('/') {
        return one(first).zip(one(second)).map_or(Vec::new(), |(a, b)| vec![a, b]);
    }
    Vec::new()
}

fn one(text: &str) -> Option<Chord> {
    let text = match text.rsplit_once('/') {
        // A bass in lower case is the same bass.
        Some((body, bass)) if bass.starts_with(|c| ('a'..='g').contains(&c)) => {
            let (letter, signs) = bass.split_at(1);
            format!("{body}/{}{signs}", letter.to_ascii_uppercase())
        }
        _ => text.to_owned(),
    };
    Chord::from_symbol(&text).or_else(|| {
        let plain: String = text.chars().filter(|c| !matches!(c, '(' | ')' | ' ')).collect();
        (plain != text && !text.starts_with('(')).then(|| Chord::from_symbol(&plain)).flatten()
    })
}

/// A chord as a symbol is typed, with `#` and `b`: "F#m7/C#". An augmented sixth is typed as the seventh chord that it
/// sounds as; nothing for what cannot be typed as a symbol.
pub fn symbol_text(chord: &Chord) -> Option<String> {
    let seventh = match chord.quality.name.as_str() {
        "Italian sixth" | "German sixth" => quality_named("dominant seventh"),
        "French sixth" => quality_named("dominant seventh flat five"),
        _ => None,
    };
    let chord = match seventh {
        Some(quality) => Chord { quality, ..*chord },
        None => *chord,
    };
    let text = chord.symbol().replace('♯', "#").replace('♭', "b");
    Chord::from_symbol(&text).map(|_| text)
}

/// The sounds of a chord, without what it leaves out: 0 is C.
pub fn classes(chord: &Chord) -> BTreeSet<u8> {
    chord.names().into_iter().map(PitchName::pitch_class).collect()
}
