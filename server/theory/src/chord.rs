//! Chords: the table of qualities, and naming a set of spelled pitches.
//!
//! The table is `data/chords.csv`; each row names its source (triads, sevenths and augmented sixths
//! after Open Music Theory; chord symbols after J. Chambers' ABC tutorial; the rest as marked).
//! A chord is told by its *spelled* intervals: A♭ C E♭ F♯ is a German sixth, A♭ C E♭ G♭ is A♭7.

use crate::interval::Interval;
use crate::pitch::{Pitch, PitchName};
use std::collections::{BTreeSet, HashSet};
use std::fmt;
use std::sync::LazyLock;

/// The families of the table.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[allow(missing_docs)]
pub enum Family {
    Triad,
    Dyad,
    Suspended,
    Seventh,
    Sixth,
    Added,
    Ninth,
    Eleventh,
    Thirteenth,
    AlteredDominant,
    AugmentedSixth,
    Quartal,
    Cluster,
    ScaleChord,
    Polychord,
    Other,
}

impl Family {
    fn from_table(text: &str) -> Family {
        match text {
            "triad" => Family::Triad,
            "dyad" => Family::Dyad,
            "sus" => Family::Suspended,
            "seventh" => Family::Seventh,
            "sixth" => Family::Sixth,
            "add" => Family::Added,
            "ninth" => Family::Ninth,
            "eleventh" => Family::Eleventh,
            "thirteenth" => Family::Thirteenth,
            "altered dominant" => Family::AlteredDominant,
            "augmented sixth" => Family::AugmentedSixth,
            "quartal" | "quintal" => Family::Quartal,
            "cluster" => Family::Cluster,
            "scale-chord" => Family::ScaleChord,
            "polychord" => Family::Polychord,
            _ => Family::Other,
        }
    }

    /// Whether chords of this family are named by their notes in any order above the bass.
    fn can_be_inverted(self) -> bool {
        !matches!(
            self,
            Family::AugmentedSixth
                | Family::Quartal
                | Family::Cluster
                | Family::ScaleChord
                | Family::Polychord
                | Family::Other
        )
    }

    /// Whether the spacing makes the chord: fourths piled up are quartal only as a pile.
    fn is_spaced(self) -> bool {
        matches!(self, Family::Quartal | Family::Polychord)
    }
}

/// A row of the chord table.
#[derive(PartialEq, Eq, Hash, Debug)]
pub struct Quality {
    /// Its name: "minor triad", "dominant seventh".
    pub name: String,
    /// Its family.
    pub family: Family,
    /// Intervals above the root (augmented sixths: above the bass), starting with the unison.
    pub intervals: Vec<Interval>,
    /// What follows the root in a chord symbol: "" for major, "m7", "7♭5"; none where the trade
    /// has no symbol (clusters, augmented sixths).
    pub symbol: Option<String>,
    /// Every way the symbol is typed after the root, with `#` and `b`: "", "M", "maj".
    pub typed: Vec<String>,
    /// A short label where there is no symbol: "Ger+6".
    pub label: Option<String>,
    /// A remark on its use; may be empty.
    pub note: String,
    /// Where the row comes from.
    pub source: String,
    /// Place in the table, commonest first.
    pub order: usize,
    /// The names on the line of fifths, as bits around [`ROOT`].
    fifths: u128,
    /// The sounds above the root, as twelve bits.
    classes: u16,
}

impl Quality {
    /// The names of its notes above a root, in the order of the intervals.
    pub fn names_on(&self, root: PitchName) -> Vec<PitchName> {
        let name = |i: &Interval| PitchName::from_fifths(root.fifths() + i.fifths());
        self.intervals.iter().map(name).collect()
    }

    /// Whether it is a pile of thirds: no note left out, none suspended.
    pub fn is_tertian(&self) -> bool {
        self.intervals.iter().zip(0..).all(|(i, third)| i.steps == 2 * third)
    }
}

/// The bit of the root in a set of names.
const ROOT: i32 = 64;

/// The bit of a name so many fifths from the root; none beyond the names in use.
fn bit(fifths: i32) -> u128 {
    u32::try_from(ROOT + fifths).ok().and_then(|n| 1u128.checked_shl(n)).unwrap_or(0)
}

