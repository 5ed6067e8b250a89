//! What is under the cursor: the chord, the interval or the note, in plain words.

use recte_notation::{BlockKind, Document};
use recte_score::{Event, Note, Tune, sounding_at};
use recte_theory::chord::{Chord, Stack, identify, thirds};
use recte_theory::{Interval, Key, Pitch, PitchName};
use std::ops::Range;

/// What to show, and for which bytes of the document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hover {
    /// The note, chord or rest it is about.
    pub range: Range<usize>,
    /// The text, plain, in lines.
    pub text: String,
}

/// What sounds at the note, chord or rest under an offset, in every voice.
///
/// First line: the chord in plain words and as a symbol, else the interval, else the note. Then the notes as
/// written, and the place in the key.
pub fn hover(document: &Document, offset: usize) -> Option<Hover> {
    let (start, block) = document.block_at(offset)?;
    if block.kind != BlockKind::Tune {
        return None;
    }
    let tune = &block.lowered().tune;
    let event = event_at(tune, offset - start)?;
    let sounding = sounding_at(tune, tune.onset(event));
    let lines = describe(tune, event, &sounding)?;
    let range = start + event.span.start as usize..start + event.span.end as usize;
    Some(Hover { range, text: lines.join("\n") })
}

/// The event whose text the offset is in, else the one it stands right after.
fn event_at(tune: &Tune, offset: usize) -> Option<&Event> {
    let touched = |event: &&Event| event.span.touches(offset);
    let all = || tune.voices.iter().flat_map(|voice| voice.events.iter());
    let inside = |event: &&Event| event.span.range().contains(&offset);
    all().find(inside).or_else(|| all().find(touched))
}

type Sounding<'a> = (u32, &'a Event, &'a Note);

