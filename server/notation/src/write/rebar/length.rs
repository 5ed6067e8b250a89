//! Lengths as they are typed, and lengths that one note can have.

use recte_theory::{Metre, Time};

/// A multiple of the unit length: ``, `6`, `3/2`, `/`, `/4`.
pub fn length_text(units: Time) -> String {
    match (units.numerator(), units.denominator()) {
        (1, 1) => String::new(),
        (n, 1) => n.to_string(),
        (1, 2) => "/".to_owned(),
        (1, d) => format!("/{d}"),
        (n, d) => format!("{n}/{d}"),
    }
}

/// Whether one note can last so long: plain, dotted or double-dotted.
pub(super) fn is_one_value(time: Time) -> bool {
    let (n, d) = (time.numerator(), time.denominator());
    (d as u64).is_power_of_two() && (matches!(n, 1 | 3 | 7) || (d == 1 && n == 2))
}

/// The values that fill `start` to `start + length` of a bar: one if one will do, else cut where the beat
/// groups meet, else the largest first.
pub(super) fn values(start: Time, length: Time, metre: &Metre) -> Vec<Time> {
    let mut found = Vec::new();
    let mut at = start;
    let end = start + length;
    while at < end {
        let value = first_value(at, end, metre);
        found.push(value);
        at += value;
    }
    found
}

fn first_value(start: Time, end: Time, metre: &Metre) -> Time {
    let left = end - start;
    if is_one_value(left) {
        return left;
    }
    let mut line = Time::ZERO;
    for group in metre.groupings().into_iter().next().unwrap_or_default() {
        line += group;
        if start < line && line < end && is_one_value(line - start) {
            return line - start;
        }
    }
    let mut value = Time::new(2, 1);
    // Lengths are exact; what is not a sum of halves of halves (a tuplet) is left as it is.
    for _ in 0..12 {
        if value <= left {
            return value;
        }
        value = value / Time::new(2, 1);
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typed() {
        let texts = [(6, 1), (1, 1), (3, 2), (1, 2), (1, 4), (3, 4)]
            .map(|(n, d)| length_text(Time::new(n, d)));
        assert_eq!(texts, ["6", "", "3/2", "/", "/4", "3/4"]);
    }

    #[test]
    fn five_eighths_are_two_values() {
        let metre = Metre::parse("5/8").unwrap();
        let found = values(Time::ZERO, Time::new(5, 8), &metre);
        assert_eq!(found, [Time::new(3, 8), Time::new(1, 4)]);
        assert_eq!(values(Time::ZERO, Time::new(1, 2), &metre), [Time::new(1, 2)]);
        let metre = Metre::parse("9/8").unwrap();
        assert_eq!(
            values(Time::new(1, 8), Time::new(5, 8), &metre),
            [Time::new(1, 4), Time::new(3, 8)]
        );
    }
}