/// One row of the file, as typed.
#[derive(serde::Deserialize)]
struct Row {
    quality: String,
    family: String,
    spelled_intervals: String,
    #[serde(rename = "symbols_on_C")]
    symbols: String,
    abc21_type: String,
    note: String,
    source: String,
}

static QUALITIES: LazyLock<Vec<Quality>> = LazyLock::new(|| {
    let text = include_str!("../data/chords.csv");
    let rows = csv::Reader::from_reader(text.as_bytes()).into_deserialize::<Row>();
    rows.flatten().enumerate().map(|(order, row)| quality(order, row)).collect()
});

fn quality(order: usize, row: Row) -> Quality {
    let parse = |text: &str| text.parse::<Interval>().ok();
    let intervals: Vec<Interval> = row.spelled_intervals.split(' ').filter_map(parse).collect();
    let mut typed: Vec<String> = row.symbols.split("; ").filter_map(suffix_on_c).collect();
    let symbol = typed.first().map(|suffix| with_signs(suffix));
    let listed = row.abc21_type.split('|').map(|text| text.split(" (").next().unwrap_or(text));
    for text in listed.filter(|text| !text.starts_with("free") && *text != "none") {
        if symbol.is_some() && !typed.iter().any(|known| known == text) {
            typed.push(text.to_owned());
        }
    }
    let first = row.symbols.split(' ').next().unwrap_or_default();
    Quality {
        family: Family::from_table(&row.family),
        fifths: intervals.iter().fold(0, |all, i| all | bit(i.fifths())),
        classes: intervals.iter().fold(0, |all, i| all | 1 << i.semitones.rem_euclid(12)),
        label: first.contains("+6").then(|| first.to_owned()),
        name: row.quality,
        note: row.note,
        source: row.source,
        intervals,
        symbol,
        typed,
        order,
    }
}

/// "Cm7" gives "m7"; "C13 (complete)" gives "13"; "whole tone" and "C D E" are no symbols.
fn suffix_on_c(symbol: &str) -> Option<String> {
    let symbol = symbol.strip_prefix('C')?;
    match symbol.split_once(' ') {
        Some((symbol, rest)) => rest.starts_with('(').then(|| symbol.to_owned()),
        None => Some(symbol.to_owned()),
    }
}

/// What follows a root, in one of the ways it is typed: "mi7", "-7" and "min7" are "m7", "7(#9,b5)" is "7b5#9". None for words.
fn plain_suffix(suffix: &str) -> Option<String> {
    let mut text: String = suffix.chars().filter(|c| !matches!(c, '(' | ')' | ',' | '/')).collect();
    for (typed, plain) in [
        ("Δ7", "maj7"),
        ("Δ9", "maj9"),
        ("Δ", "maj7"),
        ("ø7", "m7b5"),
        ("ø9", "m9b5"),
        ("ø", "m7b5"),
        ("°", "dim"),
        ("º", "dim"),
        ("−", "-"),
        ("omit", "no"),
        ("6add9", "69"),
        ("7alt", "alt"),
        ("aug", "+"),
        ("Maj", "maj"),
        ("Min", "m"),
        ("min", "m"),
        ("Mi", "m"),
        ("mi", "m"),
        ("7M", "maj7"),
        ("Ma7", "maj7"),
        ("ma7", "maj7"),
        ("Ma9", "maj9"),
        ("ma9", "maj9"),
        ("M7", "maj7"),
        ("M9", "maj9"),
        ("M13", "maj13"),
        ("7+9", "7#9"),
        ("7+5", "7#5"),
        ("7-9", "7b9"),
        ("7-5", "7b5"),
    ] {
        text = text.replace(typed, plain);
    }
    text = match text.as_str() {
        "2" => "sus2".to_owned(),
        "4" => "sus4".to_owned(),
        "7+" => "+7".to_owned(),
        _ if text.ends_with("sus") => format!("{text}4"),
        _ => text,
    };
    if let Some(rest) = text.strip_prefix('-') {
        text = format!("m{rest}");
    }
    // What is altered, from the fifth up.
    let start = text.find(['#', 'b']).unwrap_or(text.len());
    let (head, tail) = text.split_at(start);
    let mut altered: Vec<(u8, char)> = Vec::new();
    let mut left = tail;
    while let Some(sign) = left.chars().next() {
        let digits = left[1..].find(|c: char| !c.is_ascii_digit()).map_or(left.len(), |at| at + 1);
        match (sign, left[1..digits].parse()) {
            ('#' | 'b', Ok(degree)) => altered.push((degree, sign)),
            // Something follows that is no alteration: it stays where it is.
            _ => return Some(text),
        }
        left = &left[digits..];
    }
    altered.sort_unstable();
    let altered: String = altered.iter().map(|(degree, sign)| format!("{sign}{degree}")).collect();
    (head.len() < 12).then(|| format!("{head}{altered}"))
}

