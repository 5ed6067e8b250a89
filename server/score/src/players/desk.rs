//! Which instruments one player changes between.

use recte_theory::instruments::{Family, Instrument};

/// Parts of ids, group by group: a player of one of them is asked for the others (common practice, no source).
const GROUPS: [&[&str]; 9] = [
    &["flute", "piccolo", "recorder", "whistle"],
    &["oboe", "english-horn"],
    &["clarinet", "basset-horn"],
    &["bassoon"],
    &["saxophone"],
    &["horn-in-f", "natural-horn", "wagner-tuba", "mellophone"],
    &["trumpet", "cornet", "flugelhorn"],
    &["trombone", "tuba", "euphonium", "cimbasso", "sousaphone", "baritone-horn"],
    &["guitar", "mandol", "banjo", "ukulele", "lute"],
];

fn group(instrument: &Instrument) -> Option<usize> {
    // "piccolo-trumpet" is a trumpet: the last word counts.
    let place = |part: &&str| instrument.id.rfind(*part);
    let last = |group: &&[&str]| group.iter().filter_map(place).max();
    let all = GROUPS.iter().enumerate().filter_map(|(at, group)| Some((last(group)?, at)));
    all.max().map(|(_, at)| at)
}

/// Whether one player may be asked for both.
pub(super) fn same_desk(a: &Instrument, b: &Instrument) -> bool {
    let one_player = |family| matches!(family, Family::Percussion | Family::Keyboard);
    a.id == b.id
        || a.family == b.family
            && (one_player(a.family) || group(a).is_some() && group(a) == group(b))
}

/// Whether a part may go from one to the other, where its words say so.
pub(super) fn same_family(a: &Instrument, b: &Instrument) -> bool {
    a.family == b.family && !matches!(a.family, Family::Voice | Family::Strings)
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_theory::instruments::by_id;

    #[test]
    fn desks() {
        let same = |a: &str, b: &str| same_desk(by_id(a).unwrap(), by_id(b).unwrap());
        for (a, b) in [
            ("flute", "piccolo"),
            ("oboe", "english-horn"),
            ("clarinet-in-b-flat", "bass-clarinet"),
            ("trumpet-in-c", "piccolo-trumpet"),
            ("xylophone", "snare-drum"),
            ("piano", "celesta"),
            ("violin", "violin"),
        ] {
            assert!(same(a, b), "{a} {b}");
        }
        for (a, b) in [
            ("flute", "piccolo-trumpet"),
            ("flute", "oboe"),
            ("horn-in-f", "english-horn"),
            ("violin", "viola"),
            ("soprano", "contralto"),
            ("cello", "double-bass"),
        ] {
            assert!(!same(a, b), "{a} {b}");
        }
    }
}
