//! Chord symbols to complete: what sounds at the place comes first.

use crate::harmony::{Harmonies, degree_of, key_words, numerals, on_degrees};
use crate::host::Snapshot;
use recte_notation::write::TextEdit;
use recte_notation::{Block, BlockKind, Change};
use recte_review::chord_symbols::symbol_text;
use recte_score::{Event, Span, Tune, sounding_at};
use recte_theory::chord::{Chord, identify, readings};
use recte_theory::key::Mode;
use recte_theory::{Key, Pitch};
use std::ops::Range;

/// What can stand at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Completion {
    /// The bytes of the document that are replaced: what is typed of the symbol.
    pub range: Range<usize>,
    /// What can come there, the best first.
    pub items: Vec<Offered>,
}

/// A chord symbol that can stand there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offered {
    /// The symbol, as it is typed: "F#m7/C#".
    pub symbol: String,
    /// What it is, in words: "sounds here: F sharp minor seventh".
    pub detail: String,
    /// The change of text; it closes the quote where nothing does.
    pub change: Change,
}

/// So many other readings are offered.
const READINGS: usize = 5;

/// The chord symbols for a cursor after a `"` in music; nothing elsewhere.
pub fn completion(snapshot: &Snapshot, offset: usize) -> Option<Completion> {
    let (start, block) = snapshot.document.block_at(offset)?;
    let quote = Quote::at(block, offset - start)?;
    // The tune without what is half typed, so that the notes after it are read as notes.
    let removed = TextEdit { span: quote.whole, text: String::new() };
    let plain = snapshot.mended(&block.edited(&[removed]).ok()?);
    let chords = chords(&plain, quote.whole.start as usize);
    let range = start + quote.typed.start as usize..start + quote.typed.end as usize;
    let mut items: Vec<Offered> = Vec::new();
    for (chord, detail) in chords {
        let Some(symbol) = symbol_text(&chord) else { continue };
        if items.iter().all(|known| known.symbol != symbol) {
            let end = if quote.closed { "" } else { "\"" };
            let change = Change { range: range.clone(), text: format!("{symbol}{end}") };
            items.push(Offered { symbol, detail, change });
        }
    }
    Some(Completion { range, items })
}

/// A quote in music, with the cursor inside.
struct Quote {
    /// With its quotation marks.
    whole: Span,
    /// Between them.
    typed: Span,
    /// Whether a second mark closes it.
    closed: bool,
}

impl Quote {
    fn at(block: &Block, at: usize) -> Option<Quote> {
        let header = block.lowered().tune.header.end as usize;
        if block.kind != BlockKind::Tune || at < header {
            return None;
        }
        let text = &block.text;
        let first = text.get(..at)?.rfind(['\n', '\r']).map_or(0, |end| end + 1);
        let last = text[at..].find(['\n', '\r']).map_or(text.len(), |end| at + end);
        if is_field(&text[first..last]) {
            return None;
        }
        let open = first + open_quote(&text[first..at])?;
        if text[open + 1..].starts_with(['^', '_', '<', '>', '@']) {
            return None;
        }
        // An odd number of marks after the cursor: the first of them is ours.
        let rest = &text[at..last];
        let rest = &rest[..rest.find('%').unwrap_or(rest.len())];
        let closed = rest.matches('"').count() % 2 == 1;
        let end = if closed { at + rest.find('"').unwrap_or(0) } else { at };
        let whole = Span::new(open, end + usize::from(closed));
        Some(Quote { whole, typed: Span::new(open + 1, end), closed })
    }
}

/// Whether a line of the body is a field, a continued one, or a directive. The other letters never begin one (abc
/// standard v2.1, 3).
fn is_field(line: &str) -> bool {
    let mut chars = line.chars();
    let (first, second) = (chars.next(), chars.next());
    match (first, second) {
        (Some('%'), _) | (Some('+'), Some(':')) => true,
        (Some(letter), Some(':')) => {
            letter.is_ascii_alphabetic()
                && !matches!(letter.to_ascii_lowercase(), 'a'..='g' | 'x'..='z')
        }
        _ => false,
    }
}

/// The quotation mark that is open at the end of a piece of music.
fn open_quote(line: &str) -> Option<usize> {
    let mut open = None;
    let mut field = false;
    let mut before = ' ';
    for (at, c) in line.char_indices() {
        match c {
            '"' if open.is_some() => open = None,
            '"' => open = Some(at),
            '%' if before != '\\' => return None,
            _ if open.is_some() => {}
            ':' if before.is_ascii_alphabetic() && line[..at - 1].ends_with('[') => field = true,
            ']' => field = false,
            _ => {}
        }
        before = c;
    }
    open.filter(|_| !field)
}

