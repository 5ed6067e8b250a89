//! Time signatures and the beat groups they ask for.
//!
//! How a bar is grouped follows the published tables: simple and compound metres after Open Music
//! Theory ("meter") and OpenLearn, Introduction to music theory, 3.6; 5/8, 7/8 and 8/8 after
//! Integrated Music Theory and Buccheri; 2/2, 3/2, 4/2, 5/4 and 7/4 common practice, no source;
//! 4/8, 10/8, 11/8 and every rarer signature from memory.

mod beats;

pub use beats::{Beats, Group, Ticks, WHOLE, is_one_value, ticks, time};

use crate::time::Time;
use std::fmt;

/// The longest bar that is read, in notes of the lower number.
const LARGEST_NUMERATOR: u32 = 256;
/// The shortest note a signature can count.
const LARGEST_DENOMINATOR: u32 = 128;

/// One fraction of an additive signature: `2+3/8` is the groups 2 and 3 over 8.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Part {
    /// The groups, in notes of the lower number; never empty, none of them zero.
    groups: Vec<u16>,
    /// The lower number, a power of two from 1 to 128.
    denominator: u16,
}

/// What a time signature says, as it was typed: `C` and `4/4` are not the same signature.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
enum Shape {
    #[default]
    Free,
    Common,
    Cut,
    Fraction(u16, u16),
    Additive(Vec<Part>),
}

/// A time signature. The default is free metre (`none`, or no signature at all).
///
/// Equality is that of the sign, and of the beats it was given ([`Metre::grouped`]): `C` differs from `4/4`,
/// though their bars are alike.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Metre {
    shape: Shape,
    /// The signature that has the beats meant, where the sign itself does not say them.
    meant: Option<Box<Metre>>,
}

/// Text that is not a time signature; shown, it is a sentence.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MetreError {
    text: String,
    why: Why,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Why {
    Form,
    Numerator,
    Denominator,
    Length,
}

impl fmt::Display for MetreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let why = match self.why {
            Why::Form => "one is written like 6/8, 2+3/8, C, C| or none",
            Why::Numerator => "its upper numbers add up to something from 1 to 256",
            Why::Denominator => "its lower number is 1, 2, 4, 8, 16, 32, 64 or 128",
            Why::Length => {
                return write!(f, "The beats “{}” are longer or shorter than the bar.", self.text);
            }
        };
        write!(f, "“{}” is not a time signature; {why}.", self.text)
    }
}

impl std::error::Error for MetreError {}

impl Metre {
    const fn of(shape: Shape) -> Metre {
        Metre { shape, meant: None }
    }

    /// No metre: `M:none`, or no signature.
    pub const FREE: Metre = Metre::of(Shape::Free);
    /// Common time, `C`.
    pub const COMMON: Metre = Metre::of(Shape::Common);
    /// Cut time, `C|`.
    pub const CUT: Metre = Metre::of(Shape::Cut);

    /// `numerator/denominator`.
    ///
    /// # Errors
    /// When the numerator is not 1 to 256 or the denominator not a power of two up to 128.
    pub fn fraction(numerator: u32, denominator: u32) -> Result<Metre, MetreError> {
        let text = format!("{numerator}/{denominator}");
        Metre::from_parts(&text, &[(vec![numerator], denominator)])
    }

    /// `a+b+…/denominator`; a single group gives the plain fraction.
    ///
    /// # Errors
    /// When there is no group, one of them is zero, they add up to more than 256, or the
    /// denominator is not a power of two up to 128.
    pub fn additive(groups: &[u8], denominator: u32) -> Result<Metre, MetreError> {
        let text = format!("{}/{denominator}", join(groups));
        let groups = groups.iter().map(|&n| u32::from(n)).collect();
        Metre::from_parts(&text, &[(groups, denominator)])
    }

