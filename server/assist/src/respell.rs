//! Other names for the notes of a tune, and the proof that they sound the same.

mod offered;

pub use offered::{Offer, offers};

use recte_notation::write::{
    Respelling, TextEdit, reads_as_well, respell as respelling, tied_together,
};
use recte_notation::{Block, Change};
use recte_score::spelling::{Evidence, Speller};
use recte_score::{Note, NoteRef, Tune, Voice};
use recte_theory::{Pitch, PitchName};
use std::collections::{BTreeMap, HashSet};
use std::ops::{Range, RangeInclusive};

/// Some notes of a tune. What is tied to one of them goes with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Passage {
    /// All of them.
    Tune,
    /// Those of some voices (by index) in some bars (counted from 0).
    Bars {
        /// The voices.
        voices: Vec<usize>,
        /// The bars.
        bars: RangeInclusive<u32>,
    },
    /// Those typed in some bytes of the block.
    Typed(Range<usize>),
}

/// What names notes are to have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// The best, whatever is typed.
    Best,
    /// Black keys are flats; the others keep their names.
    Flats,
    /// Black keys are sharps; the others keep their names.
    Sharps,
}

/// A tune under other names.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Respelled {
    /// How many notes get another name.
    pub notes: usize,
    /// The names as they are read, old and new, each pair once, in the order of the voices.
    pub names: Vec<(PitchName, PitchName)>,
    /// The edits, in the order of the text; none where nothing changes.
    pub edits: Vec<TextEdit>,
}

/// The tune would not sound as it does, or would be harder to read; nothing is changed then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotProved;

impl Respelled {
    /// The edits as changes of a document in which the tune begins at this byte.
    pub fn changes(&self, start: usize) -> Vec<Change> {
        self.edits.iter().map(|edit| edit.change(start)).collect()
    }
}

/// Gives the notes of a passage other names, and repairs the notes that leaned on their accidentals.
///
/// Percussion is left alone, and so are notes that are not typed where they stand but come from a macro.
///
/// # Errors
/// The result, read again, does not have the same sounds, or has more problems.
pub fn respell(block: &Block, passage: &Passage, style: Style) -> Result<Respelled, NotProved> {
    respell_as(block, passage, &names(&block.lowered().tune, style))
}

/// The written names that a style gives to notes, each to the first of those tied together.
pub(crate) type Names = BTreeMap<(u32, u32), PitchName>;

fn names(tune: &Tune, style: Style) -> Names {
    match style {
        Style::Best => best(tune),
        Style::Flats => black_keys(tune, |name| (-6..=-2).contains(&name)),
        Style::Sharps => black_keys(tune, |name| (6..=10).contains(&name)),
    }
}

/// The best names, whatever is typed.
pub(crate) fn best(tune: &Tune) -> Names {
    let speller = Speller::new(tune, Evidence::Sound);
    let names = speller.best();
    let sounds = speller.sounds().iter().zip(names);
    sounds.map(|(sound, name)| ((sound.at.voice, sound.at.note), sound.written(name))).collect()
}

/// The name of every black key that lies in a part of the line of fifths, as it is read.
fn black_keys(tune: &Tune, inside: impl Fn(i32) -> bool) -> Names {
    let mut names = Names::new();
    for (index, voice) in tune.voices.iter().enumerate() {
        if voice.clef.is_percussion() {
            continue;
        }
        for (note, read) in voice.notes.iter().enumerate() {
            let fifths = read.written.name.fifths();
            let turned = (-2..=2).map(|turn| fifths + 12 * turn).find(|&name| inside(name));
            if let Some(name) = turned {
                names.insert((index as u32, note as u32), PitchName::from_fifths(name));
            }
        }
    }
    names
}

/// Gives the notes of a passage these names.
fn respell_as(block: &Block, passage: &Passage, names: &Names) -> Result<Respelled, NotProved> {
    let lowered = block.lowered();
    let tune = &lowered.tune;
    let typed = typed_once(block);
    let mut wanted = Vec::new();
    let mut done = HashSet::new();
    let mut respelled = Respelled::default();
    for (&(voice, note), &name) in names {
        if done.contains(&(voice, note)) {
            continue;
        }
        let notes = &tune.voices[voice as usize].notes;
        let tied = together(&tune.voices[voice as usize], note);
        done.extend(tied.iter().skip(1).map(|&one| (voice, one)));
        let fits = |&one: &u32| {
            let written = notes[one as usize].written;
            typed(&notes[one as usize]) && Pitch::with_name(written.midi(), name).is_some()
        };
        let chosen = |&one: &u32| passage.holds(tune, NoteRef { voice, note: one });
        let renamed = tied.iter().filter(|&&one| notes[one as usize].written.name != name).count();
        let signs = name.alter.unsigned_abs();
        if renamed == 0 || signs > 2 || !tied.iter().all(fits) || !tied.iter().any(chosen) {
            continue;
        }
        let pair = (notes[note as usize].written.name, name);
        if pair.0 != name && !respelled.names.contains(&pair) {
            respelled.names.push(pair);
        }
        respelled.notes += renamed;
        wanted.push(Respelling { voice, note, name });
    }
    if wanted.is_empty() {
        return Ok(respelled);
    }
    let mut edits = respelling(tune, lowered.reach, &wanted).ok_or(NotProved)?;
    edits.sort();
    let after = block.edited(&edits).map_err(|_| NotProved)?;
    if !reads_as_well(lowered, after.lowered()) {
        return Err(NotProved);
    }
    respelled.edits = edits;
    Ok(respelled)
}

