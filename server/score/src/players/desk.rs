//! Which instruments one player changes between.

use recte_theory::instruments::{Family, Instrument};

/// Words of ids, group by group: a player of one of them is asked for the others (common practice, no source).
const GROUPS: [&[&str]; 9] = [
    &["flute", "piccolo", "recorder", "whistle"],
    &["oboe", "english-horn"],
    &["clarinet", "basset-horn"],
    &["bassoon", "contrabassoon"],
    &["saxophone"],
    &["horn-in-f", "natural-horn", "wagner-tuba", "mellophone"],
    &["trumpet", "cornet", "flugelhorn"],
    &["trombone", "tuba", "euphonium", "cimbasso", "sousaphone", "baritone-horn"],
    &["guitar", "mandolin", "mandola", "banjo", "ukulele", "lute"],
];

fn group(instrument: &Instrument) -> Option<usize> {
    let id = format!("-{}-", instrument.id);
    // The longest word counts, and the last of those: "piccolo-trumpet" is a trumpet.
    let place = |word: &&str| Some((word.len(), id.rfind(&format!("-{word}-"))?));
    let all = GROUPS.iter().zip(0..);
    let all = all.filter_map(|(words, at)| Some((words.iter().filter_map(place).max()?, at)));
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
            ("bassoon", "contrabassoon"),
            ("horn-in-f", "wagner-tuba-in-f"),
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
