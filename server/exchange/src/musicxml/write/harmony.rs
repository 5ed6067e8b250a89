//! Chord symbols as `harmony`: a root, a kind, and the degrees by which the chord differs from that kind.

use super::xml::{Attributes, Xml};
use recte_theory::PitchName;
use recte_theory::chord::Chord;

/// The kinds of the standard, with the degrees above the root and their semitones.
const KINDS: [(&str, &[(i32, i32)]); 27] = [
    ("major", &[(3, 4), (5, 7)]),
    ("minor", &[(3, 3), (5, 7)]),
    ("augmented", &[(3, 4), (5, 8)]),
    ("diminished", &[(3, 3), (5, 6)]),
    ("power", &[(5, 7)]),
    ("suspended-fourth", &[(4, 5), (5, 7)]),
    ("suspended-second", &[(2, 2), (5, 7)]),
    ("dominant", &[(3, 4), (5, 7), (7, 10)]),
    ("major-seventh", &[(3, 4), (5, 7), (7, 11)]),
    ("minor-seventh", &[(3, 3), (5, 7), (7, 10)]),
    ("diminished-seventh", &[(3, 3), (5, 6), (7, 9)]),
    ("augmented-seventh", &[(3, 4), (5, 8), (7, 10)]),
    ("half-diminished", &[(3, 3), (5, 6), (7, 10)]),
    ("major-minor", &[(3, 3), (5, 7), (7, 11)]),
    ("major-sixth", &[(3, 4), (5, 7), (6, 9)]),
    ("minor-sixth", &[(3, 3), (5, 7), (6, 9)]),
    ("dominant-ninth", &[(3, 4), (5, 7), (7, 10), (9, 14)]),
    ("major-ninth", &[(3, 4), (5, 7), (7, 11), (9, 14)]),
    ("minor-ninth", &[(3, 3), (5, 7), (7, 10), (9, 14)]),
    ("dominant-11th", &[(3, 4), (5, 7), (7, 10), (9, 14), (11, 17)]),
    ("major-11th", &[(3, 4), (5, 7), (7, 11), (9, 14), (11, 17)]),
    ("minor-11th", &[(3, 3), (5, 7), (7, 10), (9, 14), (11, 17)]),
    // The eleventh of a thirteenth chord is usually left out, and the chord table leaves it out.
    ("dominant-13th", &[(3, 4), (5, 7), (7, 10), (9, 14), (13, 21)]),
    ("major-13th", &[(3, 4), (5, 7), (7, 11), (9, 14), (13, 21)]),
    ("minor-13th", &[(3, 3), (5, 7), (7, 10), (9, 14), (13, 21)]),
    ("dominant-13th", &[(3, 4), (5, 7), (7, 10), (9, 14), (11, 17), (13, 21)]),
    ("major-13th", &[(3, 4), (5, 7), (7, 11), (9, 14), (11, 17), (13, 21)]),
];

/// How a chord differs from a kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Degree {
    value: i32,
    alter: i32,
    what: &'static str,
}

/// The kind that needs the fewest degrees, and those.
fn kind_of(chord: &Chord) -> (&'static str, Vec<Degree>) {
    let own: Vec<(i32, i32)> = chord
        .quality
        .intervals
        .iter()
        .filter(|interval| interval.steps > 0)
        .map(|interval| (interval.steps + 1, interval.semitones))
        .collect();
    let differs = |kind: &[(i32, i32)]| -> Vec<Degree> {
        let mut degrees = Vec::new();
        for &(value, semitones) in &own {
            match kind.iter().find(|(degree, _)| *degree == value) {
                Some((_, usual)) if *usual == semitones => {}
                Some((_, usual)) => {
                    degrees.push(Degree { value, alter: semitones - usual, what: "alter" });
                }
                None => degrees.push(Degree {
                    value,
                    alter: semitones - usual_size(value),
                    what: "add",
                }),
            }
        }
        for &(value, _) in kind.iter().filter(|(v, _)| own.iter().all(|(o, _)| o != v)) {
            degrees.push(Degree { value, alter: 0, what: "subtract" });
        }
        degrees
    };
    let all = KINDS.iter().map(|(name, kind)| (*name, differs(kind)));
    all.min_by_key(|(_, degrees)| degrees.len()).unwrap_or(("other", Vec::new()))
}

/// What an added degree is counted from: major and perfect, but a minor seventh.
fn usual_size(degree: i32) -> i32 {
    const SIZES: [i32; 7] = [0, 2, 4, 5, 7, 9, 10];
    let steps = degree - 1;
    SIZES[steps.rem_euclid(7) as usize] + 12 * steps.div_euclid(7)
}

/// Writes a chord symbol; `false` if it names no chord that is known.
pub(super) fn harmony(xml: &mut Xml, symbol: &str) -> bool {
    let Some(chord) = Chord::from_symbol(symbol) else { return false };
    let (kind, degrees) = kind_of(&chord);
    let typed = symbol.trim().replace('♯', "#").replace('♭', "b");
    let (body, below) = match typed.rsplit_once('/').filter(|_| chord.bass != chord.root) {
        Some((body, below)) => (body, below),
        None => (&typed[..], ""),
    };
    let suffix = body.get(chord.root.to_string().len()..).unwrap_or_default();
    xml.within("harmony", &[("placement", "above")], |xml| {
        xml.within("root", &[], |xml| name(xml, "root", chord.root, &[]));
        xml.text("kind", &[("text", suffix)], kind);
        if chord.bass != chord.root {
            // Some type the bass as a small letter.
            let small =
                below.get(..1).filter(|letter| letter.bytes().all(|b| b.is_ascii_lowercase()));
            let shown: Vec<_> = small.map(|letter| ("text", letter)).into_iter().collect();
            xml.within("bass", &[], |xml| name(xml, "bass", chord.bass, &shown));
        }
        for degree in &degrees {
            // The suffix says it already.
            xml.within("degree", &[("print-object", "no")], |xml| {
                xml.number("degree-value", degree.value.into());
                xml.number("degree-alter", degree.alter.into());
                xml.text("degree-type", &[], degree.what);
            });
        }
    });
    true
}

fn name(xml: &mut Xml, what: &str, name: PitchName, shown: Attributes<'_>) {
    xml.text(&format!("{what}-step"), shown, &name.letter.to_char().to_string());
    if name.alter != 0 {
        xml.number(&format!("{what}-alter"), name.alter.into());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(symbol: &str) -> String {
        let (kind, degrees) = kind_of(&Chord::from_symbol(symbol).unwrap());
        let shown = degrees.iter().map(|d| format!(" {} {} {}", d.what, d.value, d.alter));
        format!("{kind}{}", shown.collect::<String>())
    }

    #[test]
    fn kinds_and_degrees() {
        for (symbol, wanted) in [
            ("C", "major"),
            ("F#m", "minor"),
            ("G7", "dominant"),
            ("Bbmaj7/D", "major-seventh"),
            ("Dm7b5", "half-diminished"),
            ("C13", "dominant-13th"),
            ("Csus4", "suspended-fourth"),
            ("C7b9", "dominant add 9 -1"),
            ("Cadd9", "major add 9 0"),
            ("C5", "power"),
            ("C7sus4", "suspended-fourth add 7 0"),
            ("Cmaj7#11", "major-seventh add 11 1"),
        ] {
            assert_eq!(kind(symbol), wanted, "{symbol}");
        }
    }

    #[test]
    fn words_are_no_chords() {
        assert!(!harmony(&mut Xml::new(None), "Slowly"));
    }
}
