//! Which instrument a label in a score means: "Vln. 1", "2nd Horn in F", "Clarinet in A".
//!
//! Prefer silence to a wrong guess: a label that several instruments share names them all, and one
//! that is not understood names none.

use super::{Instrument, ambiguous_labels, by_id, instruments};
use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

/// What a label means.
#[derive(Clone, PartialEq, Debug)]
pub enum Found {
    /// Just one instrument.
    One(&'static Instrument),
    /// One of several; see [`choose`].
    Several(Vec<&'static Instrument>),
    /// Nothing in the table.
    None,
}

/// Every name in the table, folded, with the instruments it may mean.
static INDEX: LazyLock<HashMap<String, Vec<&'static Instrument>>> = LazyLock::new(|| {
    let mut index: HashMap<String, Vec<&'static Instrument>> = HashMap::new();
    for instrument in instruments() {
        let own = [&instrument.id, &instrument.name];
        let keys: HashSet<String> =
            own.into_iter().chain(&instrument.names).map(|name| fold(name)).collect();
        for key in keys {
            index.entry(key).or_default().push(instrument);
        }
    }
    for label in ambiguous_labels() {
        let entry = index.entry(fold(&label.label)).or_default();
        for candidate in label.candidates.iter().filter_map(|id| by_id(id)) {
            if !entry.contains(&candidate) {
                entry.push(candidate);
            }
        }
    }
    index
});

/// The instrument that a label names: by id, name or abbreviation in several languages, in any
/// case and with or without accents, players' numbers ("1", "II", "2nd"), "solo" and the key
/// ("in B♭") being understood. A key that the instrument is not built in names none.
pub fn find(label: &str) -> Found {
    let label = label.trim();
    if let Some(exact) = exactly(label) {
        return Found::One(exact);
    }
    let folded = fold(label);
    if let Some(found) = look_up(&folded) {
        return several(found);
    }
    let words: Vec<&str> = folded.split(' ').filter(|word| !is_decoration(word)).collect();
    let plain = words.join(" ");
    if let Some(found) = look_up(&plain) {
        return several(found);
    }
    match without_key(&words) {
        Some((key, rest)) => several(
            look_up(&rest)
                .unwrap_or_default()
                .into_iter()
                .filter(|instrument| built_in(instrument) == Some(key))
                .collect(),
        ),
        None => Found::None,
    }
}

/// The one instrument that has this very name, sign for sign, unless the label is a known trap.
fn exactly(label: &str) -> Option<&'static Instrument> {
    let lower = label.to_lowercase();
    if ambiguous_labels().iter().any(|known| known.label.to_lowercase() == lower) {
        return None;
    }
    let named =
        |i: &&Instrument| i.id == label || i.name == label || i.names.iter().any(|n| n == label);
    let mut found = instruments().iter().filter(named);
    let first = found.next()?;
    found.next().is_none().then_some(first)
}

fn several(found: Vec<&'static Instrument>) -> Found {
    match found.as_slice() {
        [] => Found::None,
        [one] => Found::One(one),
        _ => Found::Several(found),
    }
}

/// The folded name as it is, or in the singular.
fn look_up(folded: &str) -> Option<Vec<&'static Instrument>> {
    if let Some(found) = INDEX.get(folded) {
        return Some(found.clone());
    }
    let singular = |word: &str| match word.strip_suffix('s') {
        Some(stem) if stem.len() >= 3 => stem.to_owned(),
        _ => word.to_owned(),
    };
    let words: Vec<String> = folded.split(' ').map(singular).collect();
    INDEX.get(&words.join(" ")).cloned()
}

