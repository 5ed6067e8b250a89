//! What a voice's name says: the instruments, how many play, and what they change to.

use super::desk::{same_desk, same_family};
use super::{Divisi, Players};
use recte_theory::instruments::{Family, Found, Instrument, Roster};

/// What a name says.
#[derive(Clone, Debug, Default)]
pub(super) struct Label<'r> {
    /// As typed.
    pub(super) text: String,
    /// The instruments it may mean to begin with.
    pub(super) candidates: Vec<&'r Instrument>,
    /// Those that its player changes to.
    pub(super) doubles: Vec<&'r Instrument>,
    /// Numbers of players, or how many there are.
    count: Option<u8>,
    /// Whether they are desks of two.
    desks: bool,
    solo: bool,
    plural: bool,
}

impl Label<'_> {
    /// So many voices share the players.
    pub(super) fn shared_by(&mut self, voices: usize) {
        let each = |count: u8| (usize::from(count) / voices.max(1)).clamp(1, 255) as u8;
        self.count = self.count.map(each);
        self.plural &= self.count.is_none();
    }

    /// How many play an instrument under this name.
    pub(super) fn players(&self, instrument: &Instrument, orchestra: bool) -> Players {
        let choir = ["choir-", "children-choir", "congregation"];
        let choir = choir.iter().any(|part| instrument.id.starts_with(part));
        let several = match self.count {
            Some(count) if self.desks => Some(count.saturating_mul(2)),
            count => count.filter(|count| *count > 1),
        };
        let section = Players::Section(Divisi::Open);
        match instrument.family {
            _ if self.solo => several.filter(|_| !choir).map_or(Players::One, Players::Several),
            Family::Strings => match several {
                Some(count) if self.desks || self.counted() => Players::Several(count),
                _ if self.plural || orchestra => section,
                Some(count) => Players::Several(count),
                None => Players::One,
            },
            Family::Voice if choir || self.plural => section,
            Family::Voice | Family::Percussion => Players::One,
            _ => match several {
                Some(count) => Players::Several(count),
                None if self.plural && self.count.is_none() => section,
                None => Players::One,
            },
        }
    }

    /// Whether the number stands before the name and so counts the players: "2 Violins" and not "Violins 1, 2".
    fn counted(&self) -> bool {
        self.text.trim_start().starts_with(|c: char| c.is_ascii_digit())
    }
}

/// Names of several players at once, folded; a plain "s" is not looked at in names that have no singular.
const PLURALS: [&str; 60] = [
    "flutes",
    "piccolos",
    "oboes",
    "clarinets",
    "bassoons",
    "saxophones",
    "saxes",
    "horns",
    "trumpets",
    "cornets",
    "trombones",
    "tubas",
    "euphoniums",
    "harps",
    "guitars",
    "violins",
    "violas",
    "cellos",
    "basses",
    "sopranos",
    "altos",
    "tenors",
    "baritones",
    "recorders",
    "flauti",
    "oboi",
    "clarinetti",
    "fagotti",
    "corni",
    "trombe",
    "tromboni",
    "tube",
    "arpe",
    "violini",
    "viole",
    "violoncelli",
    "celli",
    "contrabbassi",
    "contrabassi",
    "bassi",
    "soprani",
    "alti",
    "tenori",
    "floten",
    "flöten",
    "oboen",
    "klarinetten",
    "fagotte",
    "hörner",
    "trompeten",
    "posaunen",
    "violinen",
    "geigen",
    "bratschen",
    "kontrabässe",
    "clarinettes",
    "trompettes",
    "violons",
    "pianos",
    "vlns",
];

/// Plurals that the table does not have, and their singulars.
const SINGULARS: [(&str, &str); 16] = [
    ("flauti", "flauto"),
    ("flöten", "flöte"),
    ("oboi", "oboe"),
    ("oboen", "oboe"),
    ("clarinetti", "clarinetto"),
    ("klarinetten", "klarinette"),
    ("fagotti", "fagotto"),
    ("fagotte", "fagott"),
    ("hörner", "horn"),
    ("trombe", "tromba"),
    ("trompeten", "trompete"),
    ("violini", "violino"),
    ("violinen", "violine"),
    ("geigen", "geige"),
    ("bratschen", "bratsche"),
    ("contrabbassi", "contrabbasso"),
];

/// Lower case; letters and digits, each run a word: "a2" is two.
pub(super) fn words(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    let mut kind = 0;
    for c in text.chars().flat_map(char::to_lowercase) {
        let next = match c {
            '0'..='9' => 1,
            '♭' | '♯' => 2,
            c if c.is_alphabetic() => 2,
            _ => 0,
        };
        if next != 0 && next != kind {
            all.push(String::new());
        }
        if let Some(word) = all.last_mut().filter(|_| next != 0) {
            word.push(c);
        }
        kind = next;
    }
    all
}

