//! Exact musical time, in whole notes.

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedDiv, CheckedMul, CheckedSub};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// A point or a length in time: an exact rational of a whole note. `1/4` is a quarter note.
///
/// Arithmetic never panics: a result that does not fit in 64-bit terms leaves the left side as it was.
/// Lengths that a score can hold stay far below that limit.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Time(Ratio<i64>);

impl Time {
    /// No time at all.
    pub const ZERO: Time = Time(Ratio::new_raw(0, 1));
    /// A whole note.
    pub const WHOLE: Time = Time(Ratio::new_raw(1, 1));

    /// `numerator/denominator` of a whole note; a denominator of zero counts as one.
    pub fn new(numerator: i64, denominator: i64) -> Time {
        let denominator = if denominator == 0 { 1 } else { denominator };
        Time(Ratio::new(numerator, denominator))
    }

    /// The numerator in lowest terms.
    pub fn numerator(self) -> i64 {
        *self.0.numer()
    }

    /// The denominator in lowest terms, at least 1.
    pub fn denominator(self) -> i64 {
        *self.0.denom()
    }

    /// Whether this is no time at all.
    pub fn is_zero(self) -> bool {
        self.numerator() == 0
    }

    /// How many times `unit` fits, if it fits exactly.
    pub fn count_of(self, unit: Time) -> Option<i64> {
        let quotient = (!unit.is_zero()).then(|| self.0.checked_div(&unit.0))??;
        quotient.is_integer().then(|| quotient.to_integer())
    }

    /// The remainder of dividing by `unit`, in `0..unit`; the time itself when `unit` is not positive.
    pub fn modulo(self, unit: Time) -> Time {
        if unit <= Time::ZERO {
            return self;
        }
        let whole = (self.0 / unit.0).floor();
        self - Time(whole * unit.0)
    }
}

impl Add for Time {
    type Output = Time;
    fn add(self, other: Time) -> Time {
        // Both terms over one denominator is by far the commonest case, and needs no common divisor sought.
        self.0.checked_add(&other.0).map_or(self, Time)
    }
}

impl Sub for Time {
    type Output = Time;
    fn sub(self, other: Time) -> Time {
        self.0.checked_sub(&other.0).map_or(self, Time)
    }
}

impl Mul for Time {
    type Output = Time;
    fn mul(self, other: Time) -> Time {
        self.0.checked_mul(&other.0).map_or(self, Time)
    }
}

impl Div for Time {
    type Output = Time;
    fn div(self, other: Time) -> Time {
        if other.is_zero() {
            return self;
        }
        self.0.checked_div(&other.0).map_or(self, Time)
    }
}

impl Neg for Time {
    type Output = Time;
    fn neg(self) -> Time {
        Time::ZERO - self
    }
}

impl AddAssign for Time {
    fn add_assign(&mut self, other: Time) {
        *self = *self + other;
    }
}

impl SubAssign for Time {
    fn sub_assign(&mut self, other: Time) {
        *self = *self - other;
    }
}

impl Sum for Time {
    fn sum<I: Iterator<Item = Time>>(times: I) -> Time {
        times.fold(Time::ZERO, |total, time| total + time)
    }
}

impl Default for Time {
    fn default() -> Time {
        Time::ZERO
    }
}

/// `3/8`, or `2` when it is whole.
impl fmt::Display for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl fmt::Debug for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_are_exact() {
        let triplet: Time = (0..3).map(|_| Time::new(1, 12)).sum();
        assert_eq!(triplet, Time::new(1, 4));
        assert_eq!((Time::new(1, 3) + Time::new(1, 6)).to_string(), "1/2");
    }

    #[test]
    fn never_panics_on_overflow_or_zero() {
        let huge = Time::new(i64::MAX, 1);
        assert_eq!(huge + huge, huge);
        assert_eq!(huge * huge, huge);
        assert_eq!(Time::WHOLE / Time::ZERO, Time::WHOLE);
        assert_eq!(Time::new(1, 0), Time::WHOLE);
    }

    #[test]
    fn modulo_and_count() {
        assert_eq!(Time::new(7, 8).modulo(Time::new(1, 4)), Time::new(1, 8));
        assert_eq!(Time::new(-1, 8).modulo(Time::new(1, 4)), Time::new(1, 8));
        assert_eq!(Time::new(3, 4).count_of(Time::new(1, 8)), Some(6));
        assert_eq!(Time::new(1, 3).count_of(Time::new(1, 8)), None);
    }
}
