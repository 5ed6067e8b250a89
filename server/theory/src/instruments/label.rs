//! Which instrument a label in a score means: "Vln. 1", "2nd Horn in F", "Clarinet in A".
//!
//! Prefer silence to a wrong guess: a label that several instruments share names them all, and one
//! that is not understood names none.

use super::own::Row;
use super::{AmbiguousLabel, Family, Instrument, Roster};
use crate::pitch::PitchName;
use serde_json::Value;
use std::collections::{HashMap, HashSet};

/// What a label means.
#[derive(Clone, PartialEq, Debug)]
pub enum Found<'r> {
    /// Just one instrument.
    One(&'r Instrument),
    /// One of several; see [`choose`].
    Several(Vec<&'r Instrument>),
    /// Nothing in the table.
    None,
}

impl<'r> Found<'r> {
    /// All that it may be.
    pub fn all(self) -> Vec<&'r Instrument> {
        match self {
            Found::One(one) => vec![one],
            Found::Several(all) => all,
            Found::None => Vec::new(),
        }
    }
}

/// Every name of a roster with the places of the instruments it may mean.
#[derive(Default)]
pub(super) struct Index {
    folded: HashMap<String, Vec<usize>>,
    exact: HashMap<String, Vec<usize>>,
    /// Labels that are known to be ambiguous, in small letters.
    traps: HashSet<String>,
}

impl Index {
    pub(super) fn of(instruments: &[Instrument], labels: &[AmbiguousLabel], own: &[Row]) -> Index {
        let mut index = Index::default();
        let place = |id: &str| instruments.iter().position(|known| known.id == id);
        for (place, instrument) in instruments.iter().enumerate() {
            let all = [&instrument.id, &instrument.name].into_iter().chain(&instrument.names);
            all.for_each(|name| index.add(name, place));
        }
        for label in labels {
            index.traps.insert(label.label.to_lowercase());
            let entry = index.folded.entry(fold(&label.label)).or_default();
            for candidate in label.candidates.iter().filter_map(|id| place(id)) {
                if !entry.contains(&candidate) {
                    entry.push(candidate);
                }
            }
        }
        // A name that a user gives means what the user says.
        let mut given: HashMap<String, Vec<usize>> = HashMap::new();
        for row in own {
            let Some(place) = row.get("id").and_then(Value::as_str).and_then(place) else {
                continue;
            };
            let names = row.get("names").and_then(Value::as_array).into_iter().flatten();
            let names = names.chain(row.get("name")).chain(row.get("id")).filter_map(Value::as_str);
            for name in names {
                index.exact.insert(name.to_owned(), vec![place]);
                index.traps.remove(&name.to_lowercase());
                let places = given.entry(fold(name)).or_default();
                if !places.contains(&place) {
                    places.push(place);
                }
            }
        }
        index.folded.extend(given);
        index
    }

    fn add(&mut self, name: &str, place: usize) {
        let folded = self.folded.entry(fold(name)).or_default();
        if !folded.contains(&place) {
            folded.push(place);
        }
        let exact = self.exact.entry(name.to_owned()).or_default();
        if !exact.contains(&place) {
            exact.push(place);
        }
    }
}

impl Roster {
    /// The instrument that a label names: by id, name or abbreviation in several languages, in any
    /// case and with or without accents, players' numbers ("1", "II", "2nd"), "solo" and the key
    /// ("in B♭") being understood. A key that the instrument is not built in names none.
    pub fn find(&self, label: &str) -> Found<'_> {
        let label = label.trim();
        if let Some(exact) = self.exactly(label) {
            return Found::One(exact);
        }
        let folded = fold(label);
        if let Some(found) = self.look_up(&folded) {
            return several(found);
        }
        let words: Vec<&str> = folded.split(' ').filter(|word| !is_decoration(word)).collect();
        let plain = words.join(" ");
        if let Some(found) = self.look_up(&plain) {
            return several(found);
        }
        let Some((key, rest)) = without_key(&words) else { return Found::None };
        let mut built: Vec<&Instrument> = Vec::new();
        for one in self.look_up(&rest).unwrap_or_default() {
            let fits = Some(one).filter(|one| built_in(one) == Some(key));
            let fits = fits.or_else(|| self.in_key(one, key));
            built.extend(fits.filter(|one| !built.contains(one)));
        }
        several(built)
    }

    /// The same kind of wind instrument built in another key, by the pitch class that sounds when C is read.
    pub fn in_key(&self, one: &Instrument, key: i32) -> Option<&Instrument> {
        let other = |other: &&Instrument| kind(other) == kind(one) && built_in(other) == Some(key);
        one.comes_in_keys().then(|| self.instruments().iter().find(other))?
    }

    /// The one instrument that has this very name, sign for sign, unless the label is a known trap.
    fn exactly(&self, label: &str) -> Option<&Instrument> {
        let [place] = self.index().exact.get(label)?.as_slice() else { return None };
        let trap = self.index().traps.contains(&label.to_lowercase());
        self.instruments().get(*place).filter(|_| !trap)
    }

    /// The folded name as it is, or in the singular.
    fn look_up(&self, folded: &str) -> Option<Vec<&Instrument>> {
        let found = |name: &str| {
            let places = self.index().folded.get(name)?;
            Some(places.iter().filter_map(|place| self.instruments().get(*place)).collect())
        };
        let singular = |word: &str| match word.strip_suffix('s') {
            Some(stem) if stem.len() >= 3 => stem.to_owned(),
            _ => word.to_owned(),
        };
        found(folded).or_else(|| {
            let words: Vec<String> = folded.split(' ').map(singular).collect();
            found(&words.join(" "))
        })
    }

    /// Those of which one name has each of these words, or words that begin so; in score order.
    pub fn search(&self, text: &str) -> Vec<&Instrument> {
        let folded = fold(text);
        let wanted: Vec<&str> = folded.split(' ').filter(|word| !word.is_empty()).collect();
        let has = |name: &str| {
            let name = fold(name);
            wanted.iter().all(|word| name.split(' ').any(|own| own.starts_with(word)))
        };
        let fits = |i: &&Instrument| {
            // What stands in brackets after a name is no name.
            let name = i.name.split(" (").next().unwrap_or_default();
            let mut names = i.names.iter().map(String::as_str).chain([i.id.as_str(), name]);
            !wanted.is_empty() && names.any(has)
        };
        self.instruments().iter().filter(fits).collect()
    }

    /// The name in the roster that a label not found there is most like, if any is near enough.
    pub fn nearest(&self, label: &str) -> Option<&str> {
        let folded = fold(label);
        if folded.chars().count() < 4 {
            return None;
        }
        let allowed = (folded.chars().count() / 4).clamp(1, 3);
        let names = self.instruments().iter().flat_map(|i| std::iter::once(&i.id).chain(&i.names));
        names
            .map(|name| (strsim::damerau_levenshtein(&folded, &fold(name)), name.as_str()))
            .filter(|(distance, _)| *distance <= allowed)
            .min_by_key(|(distance, _)| *distance)
            .map(|(_, name)| name)
    }
}

