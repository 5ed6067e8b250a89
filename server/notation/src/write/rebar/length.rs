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

/// How the lengths of a voice are typed, where there are two ways.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Typing {
    /// `/2` and not `/`.
    two: bool,
    /// `//` and not `/4`.
    slashes: bool,
    /// `3/` and not `3/2`.
    open: bool,
}

impl Typing {
    /// What is typed more often.
    pub(super) fn of<'t>(lengths: impl Iterator<Item = &'t str>) -> Typing {
        let (mut two, mut slashes, mut open) = (0, 0, 0);
        for length in lengths {
            match length {
                "/2" => two += 1,
                "/" => two -= 1,
                "//" => slashes += 1,
                "/4" => slashes -= 1,
                _ if length.len() > 1 && length.ends_with('/') => open += 1,
                _ if length.len() > 2 && length.ends_with("/2") => open -= 1,
                _ => {}
            }
        }
        Typing { two: two > 0, slashes: slashes > 0, open: open > 0 }
    }

    /// A multiple of the unit length.
    pub(super) fn text(self, units: Time) -> String {
        match (units.numerator(), units.denominator()) {
            (1, 2) if self.two => "/2".to_owned(),
            (1, 4) if self.slashes => "//".to_owned(),
            (n, 2) if self.open && n > 1 => format!("{n}/"),
            _ => length_text(units),
        }
    }
}

/// Whether one note can last so long: plain, dotted or double-dotted.
pub(super) fn is_one_value(time: Time) -> bool {
    let (n, d) = (time.numerator(), time.denominator());
    (d as u64).is_power_of_two() && (matches!(n, 1 | 3 | 7) || (d == 1 && n == 2))
}

/// The values that fill `start` to `start + length` of a bar: one if one will do and hides no line that a note
/// there may not hide; else cut at the strongest line inside, else the largest first.
pub(super) fn values(start: Time, length: Time, metre: &Metre) -> Vec<Time> {
    let mut groupings = metre.groupings();
    if groupings.is_empty() {
        groupings.push(Vec::new());
    }
    // A signature that leaves its groups open is read as suits the note.
    let readings = groupings.iter().map(|groups| {
        let mut found = Vec::new();
        fill(start, start + length, metre, groups, &mut found);
        found
    });
    readings.min_by_key(Vec::len).unwrap_or_default()
}

fn fill(start: Time, end: Time, metre: &Metre, groups: &[Time], found: &mut Vec<Time>) {
    if start >= end {
        return;
    }
    if is_one_value(end - start) && may_stand(start, end, metre, groups) {
        found.push(end - start);
        return;
    }
    if let Some(line) = best_line(start, end, metre, groups) {
        fill(start, line, metre, groups, found);
        fill(line, end, metre, groups, found);
        return;
    }
    let mut value = Time::new(2, 1);
    // Lengths are exact; what is not a sum of halves of halves (a tuplet) is left as it is.
    for _ in 0..12 {
        if value <= end - start {
            break;
        }
        value = value / Time::new(2, 1);
    }
    let value = if value > end - start { end - start } else { value };
    found.push(value);
    fill(start + value, end, metre, groups, found);
}

/// Whether one note may last from `start` to `end`: it hides no line stronger than the place where it begins,
/// and in compound time nothing longer than a beat is undotted (metre handbook, rules 1, 3, 4).
pub(super) fn may_stand(start: Time, end: Time, metre: &Metre, groups: &[Time]) -> bool {
    let lines = lines(groups);
    let crossed = |at: &&Time| start < **at && **at < end;
    if !lines.iter().any(|at| crossed(&at)) {
        return true;
    }
    let on_line = start.is_zero() || lines.contains(&start);
    if metre.is_asymmetric() {
        let total = groups.iter().copied().sum::<Time>();
        return on_line && (lines.contains(&end) || end == total);
    }
    if metre.is_compound() {
        return on_line && (end - start).numerator() == 3;
    }
    on_line || !metre.strong_lines().iter().any(|at| crossed(&at))
}

/// Where the groups of a bar meet.
pub(super) fn lines(groups: &[Time]) -> Vec<Time> {
    let mut at = Time::ZERO;
    let mut lines = Vec::new();
    for group in groups.iter().take(groups.len().saturating_sub(1)) {
        at += *group;
        lines.push(at);
    }
    lines
}

/// The line to cut at: one that leaves the fewest values, a middle line before others; of equals the last from
/// the beginning of the bar, so that the long note comes first, else the first.
fn best_line(start: Time, end: Time, metre: &Metre, groups: &[Time]) -> Option<Time> {
    let strong = metre.strong_lines();
    let mut inside: Vec<Time> = lines(groups);
    inside.retain(|at| start < *at && *at < end);
    if start.is_zero() {
        inside.reverse();
    }
    let odd = |from: Time, to: Time| {
        usize::from(!is_one_value(to - from) || !may_stand(from, to, metre, groups))
    };
    inside.into_iter().min_by_key(|at| (odd(start, *at) + odd(*at, end), !strong.contains(at)))
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
        // Of five, four hide where the groups meet, whichever comes first.
        let four = values(Time::ZERO, Time::new(1, 2), &metre);
        assert_eq!(four, [Time::new(3, 8), Time::new(1, 8)]);
        let seven = Metre::parse("7/8").unwrap();
        assert_eq!(values(Time::ZERO, Time::new(1, 2), &seven), [Time::new(1, 2)]);
        let metre = Metre::parse("9/8").unwrap();
        assert_eq!(
            values(Time::new(1, 8), Time::new(5, 8), &metre),
            [Time::new(1, 4), Time::new(3, 8)]
        );
    }
    #[test]
    fn a_value_hides_no_line_stronger_than_its_place() {
        let check = |sign: &str, start: i64, length: i64, expected: &[i64]| {
            let metre = Metre::parse(sign).unwrap();
            let found = values(Time::new(start, 8), Time::new(length, 8), &metre);
            let expected: Vec<Time> = expected.iter().map(|n| Time::new(*n, 8)).collect();
            assert_eq!(found, expected, "{length} from {start} in {sign}");
        };
        check("4/4", 0, 8, &[8]);
        check("4/4", 2, 4, &[4]);
        check("4/4", 3, 2, &[1, 1]);
        check("4/4", 1, 6, &[3, 3]);
        check("4/4", 0, 5, &[4, 1]);
        check("3/4", 2, 4, &[4]);
        check("6/8", 0, 6, &[6]);
        check("6/8", 0, 4, &[3, 1]);
        check("6/8", 1, 4, &[2, 2]);
        check("9/8", 0, 9, &[6, 3]);
        check("9/8", 3, 6, &[6]);
        check("12/8", 0, 12, &[12]);
        check("2/2", 0, 6, &[6]);
    }
}