/// "7b5" becomes "7♭5".
fn with_signs(suffix: &str) -> String {
    let mut chars = suffix.chars().peekable();
    let mut text = String::new();
    while let Some(c) = chars.next() {
        let before_number = chars.peek().is_some_and(char::is_ascii_digit);
        text.push(match c {
            'b' if before_number => '♭',
            '#' => '♯',
            other => other,
        });
    }
    text
}

/// The chord table, in the order of `data/chords.csv`.
pub fn qualities() -> &'static [Quality] {
    &QUALITIES
}

/// The row of that name, such as "dominant seventh".
pub fn quality_named(name: &str) -> Option<&'static Quality> {
    QUALITIES.iter().find(|quality| quality.name == name)
}

/// What the members of a chord are called, by their letter steps above the root within an octave.
pub const MEMBERS: [&str; 7] =
    ["root", "ninth", "third", "eleventh", "fifth", "thirteenth", "seventh"];

/// What inversions, degrees and groups are counted by.
pub const ORDINALS: [&str; 7] = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh"];

/// A named chord.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Chord {
    /// The root; of an augmented sixth its bass note.
    pub root: PitchName,
    /// The row of the chord table.
    pub quality: &'static Quality,
    /// The lowest note.
    pub bass: PitchName,
    /// 0 root position, 1 first inversion (third in the bass) …
    pub inversion: u8,
    /// The interval of the quality that is not there, if one is left out.
    pub omitted: Option<Interval>,
}

impl Chord {
    /// A chord in root position with all its notes.
    pub fn new(root: PitchName, quality: &'static Quality) -> Chord {
        Chord { root, quality, bass: root, inversion: 0, omitted: None }
    }

    /// Reads a chord symbol as typed in a score, "F#m7", "C/E", "Bbmaj7/D" (abc standard v2.1, 4.18), or in one of the usual
    /// ways beside those of the table ("Cmi7", "CΔ", "C°7", "C7(b9,#5)", "C-7b5"; common practice, no source).
    /// None when the kind is not in the table. A bass that is no member of the chord counts as
    /// root position with that bass.
    pub fn from_symbol(text: &str) -> Option<Chord> {
        let text = text.trim().replace('♯', "#").replace('♭', "b");
        let (body, bass) = match text.rsplit_once('/') {
            Some((body, bass)) => match bass.trim().parse::<PitchName>() {
                Ok(bass) => (body, Some(bass)),
                Err(_) => (text.as_str(), None),
            },
            None => (text.as_str(), None),
        };
        if !body.starts_with(|c: char| ('A'..='G').contains(&c)) {
            return None;
        }
        let signs = body[1..].find(|c| c != '#' && c != 'b').map_or(body.len(), |n| n + 1);
        let root: PitchName = body[..signs].parse().ok()?;
        let suffix = &body[signs..];
        let exact = QUALITIES.iter().find(|q| q.typed.iter().any(|typed| typed == suffix));
        let quality = exact.or_else(|| {
            let plain = plain_suffix(suffix)?;
            let same = |typed: &String| plain_suffix(typed).as_ref() == Some(&plain);
            QUALITIES.iter().find(|q| q.typed.iter().any(same))
        })?;
        let bass = bass.unwrap_or(root);
        let place = quality.names_on(root).iter().position(|&name| name == bass);
        Some(Chord { bass, inversion: place.unwrap_or(0) as u8, ..Chord::new(root, quality) })
    }