    /// Reads what stands after `M:`: `6/8`, `C`, `C|`, `none`, nothing, `2+3/8`, `(2+3+2)/8`,
    /// `3/4+3/8` (abc standard v2.1, 3.1.6).
    ///
    /// # Errors
    /// When it is none of these, or a number is out of bounds.
    pub fn parse(text: &str) -> Result<Metre, MetreError> {
        let compact: String = text.chars().filter(|c| !c.is_whitespace()).collect();
        let words: Vec<&str> = text.split_whitespace().collect();
        let two_numbers = words.windows(2).any(|pair| {
            pair[0].ends_with(|c: char| c.is_ascii_digit())
                && pair[1].starts_with(|c: char| c.is_ascii_digit())
        });
        match compact.as_str() {
            "" => return Ok(Metre::FREE),
            "C" => return Ok(Metre::COMMON),
            "C|" => return Ok(Metre::CUT),
            none if none.eq_ignore_ascii_case("none") => return Ok(Metre::FREE),
            _ => {}
        }
        let text = text.trim();
        let form = || MetreError { text: text.to_owned(), why: Why::Form };
        if two_numbers {
            return Err(form());
        }
        let mut parts = Vec::new();
        let mut rest = compact.as_str();
        loop {
            let (upper, after) = rest.split_once('/').ok_or_else(form)?;
            let groups = read_groups(upper).ok_or_else(form)?;
            let end = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
            let (lower, after) = after.split_at(end);
            parts.push((groups, read_number(lower).ok_or_else(form)?));
            if after.is_empty() {
                return Metre::from_parts(text, &parts);
            }
            rest = after.strip_prefix('+').ok_or_else(form)?;
        }
    }

    fn from_parts(text: &str, parts: &[(Vec<u32>, u32)]) -> Result<Metre, MetreError> {
        let wrong = |why| MetreError { text: text.to_owned(), why };
        let mut total: u32 = 0;
        let mut read = Vec::new();
        for (groups, denominator) in parts {
            if *denominator > LARGEST_DENOMINATOR || !denominator.is_power_of_two() {
                return Err(wrong(Why::Denominator));
            }
            total = groups.iter().fold(total, |sum, &n| sum.saturating_add(n));
            if groups.is_empty() || groups.contains(&0) || total > LARGEST_NUMERATOR {
                return Err(wrong(Why::Numerator));
            }
            // Both numbers were just found to be at most 256.
            let groups = groups.iter().map(|&n| n as u16).collect();
            read.push(Part { groups, denominator: *denominator as u16 });
        }
        Ok(Metre::of(match read.as_slice() {
            [Part { groups, denominator }] if groups.len() == 1 => {
                Shape::Fraction(groups[0], *denominator)
            }
            _ => Shape::Additive(read),
        }))
    }

    /// The same sign with its beats told: 7/8 as `2+2+3`, 4/4 as `3+3+2/8`. Without a lower number the beats are
    /// counted in that of the sign.
    ///
    /// # Errors
    /// When the text is no such beats, or they do not fill the bar (nothing fills free metre).
    pub fn grouped(&self, beats: &str) -> Result<Metre, MetreError> {
        let unit = self.unit().map_or(8, |unit| unit.denominator());
        let meant = match beats.contains('/') {
            true => Metre::parse(beats)?,
            false => Metre::parse(&format!("{}/{unit}", beats.trim()))?,
        };
        if meant.length().is_none() || meant.length() != self.length() {
            return Err(MetreError { text: beats.trim().to_owned(), why: Why::Length });
        }
        Ok(Metre { shape: self.shape.clone(), meant: Some(Box::new(meant)) })
    }

    /// Whether there is no metre.
    pub fn is_free(&self) -> bool {
        self.shape == Shape::Free
    }

    /// The length of a bar in whole notes; none in free metre.
    pub fn length(&self) -> Option<Time> {
        match &self.shape {
            Shape::Free => None,
            Shape::Common | Shape::Cut => Some(Time::WHOLE),
            Shape::Fraction(n, d) => Some(notes(*n, *d)),
            Shape::Additive(parts) => Some(parts.iter().flat_map(Part::times).sum()),
        }
    }

