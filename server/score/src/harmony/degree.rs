//! Degrees: Roman numerals with figures.
//!
//! Upper case has a major third, lower case a minor one; `o` is diminished, `ø` half-diminished, `+` augmented.
//! Figures count from the bass: 6, 64; 7, 65, 43, 42. The sixth and seventh degrees of minor are read where their
//! chord stands: VI and VII on the lowered, vii on the raised note. (Open Music Theory, "Roman numerals", "Applied
//! chords", "Modal mixture", "The Neapolitan", "Augmented sixth chords".)

use super::chords::{Heard, Leads};
use super::keys::{Local, resolves};
use recte_theory::chord::{Chord, Family};

const NUMERALS: [&str; 7] = ["I", "II", "III", "IV", "V", "VI", "VII"];

/// The degree of a chord in its key; what it leads to, where it is borrowed from another.
pub(super) fn degree(heard: Heard, chord: &Chord, key: Local, next: Option<Heard>) -> String {
    if chord.quality.family == Family::AugmentedSixth {
        return augmented_sixth(chord);
    }
    let members = chord.quality.intervals.len();
    let figures = colour(chord).unwrap_or_else(|| figures(members, chord.inversion).to_owned());
    if let Some(goal) = applied(heard, key, next) {
        let over = numeral(goal - key.tonic, key, of_key_is_minor(goal, key), "");
        let own = Local { tonic: goal, minor: false };
        return format!("{}{figures}/{over}", with_sign(heard, own));
    }
    format!("{}{figures}", with_sign(heard, key))
}

/// "Ger65": the figures of its usual place, with the lowered sixth degree in the bass.
fn augmented_sixth(chord: &Chord) -> String {
    match chord.quality.name.as_str() {
        "Italian sixth" => "It6".to_owned(),
        "German sixth" => "Ger65".to_owned(),
        "French sixth" => "Fr43".to_owned(),
        other => other.to_owned(),
    }
}

/// The goal, on the line of fifths, of a chord that is not the key's own and leads to one that is.
fn applied(heard: Heard, key: Local, next: Option<Heard>) -> Option<i32> {
    let kind = heard.kind();
    let own = kind.members.iter().all(|member| key.has(heard.root + member));
    let tonic_seventh = heard.root == key.tonic && kind.members.len() > 3;
    let goal = match kind.leads {
        Leads::AFifthDown => heard.root - 1,
        Leads::AHalfStepUp => heard.root - 5,
        Leads::Nowhere => return None,
    };
    // A plain major triad with no other sign of it is borrowed only if it goes there.
    let goes = next.is_some_and(|next| resolves(heard, next));
    let leads = goes || kind.members.len() > 3 || kind.leads == Leads::AHalfStepUp;
    let augmented = kind.members.get(2) == Some(&8);
    let picardy = key.minor && heard.root == key.tonic && !goes;
    let fits = !own && leads && !augmented && !picardy && goal != key.tonic && key.has(goal);
    (fits || (tonic_seventh && !own && goes)).then_some(goal)
}

/// Whether the triad on a name of the key is minor (or diminished).
fn of_key_is_minor(name: i32, key: Local) -> bool {
    !key.has(name + 4) || (key.minor && matches!(name - key.tonic, -1 | 0))
}

/// What stands beside the numeral of a chord that is neither a triad nor a seventh: "sus4", "add6", "9".
fn colour(chord: &Chord) -> Option<String> {
    let sixth = matches!(chord.quality.family, Family::Sixth);
    let symbol = chord.quality.symbol.as_deref().unwrap_or_default();
    match chord.quality.family {
        Family::Triad | Family::Seventh if !symbol.contains("sus") => None,
        Family::Dyad => Some(String::new()),
        _ => {
            // Case says major or minor; the key says which seventh.
            let plain = symbol.trim_start_matches("maj").trim_start_matches('m');
            let plain = plain.replace('♯', "#").replace('♭', "b").replace(['(', ')', '/'], "");
            Some(if sixth { format!("add{plain}") } else { plain })
        }
    }
}

/// The numeral of a chord's root, with its case and its sign. Where no third sounds, that of the key is meant.
fn with_sign(heard: Heard, key: Local) -> String {
    let members = &heard.kind().members;
    let minor = match members.get(1) {
        Some(-3) => true,
        Some(4) => false,
        _ => of_key_is_minor(heard.root, key),
    };
    let sign = match (members.get(2), members.get(3)) {
        (Some(-6), Some(-2)) => "ø",
        (Some(-6), _) if minor => "o",
        (Some(8), _) => "+",
        _ => "",
    };
    numeral(heard.root - key.tonic, key, minor, sign)
}

/// The numeral of a place on the line of fifths from the tonic.
fn numeral(root: i32, key: Local, minor: bool, sign: &str) -> String {
    // From −1 (the fourth) to 5 (the seventh) stand the degrees of major, each a further fifth.
    let step = (4 * root).rem_euclid(7) as usize;
    let usual = match step {
        0 | 1 | 3 | 4 => [0, 2, 0, -1, 1][step],
        // Third, sixth and seventh are lower in minor; the chord on the leading note keeps it.
        2 => [4, -3][usize::from(key.minor)],
        5 => [3, -4][usize::from(key.minor)],
        _ if key.minor && !(minor && root == 5) => -2,
        _ => 5,
    };
    let altered = (root - usual) / 7;
    let accidental = match altered {
        0 => String::new(),
        up if up > 0 => "#".repeat(up as usize),
        down => "b".repeat(down.unsigned_abs() as usize),
    };
    let letters = NUMERALS[step];
    let letters = if minor { letters.to_lowercase() } else { letters.to_owned() };
    format!("{accidental}{letters}{sign}")
}

/// What stands over the bass.
fn figures(members: usize, inversion: u8) -> &'static str {
    let triads = ["", "6", "64"];
    let sevenths = ["7", "65", "43", "42"];
    let figures: &[&str] = if members > 3 { &sevenths } else { &triads };
    figures.get(usize::from(inversion)).copied().unwrap_or("")
}