/// The chords for what begins at a place, the likeliest first, each with what to say of it.
fn chords(block: &Block, at: usize) -> Vec<(Chord, String)> {
    let harmonies = Harmonies::of(block);
    let tune = harmonies.tune;
    let Some(event) = event_after(tune, at) else { return Vec::new() };
    let moment = tune.onset(event);
    let told = harmonies.at(moment);
    // What a symbol says that was typed before does not sound.
    let key = told.as_ref().map_or_else(|| *tune.key(event), |told| told.heading.key);
    let told = told.as_ref().map(|told| told.heading).filter(|told| !told.typed);
    let sounding: Vec<Pitch> =
        sounding_at(tune, moment).iter().map(|(_, _, note)| note.pitch).collect();
    let mut found: Vec<(Chord, String)> = Vec::new();
    if let Some(told) = told {
        let degree = format!(", {} in {}", numerals(&told.degree), key_words(&told.key));
        found.push((told.chord, format!("sounds here: {}{degree}", told.chord.words())));
    }
    let mut classes: Vec<u8> = sounding.iter().map(|pitch| pitch.name.pitch_class()).collect();
    classes.sort_unstable();
    classes.dedup();
    if let Some(chord) = identify(&sounding).filter(|_| classes.len() > 2) {
        found.push((chord, format!("sounds at this moment: {}", chord.words())));
    }
    let known = told.map(|told| told.readings.iter().copied());
    let other = readings(&sounding).into_iter().skip(1).filter(|_| classes.len() > 2);
    for chord in known.into_iter().flatten().chain(other).take(READINGS) {
        found.push((chord, format!("or: {}", chord.words())));
    }
    let mut own = of_key(&key);
    let holds = |chord: &Chord| {
        let names = chord.names();
        sounding.iter().filter(|pitch| names.contains(&pitch.name)).count()
    };
    // Those that have the notes that sound come before the others.
    own.sort_by_key(|chord| usize::MAX - holds(chord));
    found.extend(own.into_iter().map(|chord| {
        let place = degree_of(chord.root, &key).unwrap_or_default();
        (chord, format!("{}: {place}", chord.words()))
    }));
    found
}

/// The first note, chord or rest that stands at or after a place, in the voice typed there.
fn event_after(tune: &Tune, at: usize) -> Option<&Event> {
    let events = tune.voices.iter().flat_map(|voice| &voice.events);
    let after = events.filter(|event| event.full.end as usize > at && !event.grace);
    after.min_by_key(|event| event.full.start)
}

/// The triads on the degrees of a key, in minor with the dominant's leading note, and the dominant seventh.
fn of_key(key: &Key) -> Vec<Chord> {
    let Some(tonic) = key.tonic else { return Vec::new() };
    // From the tonic on the line of fifths, by how often they are met.
    let rows: &[(i32, &str)] = match key.mode {
        Mode::Minor => &[
            (0, "minor triad"),
            (1, "major triad"),
            (1, "dominant seventh"),
            (-1, "minor triad"),
            (-4, "major triad"),
            (-3, "major triad"),
            (-2, "major triad"),
            (2, "diminished triad"),
            (1, "minor triad"),
            (5, "diminished triad"),
        ],
        _ => &[
            (0, "major triad"),
            (1, "major triad"),
            (1, "dominant seventh"),
            (-1, "major triad"),
            (3, "minor triad"),
            (2, "minor triad"),
            (4, "minor triad"),
            (5, "diminished triad"),
        ],
    };
    // The other modes have the triads of the major key of their signature.
    let from = match key.mode {
        Mode::Major | Mode::Minor => tonic.fifths(),
        mode => tonic.fifths() + mode.fifths(),
    };
    on_degrees(from, rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;
    use std::sync::Arc;

    const HEAD: &str = "X:1\nM:4/4\nL:1/4\nK:C\n";

    /// The symbols for the cursor at `‸`, the best first, and the text after the first.
    fn offered(music: &str) -> Option<(Vec<String>, String)> {
        let text = format!("{HEAD}{music}\n");
        let at = text.find('‸').unwrap();
        let snapshot = Snapshot::new(Document::new(&text.replace('‸', "")), Arc::default());
        let found = completion(&snapshot, at)?;
        let symbols = found.items.iter().map(|one| one.symbol.clone()).collect();
        let change = found.items.first()?.change.clone();
        let after = snapshot.document.text_with(&[change]);
        Some((symbols, after[HEAD.len()..].trim_end().to_owned()))
    }

    #[test]
    fn what_sounds_comes_first_and_the_quote_is_closed() {
        let (symbols, after) = offered("[CEG]4|\"‸[FAd]4|\"G\"[GBd]4|").unwrap();
        assert_eq!(symbols[0], "Dm/F");
        assert!(symbols.contains(&"C".to_owned()) && symbols.contains(&"G7".to_owned()));
        assert_eq!(after, "[CEG]4|\"Dm/F\"[FAd]4|\"G\"[GBd]4|");
    }

    #[test]
    fn what_is_typed_is_replaced_and_a_closed_quote_stays_so() {
        for music in
            ["[CEG]4|\"X‸\"[FAd]4|", "[CEG]4|\"‸Am7\"[FAd]4|", "[CEG]4|\"‸\"[FAd]4|\"G\"D4|"]
        {
            let (_, after) = offered(music).unwrap();
            assert!(after.starts_with("[CEG]4|\"Dm/F\"[FAd]4|"), "{music}: {after}");
        }
    }

    #[test]
    fn a_lone_melody_gets_the_chords_of_its_key() {
        let (symbols, _) = offered("\"‸C2D2|E4|").unwrap();
        assert_eq!(symbols[..3], ["C", "F", "Am"]);
    }

    #[test]
    fn nothing_outside_music() {
        for music in [
            "C4|% \"‸",
            "C4|\nw: la \"‸\n",
            "[Q:\"‸",
            "\"C\"‸C4|",
            "\"^‸C4|",
            "C4|\nN:a \"‸",
            "C4|\n%%text \"‸",
            "C‸4|",
        ] {
            assert_eq!(offered(music), None, "{music}");
        }
        let text = "X:1\nT:\"\nK:C\nC4|\n";
        let snapshot = Snapshot::new(Document::new(text), Arc::default());
        assert_eq!(completion(&snapshot, 7), None);
    }

    #[test]
    fn a_note_is_no_field() {
        assert!(offered("G:|\"‸C4|").is_some());
    }
}