/// A player's number.
pub(super) fn number(word: &str) -> Option<u8> {
    const ROMAN: [&str; 8] = ["i", "ii", "iii", "iv", "v", "vi", "vii", "viii"];
    let roman = ROMAN.iter().position(|roman| *roman == word).map(|place| place as u8 + 1);
    roman.or_else(|| word.parse().ok()).filter(|number| (1..=32).contains(number))
}

/// How many different numbers are named, spans counted out: "1.2", "I & II", "1-3".
pub(super) fn numbers(text: &str) -> u8 {
    let mut named: Vec<u8> = Vec::new();
    let mut rest = text.to_lowercase();
    rest = rest.replace(['–', '—'], "-");
    for piece in rest.split([' ', ',', '.', '&', '+', '/', '(', ')', ';']) {
        let ends: Vec<Option<u8>> = piece.split('-').map(number).collect();
        match ends.as_slice() {
            [Some(one)] => named.push(*one),
            [Some(from), Some(to)] if from < to => named.extend(*from..=*to),
            _ => {}
        }
    }
    named.sort_unstable();
    named.dedup();
    named.len().min(255) as u8
}

/// What a name says; no candidates where it names nothing that is known.
pub(super) fn read_label<'r>(text: &str, roster: &'r Roster) -> Label<'r> {
    let mut label = Label { text: text.trim().to_owned(), ..Label::default() };
    if label.text.is_empty() {
        return label;
    }
    if !label.text.contains('/') {
        label.candidates = find(&label.text, roster).all();
    }
    if label.candidates.is_empty() {
        (label.candidates, label.doubles) = doubling(&label.text, roster);
    }
    if label.candidates.is_empty() {
        label.candidates = find(&label.text, roster).all();
    }
    if label.candidates.is_empty() {
        return label;
    }
    with_choirs(&mut label, roster);
    let words = words(&label.text);
    let has = |word: &str| words.iter().any(|own| own == word);
    label.solo = has("solo") || has("soli");
    label.desks =
        ["desk", "desks", "pult", "pulte", "leggio", "leggii"].iter().any(|word| has(word));
    label.plural = words.iter().any(|word| PLURALS.contains(&word.as_str()));
    label.count = count(&label.text, &words);
    label
}

/// "2 Flutes", "Horns 1.2", "Tr. a 2".
fn count(text: &str, words: &[String]) -> Option<u8> {
    if let [first, second, ..] = words
        && let Ok(count) = first.parse::<u8>()
        && number(second).is_none()
        && text.trim_start().trim_start_matches(|c: char| c.is_ascii_digit()).starts_with(' ')
    {
        return Some(count);
    }
    // "Clarinet in A 2" is the second of them.
    for three in words.windows(3) {
        if matches!(three[1].as_str(), "a" | "à" | "zu")
            && three[0] != "in"
            && let Ok(count) = three[2].parse::<u8>()
            && (2..=8).contains(&count)
        {
            return Some(count);
        }
    }
    Some(numbers(text)).filter(|numbers| *numbers > 0)
}

/// The instrument of a name, plurals of several languages understood.
pub(super) fn find<'r>(text: &str, roster: &'r Roster) -> Found<'r> {
    let found = roster.find(text);
    if found != Found::None {
        return found;
    }
    let plain =
        ["desks", "desk", "pulte", "pult", "leggii", "leggio", "soli", "div.", "a 2", "zu 2"];
    let mut simpler = text.to_lowercase();
    for word in plain {
        simpler = simpler.replace(word, " ");
    }
    for (plural, singular) in SINGULARS {
        simpler = simpler.replace(plural, singular);
    }
    let found = if simpler.trim().is_empty() { Found::None } else { roster.find(&simpler) };
    if found == Found::None { organ(text, roster) } else { found }
}

/// "Organ Pedal", "Organ (Swell)".
fn organ<'r>(text: &str, roster: &'r Roster) -> Found<'r> {
    let words = words(text);
    let (parts, rest): (Vec<&String>, Vec<&String>) =
        words.iter().partition(|word| PEDALS.contains(&&***word) || MANUALS.contains(&&***word));
    if parts.is_empty() || rest.is_empty() {
        return Found::None;
    }
    let rest: Vec<&str> = rest.into_iter().map(String::as_str).collect();
    match roster.find(&rest.join(" ")) {
        Found::One(organ) if organ.pedalboard.is_some() => Found::One(organ),
        _ => Found::None,
    }
}