/// Lower case, without accents and points, hyphens and brackets as spaces, "B♭" and "B-flat" as "bb".
fn fold(text: &str) -> String {
    let mut plain = String::new();
    for c in text.chars().flat_map(char::to_lowercase) {
        match c {
            'à' | 'á' | 'â' | 'ä' | 'ã' => plain.push('a'),
            'è' | 'é' | 'ê' | 'ë' => plain.push('e'),
            'ì' | 'í' | 'î' | 'ï' => plain.push('i'),
            'ò' | 'ó' | 'ô' | 'ö' | 'õ' => plain.push('o'),
            'ù' | 'ú' | 'û' | 'ü' => plain.push('u'),
            'ç' => plain.push('c'),
            'ñ' => plain.push('n'),
            'ß' => plain.push_str("ss"),
            'œ' => plain.push_str("oe"),
            'æ' => plain.push_str("ae"),
            '♭' => plain.push('b'),
            '♯' => plain.push('#'),
            // A combining accent follows its letter.
            '\u{300}'..='\u{36f}' | '\'' | '’' => {}
            c if c.is_alphanumeric() || c == '#' => plain.push(c),
            _ => plain.push(' '),
        }
    }
    let mut words: Vec<String> = Vec::new();
    for word in plain.split_whitespace() {
        match (word, words.last_mut()) {
            ("flat", Some(letter)) if letter.len() == 1 => letter.push('b'),
            ("sharp", Some(letter)) if letter.len() == 1 => letter.push('#'),
            _ => words.push(word.to_owned()),
        }
    }
    words.join(" ")
}

/// A player's number, or a word that does not change the instrument.
fn is_decoration(word: &str) -> bool {
    const WORDS: [&str; 22] = [
        "i",
        "ii",
        "iii",
        "iv",
        "v",
        "vi",
        "1st",
        "2nd",
        "3rd",
        "4th",
        "first",
        "second",
        "third",
        "fourth",
        "solo",
        "tutti",
        "div",
        "principal",
        "primo",
        "secondo",
        "section",
        "a2",
    ];
    word.bytes().all(|b| b.is_ascii_digit()) || WORDS.contains(&word)
}

/// "horn in f", "horn f", "f horn" as the pitch class of the key and the rest.
fn without_key(words: &[&str]) -> Option<(i32, String)> {
    match words {
        [rest @ .., "in", key] | [rest @ .., key] if key_class(key).is_some() => {
            Some((key_class(key)?, rest.join(" ")))
        }
        [key, rest @ ..] => Some((key_class(key)?, rest.join(" "))),
        [] => None,
    }
}

/// The pitch class of a key name as folded: "bb" is 10.
fn key_class(word: &str) -> Option<i32> {
    let mut chars = word.chars();
    let name: String = chars.next()?.to_uppercase().chain(chars).collect();
    let name: crate::pitch::PitchName = name.parse().ok()?;
    (name.alter.abs() <= 1).then(|| i32::from(name.pitch_class()))
}

/// The pitch class heard when C is written.
fn built_in(instrument: &Instrument) -> Option<i32> {
    instrument.transposition.map(|t| t.chromatic.rem_euclid(12))
}

/// The name in the table that a label not found there is most like, if any is near enough.
pub fn nearest(label: &str) -> Option<&'static str> {
    let folded = fold(label);
    if folded.chars().count() < 4 {
        return None;
    }
    let allowed = (folded.chars().count() / 4).clamp(1, 3);
    let names = instruments().iter().flat_map(|i| std::iter::once(&i.id).chain(&i.names));
    names
        .map(|name| (strsim::damerau_levenshtein(&folded, &fold(name)), name.as_str()))
        .filter(|(distance, _)| *distance <= allowed)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// The one candidate that the clef ("bass", "treble-8") and the transposition in semitones leave,
/// if they leave just one.
pub fn choose(
    candidates: &[&'static Instrument],
    clef: Option<&str>,
    transpose: Option<i32>,
) -> Option<&'static Instrument> {
    let reads = |i: &Instrument| {
        clef.is_none_or(|clef| {
            let other = i.alternative_transpositions.iter().any(|a| a.clef == clef);
            other || i.clefs.iter().any(|known| known == clef)
        })
    };
    let sounds = |i: &Instrument| {
        transpose.is_none_or(|semitones| {
            let usual = i.transposition.is_some_and(|t| t.chromatic == semitones);
            let fits = |a: &super::Alternative| {
                a.transposition.chromatic == semitones && clef.is_none_or(|clef| clef == a.clef)
            };
            usual || i.alternative_transpositions.iter().any(fits)
        })
    };
    let mut left = candidates.iter().copied().filter(|i| reads(i) && sounds(i));
    let first = left.next()?;
    left.next().is_none().then_some(first)
}
