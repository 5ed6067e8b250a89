use super::*;

fn beats(metre: &str) -> Beats {
    Metre::parse(metre).unwrap().beats().swap_remove(0)
}

const SIXTEENTH: Ticks = WHOLE / 16;

fn sixteenths(all: &[Ticks]) -> Vec<i64> {
    all.iter().map(|ticks| ticks / SIXTEENTH).collect()
}

/// The weights of the table of metres, sixteenth by sixteenth.
#[test]
fn weights() {
    for (metre, expected) in [
        ("4/4", &[0, 4, 3, 4, 2, 4, 3, 4, 1, 4, 3, 4, 2, 4, 3, 4][..]),
        ("2/2", &[0, 5, 4, 5, 3, 5, 4, 5, 1, 5, 4, 5, 3, 5, 4, 5]),
        ("3/4", &[0, 4, 3, 4, 1, 4, 3, 4, 1, 4, 3, 4]),
        ("6/8", &[0, 4, 3, 4, 3, 4, 1, 4, 3, 4, 3, 4]),
        ("12/8", &[0, 4, 3, 4, 3, 4, 2, 4, 3, 4, 3, 4, 1]),
        ("3+2/8", &[0, 4, 3, 4, 3, 4, 1, 4, 3, 4]),
        ("5/4", &[0, 4, 3, 4, 2, 4, 3, 4, 2, 4, 3, 4, 1]),
    ] {
        let beats = beats(metre);
        let found: Vec<u8> =
            (0..expected.len() as Ticks).map(|at| beats.weight(at * SIXTEENTH)).collect();
        assert_eq!(found, expected, "{metre}");
    }
}

#[test]
fn what_a_value_hides() {
    let hidden = |metre: &str, start: i64, end: i64| {
        let line = beats(metre).hidden(start * SIXTEENTH, end * SIXTEENTH, |_| false);
        line.map(|line| line / SIXTEENTH)
    };
    assert_eq!(hidden("4/4", 6, 10), Some(8));
    assert_eq!(hidden("4/4", 4, 12), None);
    assert_eq!(hidden("6/8", 0, 8), Some(6));
    assert_eq!(hidden("6/8", 0, 12), None);
    assert_eq!(hidden("2+2+3/8", 4, 10), Some(8));
    assert_eq!(hidden("3/4", 2, 6), Some(4));
}

#[test]
fn what_shows_it() {
    let shown = |metre: &str, start: i64, end: i64| {
        sixteenths(&beats(metre).shown(start * SIXTEENTH, end * SIXTEENTH, &|_| false))
    };
    assert_eq!(shown("4/4", 2, 10), [6, 2]);
    assert_eq!(shown("3/4", 2, 10), [2, 4, 2]);
    assert_eq!(shown("12/8", 8, 16), [4, 4]);
}

#[test]
fn rests_by_the_beat() {
    let rests = |metre: &str, start: i64, end: i64| {
        sixteenths(&beats(metre).rests(start * SIXTEENTH, end * SIXTEENTH))
    };
    assert_eq!(rests("4/4", 2, 16), [2, 4, 8]);
    assert_eq!(rests("6/8", 2, 12), [2, 2, 6]);
    assert_eq!(rests("6/8", 0, 4), [4]);
    assert_eq!(rests("12/8", 6, 24), [6, 12]);
    assert_eq!(rests("3/4", 0, 8), [4, 4]);
}

/// Common practice, no source: an open signature may be any order of twos and threes; a sum is only itself.
#[test]
fn readings() {
    let count = |metre: &str| Metre::parse(metre).unwrap().beats().len();
    assert_eq!((count("5/8"), count("2+3/8"), count("6/8"), count("none")), (2, 1, 1, 0));
    // 2+2+3, 3+2+2, 2+3+2, and 4+3.
    assert_eq!(count("7/8"), 4);
    assert_eq!(count("23/8"), 0);
}

#[test]
fn ticks_are_exact() {
    for time in [Time::new(1, 4), Time::new(3, 16), Time::new(1, 12), Time::new(1, 20)] {
        assert_eq!(super::time(ticks(time).unwrap()), time);
    }
    assert_eq!(ticks(Time::new(1, 11)), None);
    assert!(
        is_one_value(WHOLE / 4) && is_one_value(WHOLE * 7 / 16) && !is_one_value(WHOLE * 5 / 16)
    );
}