    /// The note that the lower number names (the shortest one, in `3/4+3/8`); none in free metre.
    pub fn unit(&self) -> Option<Time> {
        match &self.shape {
            Shape::Free => None,
            Shape::Common => Some(Time::new(1, 4)),
            Shape::Cut => Some(Time::new(1, 2)),
            Shape::Fraction(_, d) => Some(notes(1, *d)),
            Shape::Additive(parts) => parts.iter().map(|p| notes(1, p.denominator)).min(),
        }
    }

    /// The upper and lower number when the signature has just these two (`C` is 4/4, `C|` 2/2).
    pub fn numbers(&self) -> Option<(u16, u16)> {
        match self.shape {
            Shape::Common => Some((4, 4)),
            Shape::Cut => Some((2, 2)),
            Shape::Fraction(n, d) => Some((n, d)),
            Shape::Free | Shape::Additive(_) => None,
        }
    }

    /// The ways the signature lets a bar fall into beat groups, the usual one first; the lengths
    /// of each add up to the bar. Empty in free metre. An additive signature allows only itself, one with its
    /// beats told only these.
    pub fn groupings(&self) -> Vec<Vec<Time>> {
        if let Some(meant) = &self.meant {
            return meant.groupings();
        }
        match &self.shape {
            Shape::Free => Vec::new(),
            Shape::Common => vec![repeated(4, 1, 4)],
            Shape::Cut => vec![repeated(2, 1, 2)],
            Shape::Fraction(n, d) => fraction_groupings(*n, *d),
            Shape::Additive(parts) => vec![parts.iter().flat_map(Part::beats).collect()],
        }
    }

    /// Whether every beat of the usual reading is a dotted note and there is more than one.
    pub fn is_compound(&self) -> bool {
        let first = self.groupings().into_iter().next().unwrap_or_default();
        first.len() > 1 && first.iter().all(|group| group.numerator() == 3)
    }

    /// Whether the groups are of unequal lengths in the usual reading: 5/8, 7/8, 8/8, `2+3/8`.
    pub fn is_asymmetric(&self) -> bool {
        let first = self.groupings().into_iter().next().unwrap_or_default();
        first.windows(2).any(|pair| pair[0] != pair[1])
    }

    /// The offsets from the bar line of the "middle lines" of the usual reading: the places a note
    /// or rest does not hide. In 4/4, 4/2 and 12/8 only the middle of the bar.
    pub fn strong_lines(&self) -> Vec<Time> {
        strong_lines(&self.groupings().into_iter().next().unwrap_or_default())
    }

    /// The spans that a beam of eighths may fill and not cross, when the bar falls into `grouping`:
    /// the half bars of 4/4, the whole bar of 2/4 and 3/4, single quarters in 5/4 and 7/4, and
    /// otherwise the groups themselves (OpenLearn 3.6; Integrated Music Theory).
    pub fn beam_spans(&self, grouping: &[Time]) -> Vec<Time> {
        if let Some(meant) = &self.meant {
            return meant.beam_spans(grouping);
        }
        let quarter = Time::new(1, 4);
        match self.numbers() {
            Some((2 | 3, 4)) => self.length().into_iter().collect(),
            Some((4, 4)) => repeated(2, 1, 2),
            _ if self.unit() == Some(quarter) && !self.is_compound() => {
                let beats = grouping.iter().copied().sum::<Time>().count_of(quarter);
                repeated(beats.and_then(|n| usize::try_from(n).ok()).unwrap_or(0), 1, 4)
            }
            _ => grouping.to_vec(),
        }
    }

    /// The unit note length (`L:`) when the tune gives none: 1/16 for bars shorter than 3/4 of a
    /// whole note, otherwise 1/8 (abc standard v2.1, 3.1.7).
    pub fn default_unit_length(&self) -> Time {
        match self.length() {
            Some(length) if length < Time::new(3, 4) => Time::new(1, 16),
            _ => Time::new(1, 8),
        }
    }
}

/// The offsets inside a bar of these groups that no note hides: every join of groups, but only the
/// middle where four (or eight) equal groups make two halves.
pub fn strong_lines(grouping: &[Time]) -> Vec<Time> {
    let equal = grouping.windows(2).all(|pair| pair[0] == pair[1]);
    let halves = equal && grouping.len() >= 4 && grouping.len().is_power_of_two();
    let mut offset = Time::ZERO;
    let mut lines = Vec::new();
    for (place, group) in grouping.iter().enumerate() {
        if place > 0 && (!halves || 2 * place == grouping.len()) {
            lines.push(offset);
        }
        offset += *group;
    }
    lines
}

