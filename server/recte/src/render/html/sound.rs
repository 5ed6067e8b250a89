//! The sounds of a page as compact JSON that `player.js` reads.
//!
//! A part is a text: for each sound its row in a table of rhythms (step since the one before, length, loudness), then its key
//! above the lowest, each as digits in signs that neither JSON nor HTML minds.

use recte_assist::report::{Listening, Sounds, TuneReport};
use serde::Serialize;
use std::collections::BTreeMap;

/// What a row of the table holds.
type Rhythm = (i64, i64, u8);

#[derive(Serialize)]
struct SoundsJson {
    /// Each part's name, and 1 if its notes have a pitch.
    parts: Vec<(String, u8)>,
    /// Start, length and seconds of each bar.
    bars: Vec<f64>,
    /// Digits of a row.
    w: usize,
    /// Digits of a key.
    k: usize,
    /// The lowest key.
    low: i32,
    /// The rows.
    r: Vec<i64>,
    /// The parts.
    s: Vec<String>,
    /// The parts of each proposal.
    p: Vec<Vec<String>>,
    /// The last draft.
    #[serde(skip_serializing_if = "Option::is_none")]
    o: Option<LastJson>,
}

/// The last draft as far as it can be heard, in the same parts and some that are gone.
#[derive(Serialize)]
struct LastJson {
    bars: Vec<f64>,
    s: Vec<String>,
}

/// What can be heard of the last draft.
fn last(report: &TuneReport) -> Option<&Listening> {
    report.since.as_ref().map(|since| &since.listening).filter(|last| !last.sounds.is_empty())
}

/// The parts that can be silenced: those of the tune, then those that only the last draft has.
pub(super) fn parts(report: &TuneReport) -> Vec<(String, bool)> {
    let own = &report.listening.parts;
    let gone = last(report).and_then(|last| last.parts.get(own.len()..)).unwrap_or_default();
    own.iter().chain(gone).cloned().collect()
}

/// Start, length and seconds of each bar.
fn bars(listening: &Listening) -> Vec<f64> {
    let thousandths = |seconds: f64| (seconds * 1000.0).round() / 1000.0;
    let one =
        |(start, length, s): &(i64, i64, f64)| [*start as f64, *length as f64, thousandths(*s)];
    listening.bars.iter().flat_map(one).collect()
}

/// The JSON of a tune and of what is proposed for it.
pub(super) fn json(report: &TuneReport, proposals: &[&Sounds]) -> String {
    let last = last(report);
    let whole = [Some(&report.listening.sounds), last.map(|last| &last.sounds)];
    let whole: Vec<&Sounds> = whole.into_iter().flatten().collect();
    let all = || whole.iter().chain(proposals).flat_map(|sounds| &sounds.0);
    let mut counts: BTreeMap<Rhythm, usize> = BTreeMap::new();
    all().for_each(|part| rhythms(part).for_each(|row| *counts.entry(row).or_default() += 1));
    let rows: Vec<Rhythm> = counts.keys().copied().collect();
    let keys = || all().flatten().map(|sound| sound.midi);
    let (low, high) = (keys().min().unwrap_or(0), keys().max().unwrap_or(0));
    let signs = signs();
    let width = digits(rows.len(), signs.len());
    let k = digits((high - low + 1).max(1) as usize, signs.len());
    let of = |part: &Vec<recte_assist::report::Sound>| {
        let mut text = String::with_capacity(part.len() * (width + k));
        for (row, sound) in rhythms(part).zip(part) {
            let at = rows.binary_search(&row).unwrap_or_default();
            write(&mut text, at, width, &signs);
            write(&mut text, (sound.midi - low).max(0) as usize, k, &signs);
        }
        text
    };
    let parts = parts(report).into_iter().map(|(name, pitched)| (name, u8::from(pitched)));
    let value = SoundsJson {
        parts: parts.collect(),
        bars: bars(&report.listening),
        w: width,
        k,
        low,
        r: rows
            .iter()
            .flat_map(|(step, length, level)| [*step, *length, i64::from(*level)])
            .collect(),
        s: report.listening.sounds.0.iter().map(of).collect(),
        p: proposals.iter().map(|sounds| sounds.0.iter().map(of).collect()).collect(),
        o: last
            .map(|last| LastJson { bars: bars(last), s: last.sounds.0.iter().map(of).collect() }),
    };
    // A name may hold "</script>"; within JSON "<" may be written so that HTML does not see it.
    serde_json::to_string(&value).unwrap_or_default().replace('<', "\\u003c")
}

fn rhythms(part: &[recte_assist::report::Sound]) -> impl Iterator<Item = Rhythm> + '_ {
    let before = std::iter::once(0).chain(part.iter().map(|sound| sound.onset));
    part.iter().zip(before).map(|(sound, before)| (sound.onset - before, sound.length, sound.level))
}

/// Printable signs that need no escape.
fn signs() -> Vec<char> {
    ('#'..='~').filter(|sign| !"&'<>\\".contains(*sign)).collect()
}

/// How many digits numbers below a count need.
fn digits(count: usize, base: usize) -> usize {
    (1..).find(|width| base.checked_pow(*width).is_none_or(|held| held >= count)).unwrap_or(1)
        as usize
}

fn write(text: &mut String, mut number: usize, width: usize, signs: &[char]) {
    let mut own = vec!['#'; width];
    for place in own.iter_mut().rev() {
        *place = signs.get(number % signs.len()).copied().unwrap_or('#');
        number /= signs.len();
    }
    text.extend(own);
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_assist::report::report;
    use recte_notation::Document;

    #[test]
    fn digits_and_signs() {
        let signs = signs();
        assert_eq!(signs.len(), 87);
        assert_eq!(
            [1, 87, 88, 7569, 7570].map(|count| digits(count, signs.len())),
            [1, 1, 2, 2, 3]
        );
        let mut text = String::new();
        write(&mut text, 88, 2, &signs);
        assert_eq!(text, "$$");
    }

    #[test]
    fn a_hostile_name_does_not_end_the_script() {
        let text = "X:1\nM:4/4\nL:1/4\nV:1 name=\"</script>\"\nV:2\nK:C\n[V:1]c4|\n[V:2]e4|\n";
        let tunes = report(&Document::new(text), &Default::default(), None);
        let json = json(&tunes[0], &[]);
        assert!(!json.contains('<') && json.contains("\\u003c/script>"), "{json}");
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(value["parts"][0][0], "</script>");
        assert_eq!(value["s"][1].as_str().unwrap().len(), 2);
    }
}