fn several(found: Vec<&Instrument>) -> Found<'_> {
    match found.as_slice() {
        [] => Found::None,
        [one] => Found::One(one),
        _ => Found::Several(found),
    }
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
            // "R.H.", "L.H.": a hand of the piano.
            ("h", Some(side)) if side == "r" || side == "l" => side.push('h'),
            ("sharp", Some(letter)) if letter.len() == 1 => letter.push('#'),
            _ => words.push(word.to_owned()),
        }
    }
    words.join(" ")
}

/// A player's number, or a word that does not change the instrument.
fn is_decoration(word: &str) -> bool {
    const WORDS: [&str; 29] = [
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
        "rh",
        "lh",
        "right",
        "left",
        "hand",
        "upper",
        "lower",
    ];
    word.bytes().all(|b| b.is_ascii_digit()) || WORDS.contains(&word)
}

/// "horn in f", "horn f", "f horn", "clar sib" as the pitch class of the key and the rest.
fn without_key(words: &[&str]) -> Option<(i32, String)> {
    match words {
        [rest @ .., "in" | "en", key] if key_class(key).is_some() => {
            Some((key_class(key)?, rest.join(" ")))
        }
        [rest @ .., key] if key_class(key).is_some() => Some((key_class(key)?, rest.join(" "))),
        [key, rest @ ..] => Some((key_class(key)?, rest.join(" "))),
        [] => None,
    }
}

/// The pitch class of a key that stands alone, in four languages: "A", "in B♭", "Sib", "La", "Es". A wind player's
/// "B" is B flat, and "H" is B.
pub fn key_class(name: &str) -> Option<i32> {
    let name = name.strip_prefix("in ").or_else(|| name.strip_prefix("en ")).unwrap_or(name);
    let plain = name.trim_end_matches('.').to_lowercase().replace('♭', "b").replace('♯', "#");
    let plain = plain.replace([' ', '-'], "").replace("bemolle", "b").replace("bémol", "b");
    let plain = plain.replace("flat", "b").replace("sharp", "#");
    let class = match plain.as_str() {
        "b" | "bb" | "sib" => 10,
        "h" => 11,
        "es" | "mib" => 3,
        "as" | "lab" => 8,
        "des" | "reb" | "réb" => 1,
        "ges" | "solb" => 6,
        "do" | "ut" => 0,
        "re" | "ré" => 2,
        "mi" => 4,
        "fa" => 5,
        "sol" => 7,
        "la" => 9,
        "si" => 11,
        letter if letter.len() <= 2 => {
            let mut chars = letter.chars();
            let upper: String = chars.next()?.to_uppercase().chain(chars).collect();
            i32::from(upper.parse::<PitchName>().ok()?.pitch_class())
        }
        _ => return None,
    };
    Some(class)
}

/// "clarinet" of "clarinet-in-a".
fn kind(one: &Instrument) -> &str {
    one.id.split("-in-").next().unwrap_or(&one.id)
}

impl Instrument {
    /// Whether it is the same kind of instrument as another, in whatever key.
    pub fn is_kind_of(&self, other: &Instrument) -> bool {
        kind(self) == kind(other) && self.family == other.family
    }

    /// Whether it is a wind instrument whose name says in which key it is built.
    pub fn comes_in_keys(&self) -> bool {
        matches!(self.family, Family::Woodwind | Family::Brass)
            && (self.id.contains("-in-") || kind(self).starts_with("natural-"))
    }
}

/// The pitch class heard when C is written.
fn built_in(instrument: &Instrument) -> Option<i32> {
    instrument.transposition.map(|t| t.chromatic.rem_euclid(12))
}

/// The one candidate that the clef ("bass", "treble-8") and the transposition in semitones leave,
/// if they leave just one.
pub fn choose<'r>(
    candidates: &[&'r Instrument],
    clef: Option<&str>,
    transpose: Option<i32>,
) -> Option<&'r Instrument> {
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
