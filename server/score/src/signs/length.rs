//! Lengths as note types, dots and ratios.

use recte_theory::Time;

/// From the shortest type there is to the longest, each twice the one before.
const TYPES: [&str; 14] = [
    "1024th", "512th", "256th", "128th", "64th", "32nd", "16th", "eighth", "quarter", "half",
    "whole", "breve", "long", "maxima",
];
/// The place of the whole note among them.
const WHOLE: u32 = 10;
/// The place of the quarter note.
const QUARTER: usize = 8;
/// More dots than this no one writes.
const MOST_DOTS: u32 = 3;

/// A note or rest as it is drawn, or one of several tied together that make one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// How long it sounds.
    pub duration: Time,
    /// Its type; none for a length that no sign has.
    pub sign: Option<Sign>,
    /// So many notes in the time of so many.
    pub ratio: Option<(i64, i64)>,
}

/// A note's shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sign {
    place: usize,
    /// How many dots.
    pub dots: u32,
}

impl Sign {
    /// What the standard calls the type.
    pub fn name(self) -> &'static str {
        TYPES.get(self.place).copied().unwrap_or("whole")
    }

    /// How many flags or beams it has.
    pub fn flags(self) -> usize {
        QUARTER.saturating_sub(self.place)
    }

    /// How often a whole note is halved to get it, dots not counted: 2 for a quarter, -1 for a breve.
    pub fn halvings(self) -> i32 {
        WHOLE as i32 - self.place as i32
    }
}

/// The signs that draw a length which begins `offset` into its bar. Their durations add up to it.
pub fn pieces(duration: Time, tuplet: Option<(u32, u32)>, offset: Time) -> Vec<Piece> {
    let (actual, normal) = tuplet.map_or((1, 1), |(a, n)| (i64::from(a), i64::from(n)));
    let typed = duration * Time::new(actual, normal);
    // A denominator that no sign has, such as a third of a quarter, is a tuplet nobody named.
    let odd = typed.denominator() >> typed.denominator().trailing_zeros();
    let of = if odd > 1 { 1i64 << (63 - odd.leading_zeros()) } else { 1 };
    let (actual, normal) = (actual * odd, normal * of);
    let drawn = duration * Time::new(actual, normal);
    let ratio = (tuplet.is_some() || odd > 1).then_some((actual, normal));
    let Some(signs) = signs(drawn) else {
        return vec![Piece { duration, sign: None, ratio: None }];
    };
    let scale = Time::new(normal, actual);
    let piece =
        |(sign, drawn): (Sign, Time)| Piece { duration: drawn * scale, sign: Some(sign), ratio };
    let mut all: Vec<Piece> = signs.into_iter().map(piece).collect();
    // The short one first where that brings the long one onto its own beat.
    if all.first().is_some_and(|first| !offset.modulo(first.duration).is_zero()) {
        all.reverse();
    }
    all
}

/// The fewest signs for a length, longest first.
fn signs(length: Time) -> Option<Vec<(Sign, Time)>> {
    let below = length.denominator().trailing_zeros();
    if length.denominator() != 1i64.checked_shl(below)? || below > WHOLE || length <= Time::ZERO {
        return None;
    }
    let mut left = u64::try_from(length.numerator()).ok()?;
    let mut all = Vec::new();
    while left > 0 {
        let top = 63 - left.leading_zeros();
        let mut dots = 0;
        while dots < MOST_DOTS && dots < top && left >> (top - dots - 1) & 1 == 1 {
            dots += 1;
        }
        let bits = ((1u64 << (dots + 1)) - 1) << (top - dots);
        left -= bits;
        let place = (WHOLE + top).checked_sub(below)? as usize;
        TYPES.get(place)?;
        let time = Time::new(i64::try_from(bits).ok()?, length.denominator());
        all.push((Sign { place, dots }, time));
    }
    Some(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(above: i64, below: i64, tuplet: Option<(u32, u32)>, offset: Time) -> Vec<String> {
        let duration = Time::new(above, below);
        let all = pieces(duration, tuplet, offset);
        assert_eq!(all.iter().map(|piece| piece.duration).sum::<Time>(), duration);
        let one = |piece: &Piece| {
            let sign = piece.sign.map_or("none".to_owned(), |sign| {
                format!("{}{}", sign.name(), ".".repeat(sign.dots as usize))
            });
            match piece.ratio {
                Some((actual, normal)) => format!("{sign} {actual}:{normal}"),
                None => sign,
            }
        };
        all.iter().map(one).collect()
    }

    #[test]
    fn one_sign_or_several() {
        let zero = Time::ZERO;
        assert_eq!(drawn(1, 4, None, zero), ["quarter"]);
        assert_eq!(drawn(7, 16, None, zero), ["quarter.."]);
        assert_eq!(drawn(15, 64, None, zero), ["eighth..."]);
        assert_eq!(drawn(5, 8, None, zero), ["half", "eighth"]);
        assert_eq!(drawn(5, 8, None, Time::new(1, 8)), ["eighth", "half"]);
        assert_eq!(drawn(8, 1, None, zero), ["maxima"]);
        assert_eq!(drawn(1, 2048, None, zero), ["none"]);
        assert_eq!(drawn(16, 1, None, zero), ["none"]);
    }

    #[test]
    fn tuplets_named_or_not() {
        assert_eq!(drawn(1, 12, Some((3, 2)), Time::ZERO), ["eighth 3:2"]);
        assert_eq!(drawn(1, 12, None, Time::ZERO), ["eighth 3:2"]);
        assert_eq!(drawn(1, 5, None, Time::ZERO), ["quarter 5:4"]);
        assert_eq!(drawn(1, 36, Some((3, 2)), Time::ZERO), ["16th 9:4"]);
    }
}