impl Part {
    /// The groups as typed.
    fn times(&self) -> impl Iterator<Item = Time> {
        self.groups.iter().map(|&n| notes(n, self.denominator))
    }

    /// The groups as typed, or the usual beats of a fraction that stands alone in a sum of fractions.
    fn beats(&self) -> Vec<Time> {
        match self.groups.as_slice() {
            [n] => fraction_groupings(*n, self.denominator).swap_remove(0),
            _ => self.times().collect(),
        }
    }
}

/// So many notes of the lower number, as a time.
fn notes(count: u16, denominator: u16) -> Time {
    Time::new(count.into(), denominator.into())
}

fn repeated(count: usize, numerator: i64, denominator: i64) -> Vec<Time> {
    vec![Time::new(numerator, denominator); count]
}

/// The readings of a plain fraction; never empty.
fn fraction_groupings(n: u16, d: u16) -> Vec<Vec<Time>> {
    let short = d >= 8;
    let readings: Vec<Vec<u16>> = match n {
        3 if short => vec![vec![3]],
        _ if n > 3 && n.is_multiple_of(3) && d >= 4 => vec![vec![3; usize::from(n / 3)]],
        5 => vec![vec![3, 2], vec![2, 3]],
        7 if short => vec![vec![2, 2, 3], vec![3, 2, 2], vec![2, 3, 2], vec![4, 3]],
        7 => vec![vec![4, 3], vec![3, 4]],
        2 | 4 if short => vec![vec![2; usize::from(n / 2)]],
        8 if short => vec![vec![3, 3, 2], vec![3, 2, 3], vec![2, 3, 3]],
        10 if short => vec![vec![3, 3, 2, 2], vec![3, 2, 3, 2]],
        11 if short => vec![vec![3, 3, 3, 2], vec![2, 2, 3, 2, 2]],
        _ if short && n > 11 => threes_and_twos(n),
        _ => vec![vec![1; usize::from(n)]],
    };
    let times = |groups: Vec<u16>| groups.into_iter().map(|count| notes(count, d)).collect();
    readings.into_iter().map(times).collect()
}

/// As many threes as leave only twos, threes first, then the other way round.
fn threes_and_twos(n: u16) -> Vec<Vec<u16>> {
    let twos = usize::from((3 - n % 3) % 3);
    let threes = (usize::from(n) - 2 * twos) / 3;
    let mut first = vec![3; threes];
    first.extend(vec![2; twos]);
    let second = first.iter().rev().copied().collect();
    vec![first, second]
}

/// `3`, `2+3`, `(2+3)`.
fn read_groups(text: &str) -> Option<Vec<u32>> {
    let inner = match text.strip_prefix('(') {
        Some(rest) => rest.strip_suffix(')')?,
        None => text,
    };
    inner.split('+').map(read_number).collect()
}

/// Digits only; a number too large to hold counts as the largest, which is out of bounds.
fn read_number(text: &str) -> Option<u32> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| text.parse().unwrap_or(u32::MAX))
}

fn join<T: fmt::Display>(groups: &[T]) -> String {
    groups.iter().map(T::to_string).collect::<Vec<_>>().join("+")
}

/// As ABC writes it: `6/8`, `C|`, `2+3/8`, `3/4+3/8`, `none`.
impl fmt::Display for Metre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.shape {
            Shape::Free => f.write_str("none"),
            Shape::Common => f.write_str("C"),
            Shape::Cut => f.write_str("C|"),
            Shape::Fraction(n, d) => write!(f, "{n}/{d}"),
            Shape::Additive(parts) => {
                let text = |part: &Part| format!("{}/{}", join(&part.groups), part.denominator);
                f.write_str(&parts.iter().map(text).collect::<Vec<_>>().join("+"))
            }
        }
    }
}

#[cfg(test)]
mod tests;