    /// Its notes as the quality spells them from the root up, without what is left out.
    pub fn names(&self) -> Vec<PitchName> {
        let omitted = self.omitted.map(|i| PitchName::from_fifths(self.root.fifths() + i.fifths()));
        let all = self.quality.names_on(self.root);
        all.into_iter().filter(|name| Some(*name) != omitted).collect()
    }

    /// "G♯m7", "C/E", "A♭ Ger+6".
    pub fn symbol(&self) -> String {
        let root = self.root.symbol();
        let body = match (&self.quality.symbol, &self.quality.label) {
            (Some(symbol), _) => format!("{root}{symbol}"),
            (None, Some(label)) => format!("{root} {label}"),
            (None, None) => format!("{root} {}", self.quality.name),
        };
        if self.bass == self.root { body } else { format!("{body}/{}", self.bass.symbol()) }
    }

    /// "E major", "G sharp minor seventh", "E major, first inversion", "German sixth on A flat".
    pub fn words(&self) -> String {
        let name = self.quality.name.as_str();
        let name = name.strip_suffix(" triad").unwrap_or(name);
        let root = self.root.words();
        let mut text = match self.quality.family {
            Family::Dyad => format!("open fifth on {root}"),
            family if family.can_be_inverted() => format!("{root} {name}"),
            _ => format!("{name} on {root}"),
        };
        if self.inversion == 0 && self.bass != self.root {
            text.push_str(&format!(" over {}", self.bass.words()));
        } else if let Some(place) = ORDINALS.get(usize::from(self.inversion).wrapping_sub(1)) {
            text.push_str(&format!(", {place} inversion"));
        }
        if let Some(omitted) = self.omitted {
            let member = MEMBERS[omitted.steps.rem_euclid(7) as usize];
            text.push_str(&format!(", without its {member}"));
        }
        text
    }
}

impl fmt::Display for Chord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.symbol())
    }
}

/// The name of the chord that these pitches spell, the best of [`readings`].
pub fn identify(pitches: &[Pitch]) -> Option<Chord> {
    readings(pitches).into_iter().next()
}

/// Every name in the table that fits these pitches exactly as they are spelled, the best first.
///
/// The lowest pitch is the bass; octave doublings do not count. Complete triads come first, then
/// piles of fourths, augmented sixths, sevenths, the larger chords, and last triads, sevenths and
/// larger chords without their fifth; within each, root position before inversions. Two names for
/// one sound (G♯ and A♭ together) fit no chord.
pub fn readings(pitches: &[Pitch]) -> Vec<Chord> {
    let mut sorted = pitches.to_vec();
    sorted.sort_by_key(|p| (p.midi(), p.steps()));
    let Some(lowest) = sorted.first().copied() else {
        return Vec::new();
    };
    let names: BTreeSet<PitchName> = sorted.iter().map(|p| p.name).collect();
    if !names.iter().all(|name| FIFTHS.contains(&name.fifths())) {
        return Vec::new();
    }
    let mut found = Vec::new();
    for &root in &names {
        let heard = names.iter().map(|n| bit(n.fifths() - root.fifths())).sum();
        for quality in qualities() {
            if let Some(omitted) = fit(quality, heard) {
                found.extend(placed(quality, root, omitted, lowest, &sorted));
            }
        }
    }
    found.sort_by_key(|c| (rank(c), c.inversion, c.quality.order, c.root.fifths()));
    // A row that repeats another one's notes (the Neapolitan is a major triad) says nothing new.
    let mut seen = HashSet::new();
    found.retain(|c| seen.insert((c.root, c.quality.fifths, c.omitted)));
    found
}

/// The chord with its inversion, unless its family does not stand in that position.
fn placed(
    quality: &'static Quality,
    root: PitchName,
    omitted: Option<Interval>,
    lowest: Pitch,
    sorted: &[Pitch],
) -> Option<Chord> {
    let bass = lowest.name;
    let place = quality.names_on(root).iter().position(|&name| name == bass)?;
    if place > 0 && !quality.family.can_be_inverted() {
        return None;
    }
    if quality.family.is_spaced() {
        let spacing: BTreeSet<_> = sorted.iter().map(|p| from_bass(lowest, *p)).collect();
        let listed: BTreeSet<_> =
            quality.intervals.iter().map(|i| (i.steps, i.semitones)).collect();
        if spacing != listed {
            return None;
        }
    }
    Some(Chord { root, quality, bass, inversion: u8::try_from(place).ok()?, omitted })
}

