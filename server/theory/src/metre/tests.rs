use super::*;

fn metre(text: &str) -> Metre {
    Metre::parse(text).unwrap()
}

/// A grouping in sixteenths, as the published tables count.
fn sixteenths(times: &[Time]) -> Vec<i64> {
    times.iter().map(|t| t.count_of(Time::new(1, 16)).unwrap()).collect()
}

/// The usual groups, the middle lines and whether the metre is compound, for each common signature.
#[test]
fn hierarchy_of_the_common_metres() {
    type Row = (&'static str, &'static [i64], &'static [i64], bool);
    let rows: [Row; 17] = [
        ("2/4", &[4, 4], &[4], false),                    // OpenLearn 3.6
        ("3/4", &[4, 4, 4], &[4, 8], false),              // OpenLearn 3.6
        ("4/4", &[4, 4, 4, 4], &[8], false),              // OpenLearn 3.6
        ("C", &[4, 4, 4, 4], &[8], false),                // OpenLearn 3.6
        ("C|", &[8, 8], &[8], false),                     // common practice, no source
        ("2/2", &[8, 8], &[8], false),                    // common practice, no source
        ("3/2", &[8, 8, 8], &[8, 16], false),             // common practice, no source
        ("4/2", &[8, 8, 8, 8], &[16], false),             // common practice, no source
        ("3/8", &[6], &[], false),                        // OpenLearn 3.6
        ("6/8", &[6, 6], &[6], true),                     // Open Music Theory, meter
        ("9/8", &[6, 6, 6], &[6, 12], true),              // Open Music Theory, meter
        ("12/8", &[6, 6, 6, 6], &[12], true),             // Open Music Theory, meter
        ("6/4", &[12, 12], &[12], true),                  // grouping lessons
        ("5/8", &[6, 4], &[6], false),                    // Integrated Music Theory; Buccheri
        ("7/8", &[4, 4, 6], &[4, 8], false),              // Integrated Music Theory; Buccheri
        ("2+2+2+3/8", &[4, 4, 4, 6], &[4, 8, 12], false), // Buccheri
        ("5/4", &[12, 8], &[12], false),                  // common practice, no source
    ];
    for (text, groups, lines, compound) in rows {
        let metre = metre(text);
        assert_eq!(sixteenths(&metre.groupings()[0]), groups, "{text}");
        assert_eq!(sixteenths(&metre.strong_lines()), lines, "{text}");
        assert_eq!(metre.is_compound(), compound, "{text}");
    }
}

#[test]
fn asymmetric_metres_leave_the_grouping_open() {
    let all = |text: &str| -> Vec<Vec<i64>> {
        metre(text).groupings().iter().map(|g| sixteenths(g)).collect()
    };
    assert_eq!(all("5/8"), [vec![6, 4], vec![4, 6]]);
    assert_eq!(all("7/8"), [vec![4, 4, 6], vec![6, 4, 4], vec![4, 6, 4], vec![8, 6]]);
    assert_eq!(all("8/8"), [vec![6, 6, 4], vec![6, 4, 6], vec![4, 6, 6]]);
    assert_eq!(all("7/4"), [vec![16, 12], vec![12, 16]]);
    assert_eq!(all("3+2/8"), [vec![6, 4]]);
    assert!(metre("7/8").is_asymmetric() && !metre("9/8").is_asymmetric());
}

#[test]
fn every_grouping_fills_its_bar() {
    for d in [1, 2, 4, 8, 16, 32, 64, 128] {
        for n in 1..=256 {
            let metre = Metre::fraction(n, d).unwrap();
            for grouping in metre.groupings() {
                assert_eq!(grouping.iter().copied().sum::<Time>(), metre.length().unwrap());
                let beams = metre.beam_spans(&grouping);
                assert_eq!(beams.iter().copied().sum::<Time>(), metre.length().unwrap(), "{metre}");
            }
            assert!(!metre.groupings().is_empty());
        }
    }
}

#[test]
fn signs_are_kept_as_typed() {
    for text in ["none", "C", "C|", "4/4", "6/8", "2+3/8", "3/4+3/8", "3+2/8+1/4"] {
        assert_eq!(metre(text).to_string(), text);
    }
    assert_eq!(metre(" ( 2 + 3 + 2 ) / 8 ").to_string(), "2+3+2/8");
    assert_eq!(metre("(4)/4"), Metre::fraction(4, 4).unwrap());
    assert_eq!(metre(""), Metre::FREE);
    assert_ne!(metre("C"), metre("4/4"));
    assert_eq!(Metre::additive(&[2, 3], 8).unwrap(), metre("2+3/8"));
}

#[test]
fn lengths() {
    assert_eq!(metre("(2+3+2)/8").length(), Some(Time::new(7, 8)));
    assert_eq!(metre("3/4+3/8").length(), Some(Time::new(9, 8)));
    assert_eq!(metre("3/4+3/8").unit(), Some(Time::new(1, 8)));
    assert_eq!(sixteenths(&metre("3/4+3/8").groupings()[0]), [4, 4, 4, 6]);
    assert_eq!(metre("C|").unit(), Some(Time::new(1, 2)));
    assert_eq!(metre("none").length(), None);
    assert!(metre("none").groupings().is_empty() && metre("none").strong_lines().is_empty());
}

/// abc standard v2.1, 3.1.7: below 0.75 a sixteenth, otherwise an eighth.
#[test]
fn unit_length_when_none_is_given() {
    for (text, denominator) in [("2/4", 16), ("5/8", 16), ("3/4", 8), ("6/8", 8), ("none", 8)] {
        assert_eq!(metre(text).default_unit_length(), Time::new(1, denominator), "{text}");
    }
}

#[test]
fn longest_beams_of_eighths() {
    for (text, spans) in [
        ("2/4", vec![8]),
        ("3/4", vec![12]),
        ("4/4", vec![8, 8]),
        ("C", vec![8, 8]),
        ("3/2", vec![8, 8, 8]),
        ("6/8", vec![6, 6]),
        ("6/4", vec![12, 12]),
        ("5/4", vec![4; 5]),
        ("3+2/4", vec![4; 5]),
        ("7/8", vec![4, 4, 6]),
    ] {
        let metre = metre(text);
        assert_eq!(sixteenths(&metre.beam_spans(&metre.groupings()[0])), spans, "{text}");
    }
}

#[test]
fn what_is_no_signature_is_said_calmly() {
    for (text, sentence) in [
        (
            "4/3",
            "“4/3” is not a time signature; its lower number is 1, 2, 4, 8, 16, 32, 64 or 128.",
        ),
        (
            "0/4",
            "“0/4” is not a time signature; its upper numbers add up to something from 1 to 256.",
        ),
        ("fast", "“fast” is not a time signature; one is written like 6/8, 2+3/8, C, C| or none."),
    ] {
        assert_eq!(Metre::parse(text).unwrap_err().to_string(), sentence);
    }
    for text in [
        "4",
        "/4",
        "4/",
        "4//4",
        "(2+3/8",
        "2+3)/8",
        "2++3/8",
        "-3/4",
        "1 2/8",
        "257/4",
        "4/256",
        "200+200/8",
        "99999999999999999999/4",
        "4/99999999999999999999",
        "3/4+",
        "+3/4",
        "¾",
        "4/0",
    ] {
        assert!(Metre::parse(text).is_err(), "{text}");
    }
    assert!(Metre::additive(&[], 8).is_err() && Metre::additive(&[2, 0], 8).is_err());
}

#[test]
fn beats_told_apart_from_the_sign() {
    for (sign, beats, groups) in [
        ("7/8", "3+2+2", vec![6, 4, 4]),
        ("4/4", "3+3+2/8", vec![6, 6, 4]),
        ("C", "3+3+2/8", vec![6, 6, 4]),
        ("9/8", "2+2+2+3", vec![4, 4, 4, 6]),
        ("5/4", "(2+3)", vec![8, 12]),
    ] {
        let told = metre(sign).grouped(beats).unwrap();
        assert_eq!(told.to_string(), sign);
        assert_eq!(told.groupings().iter().map(|g| sixteenths(g)).collect::<Vec<_>>(), [groups]);
        assert_eq!(told.beats().len(), 1, "{sign} as {beats}");
        assert_ne!(told, metre(sign));
    }
    let rumba = metre("4/4").grouped("3+3+2/8").unwrap();
    assert_eq!(sixteenths(&rumba.beam_spans(&rumba.groupings()[0])), [6, 6, 4]);
    let said = metre("4/4").grouped("3+3+2").unwrap_err().to_string();
    assert_eq!(said, "The beats “3+3+2” are longer or shorter than the bar.");
    assert!(metre("none").grouped("3+2").is_err() && metre("4/4").grouped("two").is_err());
}
