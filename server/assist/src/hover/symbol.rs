//! What a chord symbol says, and whether the notes say the same.

use crate::harmony::{Harmonies, degree_of, heading, same_notes, spelled};
use recte_review::chord_symbols::{Typed, chords_of};
use recte_score::{Mark, MarkKind, Tune};
use recte_theory::PitchName;
use recte_theory::chord::Chord;

/// The chord symbol at an offset.
pub(super) fn at(tune: &Tune, offset: usize) -> Option<&Mark> {
    let marks = tune.voices.iter().flat_map(|voice| &voice.marks);
    let mut symbols = marks.filter(|mark| mark.kind == MarkKind::ChordSymbol);
    symbols.find(|mark| mark.span.range().contains(&offset))
}

/// The chord, its notes, its place in the key, and what sounds under it. Nothing for words.
pub(super) fn describe(harmonies: &Harmonies<'_>, symbol: &Mark) -> Option<Vec<String>> {
    let chords = chords_of(&symbol.text);
    let (chord, others) = chords.split_first()?;
    let mut lines = vec![heading(chord), notes_of(chord)];
    let symbols = harmonies.symbols();
    let typed = symbols.iter().find(|typed| std::ptr::eq(typed.mark, symbol));
    let told = typed.and_then(|typed| harmonies.at(typed.onset));
    let told = told.as_ref().map(|told| told.heading);
    let key = match (told, typed) {
        (Some(told), _) => Some(&told.key),
        (None, Some(typed)) => Some(harmonies.tune.key(typed.event)),
        (None, None) => harmonies.tune.keys.first(),
    };
    let place = key.and_then(|key| degree_of(chord.root, key));
    lines.extend(place.map(|place| format!("root: {place}")));
    lines.extend(others.iter().map(|other| format!("or {}: {}", heading(other), notes_of(other))));
    if let Some(told) = told.filter(|told| !told.typed) {
        let agrees = chords.iter().any(|chord| same_notes(chord, &told.chord));
        lines.push(match agrees {
            true => "the notes say the same".to_owned(),
            false => {
                format!("the notes are {}: {}", spelled(&told.names), heading(&told.chord))
            }
        });
    }
    Some(lines)
}

fn notes_of(chord: &Chord) -> String {
    let names = chord.names();
    match names.contains(&chord.bass) {
        true => spelled(&names),
        false => format!("{} over {}", spelled(&names), chord.bass.symbol()),
    }
}

/// "The symbol Am says A C E; the notes are C E G", where that differs.
pub(super) fn differs(typed: &Typed<'_>, chord: &Chord, names: &[PitchName]) -> Option<String> {
    let said = typed.chords.first()?;
    if typed.chords.iter().any(|said| same_notes(said, chord)) {
        return None;
    }
    Some(format!(
        "the symbol {} says {}; the notes are {}",
        said.symbol(),
        notes_of(said),
        spelled(names)
    ))
}