fn describe(tune: &Tune, event: &Event, sounding: &[Sounding<'_>]) -> Option<Vec<String>> {
    let key = &sounding_key(tune, event, sounding);
    let pitches: Vec<Pitch> = sounding.iter().map(|(_, _, note)| note.pitch).collect();
    let mut classes: Vec<u8> = Vec::new();
    for pitch in &pitches {
        let class = pitch.name.pitch_class();
        if !classes.contains(&class) {
            classes.push(class);
        }
    }
    let first = *pitches.first()?;
    let last = *pitches.last()?;
    if let Some(chord) = identify(&pitches).filter(|_| classes.len() > 2) {
        let mut lines = vec![heading(&chord), notes(sounding)];
        lines.extend(root_in_key(chord.root, key));
        return Some(lines);
    }
    if let Some(stack) = as_it_sounds(&pitches, &classes) {
        let chord = Chord::new(stack.root, stack.quality);
        let names = stack.quality.names_on(stack.root).into_iter().map(PitchName::symbol);
        let spelling = names.collect::<Vec<_>>().join(" ");
        let mut lines = vec![
            format!("{}, as it sounds", heading(&chord)),
            format!("{}; as a chord it is spelled {spelling}", notes(sounding)),
        ];
        lines.extend(root_in_key(chord.root, key));
        return Some(lines);
    }
    if pitches.len() == 1 {
        return Some(single(first, sounding[0].2, key));
    }
    // Octave doublings do not make an interval wider.
    let other = pitches.iter().find(|pitch| pitch.name.pitch_class() != first.name.pitch_class());
    let top = if classes.len() == 2 { *other.unwrap_or(&last) } else { last };
    let interval = Interval::between(first, top);
    let top = match classes.len() {
        1 | 2 => format!("{interval}"),
        _ => format!("{} different notes, {interval} from lowest to highest", classes.len()),
    };
    Some(vec![top, notes(sounding)])
}

fn heading(chord: &Chord) -> String {
    format!("{} ({})", chord.words(), chord.symbol())
}

/// The pile of thirds with the fewest rare names, and of those the one that changes fewest of the typed.
fn as_it_sounds(pitches: &[Pitch], classes: &[u8]) -> Option<Stack> {
    if !(3..=4).contains(&classes.len()) {
        return None;
    }
    let cost = |stack: &Stack| {
        let rare = stack.names.iter().filter(|name| name.is_rare()).count();
        (rare, pitches.iter().filter(|p| !stack.names.contains(&p.name)).count())
    };
    thirds(classes).into_iter().min_by_key(cost)
}

fn single(pitch: Pitch, note: &Note, key: &Key) -> Vec<String> {
    let mut lines = vec![format!("{} ({})", pitch.name.words(), plain(pitch))];
    if note.written != pitch {
        lines.push(format!("written {}", plain(note.written)));
    }
    lines.extend(in_key(pitch.name, key));
    lines
}

/// The notes as they sound; beside each that its player reads otherwise, what is read.
fn notes(sounding: &[Sounding<'_>]) -> String {
    let name = |note: &Note| match note.written == note.pitch {
        true => plain(note.pitch),
        false => format!("{} (written {})", plain(note.pitch), plain(note.written)),
    };
    sounding.iter().map(|(_, _, note)| name(note)).collect::<Vec<_>>().join(" ")
}

/// The key in force as it sounds: that of a transposing part is moved with its notes.
fn sounding_key(tune: &Tune, event: &Event, sounding: &[Sounding<'_>]) -> Key {
    let own = sounding.iter().find(|(_, other, _)| std::ptr::eq(*other, event));
    let Some((_, event, note)) = own.or(sounding.first()) else { return *tune.key(event) };
    let key = tune.key(event);
    let shift = note.pitch.name.fifths() - note.written.name.fifths();
    match key.tonic.filter(|_| shift != 0) {
        Some(tonic) => Key::new(PitchName::from_fifths(tonic.fifths() + shift), key.mode),
        None => *key,
    }
}

fn root_in_key(root: PitchName, key: &Key) -> Option<String> {
    in_key(root, key).map(|place| format!("root: {place}"))
}

/// "seventh degree of G minor, raised".
fn in_key(name: PitchName, key: &Key) -> Option<String> {
    const DEGREES: [&str; 7] = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh"];
    let (degree, altered) = key.degree(name)?;
    let tonic = key.tonic?.words();
    let altered = match altered {
        0 => "",
        1 => ", raised",
        -1 => ", lowered",
        n if n > 0 => ", raised twice",
        _ => ", lowered twice",
    };
    let degree = DEGREES[usize::from(degree - 1) % 7];
    Some(format!("{degree} degree of {tonic} {}{altered}", key.mode.name()))
}

/// "G♯4".
fn plain(pitch: Pitch) -> String {
    format!("{}{}", pitch.name.symbol(), pitch.octave)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The hover at the mark `‸` in the music.
    fn check(music: &str, expected: &str) {
        let text = format!("X:1\nL:1/4\nK:C\n{music}\n");
        let offset = text.find('‸').unwrap();
        let document = Document::new(&text.replace('‸', ""));
        let found = hover(&document, offset).map(|hover| hover.text);
        assert_eq!(found.unwrap_or_default(), expected);
    }

    #[test]
    fn a_chord() {
        check("[E‸^GB]4|", "E major (E)\nE4 G♯4 B4\nroot: third degree of C major");
    }

    #[test]
    fn everything_that_sounds_counts() {
        check("[V:1]‸G4|\n[V:2][CE]4|", "C major (C)\nC4 E4 G4\nroot: first degree of C major");
        check(
            "[V:1]cc‸cc|\n[V:2]E,4|\n[V:3]G4|",
            "C major, first inversion (C/E)\nE3 G4 C5\nroot: first degree of C major",
        );
    }

    #[test]
    fn a_hidden_chord_is_named_as_it_sounds() {
        check(
            "‸[E_AB]4|",
            "E major (E), as it sounds\nE4 A♭4 B4; as a chord it is spelled E G♯ B\nroot: third degree of C major",
        );
    }

    #[test]
    fn an_interval_and_a_note() {
        check("[C‸E]4|", "major third\nC4 E4");
        check("[C‸Gc]4|", "perfect fifth\nC4 G4 C5");
        check("^F‸4|", "F sharp (F♯4)\nfourth degree of C major, raised");
    }

    #[test]
    fn a_rest_shows_what_sounds_meanwhile() {
        check("[V:1]‸z4|\n[V:2]C4|", "C (C4)\nfirst degree of C major");
        check("‸z4|", "");
    }

    #[test]
    fn a_transposing_part_shows_both() {
        check("[V:1 transpose=-2]‸d4|", "C (C5)\nwritten D5\nsecond degree of B flat major");
        check(
            "[V:1 transpose=-2]‸[ceg]4|",
            "B flat major (B♭)\nB♭4 (written C5) D5 (written E5) F5 (written G5)\nroot: first degree of B flat major",
        );
    }

    #[test]
    fn between_things_there_is_nothing() {
        check("C2 ‸ C2|", "");
    }
}