fn together(voice: &Voice, note: u32) -> Vec<u32> {
    let read = &voice.notes[note as usize];
    if read.tied_in || read.tied_out { tied_together(voice, note) } else { vec![note] }
}

impl Passage {
    fn holds(&self, tune: &Tune, at: NoteRef) -> bool {
        let voice = &tune.voices[at.voice as usize];
        let note = &voice.notes[at.note as usize];
        match self {
            Passage::Tune => true,
            Passage::Bars { voices, bars } => {
                let bar = voice.events[note.event as usize].bar;
                voices.contains(&(at.voice as usize)) && bars.contains(&bar)
            }
            Passage::Typed(range) => {
                let span = note.span.range();
                span.start < range.end && range.start < span.end
            }
        }
    }
}

/// Whether a note is typed where it stands: what a macro or an included file stands for shares one place.
fn typed_once(block: &Block) -> impl Fn(&Note) -> bool {
    let notes = block.lowered().tune.voices.iter().flat_map(|voice| &voice.notes);
    let mut seen = HashSet::new();
    let shared: HashSet<_> =
        notes.map(|note| note.span).filter(|span| !seen.insert(*span)).collect();
    let text = block.text.clone();
    move |note| {
        let letter = note.written.name.letter.to_char();
        let typed = text.get(note.span.range()).unwrap_or_default();
        let own = typed.trim_matches(['^', '_', '=', ',', '\'']);
        own.eq_ignore_ascii_case(letter.encode_utf8(&mut [0; 4])) && !shared.contains(&note.span)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;
    use std::sync::Arc;

    fn block(text: &str) -> Arc<Block> {
        Document::new(text).blocks().next().unwrap().1.clone()
    }

    /// The text after a passage has been respelled.
    fn after(text: &str, passage: &Passage, style: Style) -> String {
        let block = block(text);
        let respelled = respell(&block, passage, style).unwrap();
        block.edited(&respelled.edits).unwrap().text.to_string()
    }

    /// Respells all the music under a header.
    fn check(header: &str, music: &str, expected: &str) {
        let text = format!("X:1\nL:1/4\n{header}\n{music}\n");
        let wanted = format!("X:1\nL:1/4\n{header}\n{expected}\n");
        assert_eq!(after(&text, &Passage::Tune, Style::Best), wanted);
    }

    #[test]
    fn the_best_names_whatever_is_typed() {
        check("K:C", "[E_AB]2 c2|", "[E^GB]2 c2|");
        check("K:Am", "[E_AB]2 =A2|_B,A,2_A,|", "[E^GB]2 =A2|_B,A,2^G,|");
    }

    #[test]
    fn tied_notes_and_those_that_leaned_on_them() {
        check("K:Am", "E2_A2-|A_A=AE|", "E2^G2-|G^G=AE|");
    }

    #[test]
    fn at_every_reach() {
        let header = |reach| format!("%%propagate-accidentals {reach}\nK:Am");
        check(&header("not"), "E_A_Ae|", "E^G^Ge|");
        check(&header("octave"), "E_Aae|", "E^Gae|");
        check(&header("pitch"), "E_Aae|", "E^Gge|");
    }

    #[test]
    fn a_transposing_part_is_heard_at_concert_pitch() {
        // A clarinet in B flat that sounds E, G sharp, B.
        check("V:1 transpose=-2\nK:none", "[^F_B^c]2 =B2|", "[^F^A^c]2 =B2|");
    }

    #[test]
    fn percussion_and_macros_are_left() {
        check("V:1 clef=perc\nK:C", "[E_AB]2 c2|", "[E_AB]2 c2|");
        check("m:~E2=[E_AB]2\nK:C", "~E2 c2|[E_AB]2c2|", "~E2 c2|[E^GB]2c2|");
    }

    #[test]
    fn a_part_of_the_tune() {
        let text = "X:1\nL:1/4\nV:1\nV:2\nK:C\n[V:1][E_AB]2c2|[E_AB]2c2|\n[V:2]E_AB2|c4|\n";
        let bars = |voices: Vec<usize>, bars| Passage::Bars { voices, bars };
        let first = "[V:1][E^GB]2c2|[E_AB]2c2|\n[V:2]E_AB2|";
        assert!(after(text, &bars(vec![0], 0..=0), Style::Best).contains(first));
        let second = "[V:1][E_AB]2c2|[E_AB]2c2|\n[V:2]E^GB2|";
        assert!(after(text, &bars(vec![1], 0..=9), Style::Best).contains(second));
        let at = text.rfind("_A").unwrap();
        assert!(after(text, &Passage::Typed(at..at + 1), Style::Best).contains(second));
        assert_eq!(after(text, &Passage::Typed(at + 2..at + 3), Style::Best), text);
    }

    #[test]
    fn flats_and_sharps() {
        let text = "X:1\nL:1/4\nK:C\n^C_E^EF|F^F2G|\n";
        let all = |style| after(text, &Passage::Tune, style);
        assert_eq!(all(Style::Flats), text.replace("^C_E", "_D_E").replace("^F2G", "_G2=G"));
        assert_eq!(all(Style::Sharps), text.replace("^C_E^E", "^C^D^E"));
    }

    #[test]
    fn what_was_done_is_told() {
        let block = block("X:1\nK:C\n[E_AB]2c2|[E_AB]2c2|\n");
        let respelled = respell(&block, &Passage::Tune, Style::Best).unwrap();
        let name = |name: &str| name.parse::<PitchName>().unwrap();
        assert_eq!((respelled.notes, respelled.names), (2, vec![(name("Ab"), name("G#"))]));
    }
}
