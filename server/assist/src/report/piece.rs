//! What a piece is: who plays, how long it is, its keys and metres.

use super::bars::Bars;
use super::listen::{Listening, seconds};
use crate::harmony::key_words;
use recte_review::Part;
use recte_score::clock::Clock;
use recte_score::{Tune, playing_order};
use recte_theory::{Key, Metre};

/// What a piece is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Piece {
    /// Composer and others the header names.
    pub by: Vec<String>,
    /// Who plays, in the order of the score; several of one name with their number.
    pub forces: Vec<String>,
    /// So many bars, a pickup not counted.
    pub bars: usize,
    /// So many as they are played, where repeats make more of them.
    pub played: Option<usize>,
    /// The seconds it takes as it is played, the shortest and the longest; none without a tempo.
    pub seconds: Option<(f64, f64)>,
    /// The tempi typed, with their bars.
    pub tempi: Vec<String>,
    /// The keys typed, with their bars.
    pub keys: Vec<String>,
    /// The metres, with their bars.
    pub metres: Vec<String>,
    /// Notes struck in all parts.
    pub strokes: usize,
}

/// Of a tune.
pub(super) fn piece(tune: &Tune, bars: &Bars, parts: &[Part<'_>], names: &[String]) -> Piece {
    let clock = Clock::of(tune);
    let order = playing_order(tune);
    let mut seconds: Option<(f64, f64)> = Some((0.0, 0.0));
    for bar in order.iter().filter_map(|bar| tune.bars.get(*bar as usize)) {
        let own = clock.between(bar.start, bar.start + bar.length);
        seconds = seconds.zip(own).map(|(sum, own)| (sum.0 + own.least, sum.1 + own.most));
    }
    let full = tune.bars.iter().filter(|bar| bar.number != 0).count();
    let pickup = tune.bars.first().is_some_and(|bar| bar.number == 0);
    let played = order.len() - usize::from(pickup && order.first() == Some(&0));
    Piece {
        by: tune.texts.iter().filter(|text| text.name == 'C').map(|t| t.text.clone()).collect(),
        forces: forces(parts, names),
        bars: full,
        played: (played > full).then_some(played),
        seconds: seconds.filter(|_| !order.is_empty()),
        tempi: tempi(tune, bars),
        keys: keys(tune, bars),
        metres: metres(tune, bars),
        strokes: parts.iter().map(|part| part.strokes).sum(),
    }
}

/// "2 Violins"? Names stay as typed; equal ones are counted: "Violin (2)".
fn forces(parts: &[Part<'_>], names: &[String]) -> Vec<String> {
    let mut all: Vec<(String, usize)> = Vec::new();
    let mut voices: Vec<usize> = Vec::new();
    for part in parts {
        // A player who changes his instrument is one player.
        let Some(first) = part.voices.first().filter(|voice| !voices.contains(voice)) else {
            continue;
        };
        voices.extend(&part.voices);
        let name = names.get(*first).cloned().unwrap_or_default();
        match all.iter_mut().find(|(known, _)| *known == name) {
            Some((_, count)) => *count += 1,
            None => all.push((name, 1)),
        }
    }
    let shown = |(name, count): (String, usize)| {
        if count > 1 { format!("{name} ({count})") } else { name }
    };
    all.into_iter().map(shown).collect()
}

fn tempi(tune: &Tune, bars: &Bars) -> Vec<String> {
    let one = |tempo: &recte_score::Tempo| {
        let beats: Vec<String> = tempo.beats.iter().map(ToString::to_string).collect();
        let number = tempo.per_minute.map(|n| format!("{} = {n}", beats.join(" ")));
        let said = [tempo.text.clone(), number];
        let said: Vec<String> =
            said.into_iter().flatten().filter(|text| !text.is_empty()).collect();
        let first = tempo.bar == 0;
        let place =
            if first { String::new() } else { format!(" from bar {}", bars.name(tempo.bar)) };
        (!said.is_empty()).then(|| format!("{}{place}", said.join(", ")))
    };
    tune.tempi.iter().filter_map(one).collect()
}

/// The signatures of a part that reads what sounds, else of the first.
fn keys(tune: &Tune, bars: &Bars) -> Vec<String> {
    let plain = tune.voices.iter().find(|v| v.transpose == 0 && !v.clef.is_percussion());
    let Some(voice) = plain.or(tune.voices.first()) else { return Vec::new() };
    let of = |bar: &recte_score::Bar| tune.keys.get(bar.key as usize).map(typed_key);
    with_bars(voice.bars.iter().map(of), bars)
}

fn typed_key(key: &Key) -> String {
    match key.tonic {
        Some(_) => key_words(key),
        None => "no key".to_owned(),
    }
}

fn metres(tune: &Tune, bars: &Bars) -> Vec<String> {
    let all = (0..tune.bars.len() as u32).map(|bar| tune.metre_of(bar).map(metre_words));
    let mut found = with_bars(all, bars);
    // Where it changes from bar to bar, the metres alone.
    if found.len() > MANY {
        let mut names: Vec<String> = found
            .iter()
            .filter_map(|text| text.split(" from ").next())
            .map(str::to_owned)
            .collect();
        names.sort();
        names.dedup();
        let changes = found.len() - 1;
        found = vec![format!("{}; {changes} changes", names.join(", "))];
    }
    found
}

/// So many changes are told one by one.
const MANY: usize = 6;

fn metre_words(metre: &Metre) -> String {
    match metre.to_string().as_str() {
        "none" => "free metre".to_owned(),
        "C" => "4/4 (common time)".to_owned(),
        "C|" => "2/2 (cut time)".to_owned(),
        other => other.to_owned(),
    }
}

/// Each with the bar from which it holds: "G major", "D major from bar 9".
fn with_bars(all: impl Iterator<Item = Option<String>>, bars: &Bars) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut last: Option<String> = None;
    for (bar, own) in (0u32..).zip(all) {
        let Some(own) = own.filter(|own| last.as_ref() != Some(own)) else { continue };
        found.push(match last {
            None => own.clone(),
            Some(_) => format!("{own} from bar {}", bars.name(bar)),
        });
        last = Some(own);
    }
    found
}

/// "1 min 24 s", "36 s", "1 min 20 s to 2 min".
pub fn duration((least, most): (f64, f64)) -> String {
    let (least, most) = (least.round() as u64, most.round() as u64);
    let one = |seconds: u64| match (seconds / 60, seconds % 60) {
        (0, rest) => format!("{rest}\u{a0}s"),
        (minutes, 0) => format!("{minutes}\u{a0}min"),
        (minutes, rest) => format!("{minutes}\u{a0}min {rest}\u{a0}s"),
    };
    if least == most { one(least) } else { format!("{} to {}", one(least), one(most)) }
}

/// The seconds of some bars on the page; none where no tempo is typed.
pub(super) fn seconds_of(
    tune: &Tune,
    listening: &Listening,
    (from, to): (u32, u32),
) -> Option<f64> {
    let (from, to) = (tune.bars.get(from as usize)?, tune.bars.get(to as usize)?);
    listening.told.then(|| seconds(&Clock::of(tune), from.start, to.start + to.length))?
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;
    use recte_review::{Around, Config, parts_of};

    #[test]
    fn what_it_is() {
        let text = "X:1\nC:A. Nemo\nM:3/4\nL:1/4\nQ:\"Calm\" 1/4=60\n%%score 1 2 3\nV:1 name=\"Violin\"\n\
            V:2 name=\"Violin\"\nV:3 name=\"Cello\" clef=bass\nK:G\n[V:1]|:d3|e3:|[M:2/4][K:D]f2|]\n\
            [V:2]|:d3|e3:|[M:2/4][K:D]f2|]\n[V:3]|:G,3|C3:|[M:2/4][K:D]D2|]\n";
        let document = Document::new(text);
        let (_, block) = document.blocks().next().unwrap();
        let tune = &block.lowered().tune;
        let (config, around) = (Config::default(), Around::default());
        let parts = parts_of(block, &config, &around);
        let names: Vec<String> = tune.voices.iter().map(recte_review::words::voice).collect();
        let piece = piece(tune, &Bars::of(tune, None), &parts, &names);
        assert_eq!(piece.forces, ["Violin (2)", "Cello"]);
        assert_eq!((piece.bars, piece.played), (3, Some(5)));
        assert_eq!(piece.seconds, Some((14.0, 14.0)));
        assert_eq!(piece.tempi, ["Calm, 1/4 = 60"]);
        assert_eq!(piece.keys, ["G major", "D major from bar 3"]);
        assert_eq!(piece.metres, ["3/4", "2/4 from bar 3"]);
    }

    #[test]
    fn durations() {
        assert_eq!(duration((36.2, 36.4)), "36\u{a0}s");
        assert_eq!(duration((80.0, 120.0)).replace('\u{a0}', " "), "1 min 20 s to 2 min");
    }
}