/// What the keys for the feet are called.
const PEDALS: [&str; 8] =
    ["pedal", "pedals", "ped", "pédale", "pédalier", "pedale", "pedaliera", "orgelpedal"];
/// What the keys for the hands are called, beside pedals.
const MANUALS: [&str; 16] = [
    "manual",
    "manuals",
    "man",
    "manuale",
    "manuali",
    "manuel",
    "manuels",
    "great",
    "swell",
    "hauptwerk",
    "oberwerk",
    "schwellwerk",
    "rückpositiv",
    "positif",
    "récit",
    "manualiter",
];

/// Whether a name says that the feet play: "Pedal", "Org. Ped.".
pub fn is_for_the_feet(name: &str) -> bool {
    words(name).iter().any(|word| PEDALS.contains(&word.as_str()))
}

/// A pedal beside manuals, or beside an organ, is an organ's; each alone says nothing.
pub(super) fn parts_of_an_organ<'r>(labels: &mut [Label<'r>], roster: &'r Roster) {
    let says_manual =
        |text: &str| words(text).iter().all(|w| MANUALS.contains(&&**w) || number(w).is_some());
    let manual = |label: &Label<'_>| !label.text.is_empty() && says_manual(&label.text);
    let organ = |label: &Label<'_>| label.candidates.iter().any(|one| one.pedalboard.is_some());
    let feet = |label: &Label<'_>| label.candidates.is_empty() && is_for_the_feet(&label.text);
    if !labels.iter().any(feet) || !labels.iter().any(|label| organ(label) || manual(label)) {
        return;
    }
    for label in labels {
        if label.candidates.is_empty() && (feet(label) || manual(label)) {
            let organs = roster.instruments().iter().filter(|one| one.pedalboard.is_some());
            label.candidates = organs.collect();
        }
    }
}

/// "Fl./Picc.", "Flute (doubling piccolo)", "Oboe & English Horn": what comes first, and what else its player takes.
fn doubling<'r>(text: &str, roster: &'r Roster) -> (Vec<&'r Instrument>, Vec<&'r Instrument>) {
    let mut plain = format!(" {} ", text.to_lowercase());
    let doubled = ["doubling", "doubles", "also", "muta in", "auch", "anche"];
    let mut joined = plain.contains('/');
    for word in doubled {
        joined |= plain.contains(word);
        plain = plain.replace(word, "/");
    }
    for word in [" and ", " und ", " u. ", " et ", " e ", " ed "] {
        plain = plain.replace(word, "/");
    }
    let parts = plain.split(['/', '&', '+', ',', ';', '(', ')', '[', ']']);
    let parts = parts.map(str::trim).filter(|part| part.chars().any(char::is_alphabetic));
    let parts: Vec<&str> =
        parts.filter(|part| number(part.trim_end_matches('.')).is_none()).collect();
    let [first, others @ ..] = parts.as_slice() else { return Default::default() };
    let mut candidates = find(first, roster).all();
    let mut doubles = Vec::new();
    for part in others {
        let found = find(part, roster).all();
        let fits = |a: &&'r Instrument| {
            candidates.iter().any(|b| same_desk(a, b) || joined && same_family(a, b))
        };
        let mut fitting: Vec<&Instrument> = found.into_iter().filter(fits).collect();
        // Two players on one staff, or something that is no instrument.
        if fitting.len() != 1 {
            return Default::default();
        }
        doubles.append(&mut fitting);
    }
    if others.is_empty() {
        return Default::default();
    }
    candidates.retain(|a| doubles.iter().all(|b| same_desk(a, b) || joined && same_family(a, b)));
    (candidates, doubles)
}

/// "Soprano" may be a soloist or all the sopranos of a choir: the other voices tell.
fn with_choirs<'r>(label: &mut Label<'r>, roster: &'r Roster) {
    if words(&label.text).iter().any(|word| word == "solo") {
        return;
    }
    let mut choirs = Vec::new();
    for one in &label.candidates {
        let choir = match one.id.as_str() {
            "soprano" => "choir-soprano",
            "mezzo-soprano" => "choir-mezzo",
            "contralto" => "choir-alto",
            "tenor" => "choir-tenor",
            "baritone" => "choir-baritone",
            "bass" => "choir-bass",
            _ => continue,
        };
        let known = label.candidates.iter().any(|known| known.id == choir);
        choirs.extend(roster.by_id(choir).filter(|_| !known));
    }
    label.candidates.extend(choirs);
}