fn from_bass(lowest: Pitch, pitch: Pitch) -> (i32, i32) {
    (pitch.steps() - lowest.steps(), pitch.midi() - lowest.midi())
}

/// Whether the notes heard above a root are this quality: `Some(None)` all of it,
/// `Some(Some(fifth))` all but its fifth.
fn fit(quality: &Quality, heard: u128) -> Option<Option<Interval>> {
    use Family::{Eleventh, Ninth, Seventh, Thirteenth, Triad};
    if quality.fifths == heard {
        return Some(None);
    }
    let fifth = *quality.intervals.get(2)?;
    let perfect = (fifth.steps, fifth.semitones) == (4, 7);
    let third = quality.intervals[1].steps == 2;
    let can = matches!(quality.family, Triad | Seventh | Ninth | Eleventh | Thirteenth);
    let rest = quality.fifths & !bit(fifth.fifths());
    (can && perfect && third && rest == heard).then_some(Some(fifth))
}

/// Lower is better.
fn rank(chord: &Chord) -> u8 {
    let whole = match chord.quality.family {
        Family::Triad => 0,
        Family::Quartal => 1,
        Family::AugmentedSixth => 2,
        Family::Seventh => 3,
        Family::Dyad | Family::Suspended => 4,
        Family::Cluster | Family::ScaleChord => 6,
        Family::Polychord | Family::Other => 7,
        _ => 5,
    };
    whole + if chord.omitted.is_some() { 8 } else { 0 }
}

/// A set of pitch classes spelled as a pile of thirds.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stack {
    /// What it is.
    pub quality: &'static Quality,
    /// A name for each pitch class, in the order they were given.
    pub names: Vec<PitchName>,
    /// Its root.
    pub root: PitchName,
}

/// The outermost names on the line of fifths: F double flat and B double sharp.
const FIFTHS: std::ops::RangeInclusive<i32> = -15..=19;

/// Every spelling of distinct pitch classes (0 to 11, C = 0) as a triad, seventh or ninth in thirds,
/// no name beyond double sharps and flats; in the order of the table, then the plainest names first.
pub fn thirds(pitch_classes: &[u8]) -> Vec<Stack> {
    let heard = pitch_classes.iter().fold(0u16, |all, class| all | 1 << (class % 12));
    let families = [Family::Triad, Family::Seventh, Family::Ninth];
    let wanted = |q: &&Quality| {
        families.contains(&q.family)
            && q.is_tertian()
            && q.intervals.len() == pitch_classes.len()
            && q.classes.count_ones() == heard.count_ones()
    };
    let mut found = Vec::new();
    for quality in qualities().iter().filter(wanted) {
        for root in FIFTHS.map(PitchName::from_fifths) {
            if on_root(quality.classes, root) != heard {
                continue;
            }
            let members = quality.names_on(root);
            let name_of =
                |&class: &u8| members.iter().copied().find(|n| n.pitch_class() == class % 12);
            let names: Vec<PitchName> = pitch_classes.iter().filter_map(name_of).collect();
            if members.iter().all(|name| FIFTHS.contains(&name.fifths())) {
                found.push(Stack { quality, names, root });
            }
        }
    }
    found.sort_by_key(|stack| {
        let signs: u32 = stack.names.iter().map(|n| u32::from(n.alter.unsigned_abs())).sum();
        // D is the middle of the natural notes on the line of fifths.
        let away: i32 = stack.names.iter().map(|n| (n.fifths() - 2).abs()).sum();
        (stack.quality.order, signs, away, stack.root.fifths())
    });
    found
}

/// Twelve bits turned so that they count from C and not from the root.
fn on_root(classes: u16, root: PitchName) -> u16 {
    let turned = u32::from(classes) << root.pitch_class();
    ((turned | turned >> 12) & 0xfff) as u16
}

#[cfg(test)]
mod tests;
