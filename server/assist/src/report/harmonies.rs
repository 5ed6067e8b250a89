//! The harmonies bar by bar, the local keys, and what they show.
//!
//! A chord is told once in a bar: where only its bass goes to its fifth (the arpeggiated six-four, Open Music Theory, from
//! memory), or it is struck again, the strip goes on with it. A six-four before the dominant on its bass is told.

use crate::harmony::{Harmonies, Told, key_words, numerals};
use recte_notation::Block;
use recte_score::harmony::cadences;
use recte_score::texture::{Vocabulary, Word, vocabulary};
use recte_theory::{Key, Time};
use std::collections::BTreeMap;

/// The harmonies of a tune.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HarmonyStrip {
    /// Bar by bar what begins in it.
    pub bars: Vec<Vec<Chord>>,
    /// The local keys, in time; a key that passes for less than a bar belongs to the one before.
    pub keys: Vec<KeyStretch>,
    /// Where phrases end, and how: the bar, by index, and "half cadence in G major".
    pub cadences: Vec<(u32, String)>,
    /// The chords, and how predictable they are.
    pub vocabulary: Vocabulary,
}

/// A chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chord {
    /// The beat it begins on, counted from 1.
    pub beat: Time,
    /// "Am7/C".
    pub symbol: String,
    /// "V65".
    pub degree: String,
}

/// A stretch of one key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyStretch {
    /// Its first bar, by index.
    pub from: u32,
    /// Its last bar.
    pub to: u32,
    /// "E minor".
    pub key: String,
}

/// The harmonies of a block.
pub(super) fn strip(block: &Block) -> HarmonyStrip {
    let tune = &block.lowered().tune;
    let told = Harmonies::of(block);
    let end = tune.bars.last().map_or(Time::ZERO, |bar| bar.start + bar.length);
    let told = told.between(Time::ZERO, end);
    let mut bars: Vec<Vec<Chord>> = vec![Vec::new(); tune.bars.len()];
    let mut keys: Vec<(u32, &Key)> = Vec::new();
    let mut words: BTreeMap<&str, usize> = BTreeMap::new();
    let mut shown: Option<&Told<'_>> = None;
    for (at, one) in told.iter().enumerate() {
        let heading = one.heading;
        let Some(bar) = bars.get_mut(one.bar as usize) else { continue };
        if !shown.is_some_and(|before| goes_on(before, one, told.get(at + 1))) {
            bar.push(Chord {
                beat: tune.beat_at(one.bar, one.onset),
                symbol: heading.chord.symbol(),
                degree: numerals(&heading.degree),
            });
            *words.entry(&heading.degree).or_default() += 1;
            shown = Some(one);
        }
        match keys.last_mut() {
            Some((_, key)) if **key == heading.key => {}
            // What lasts less than a bar is passing.
            Some((from, key)) if *from == one.bar => *key = &heading.key,
            _ => keys.push((one.bar, &heading.key)),
        }
    }
    keys.dedup_by(|later, earlier| later.1 == earlier.1);
    let last = (tune.bars.len() as u32).saturating_sub(1);
    let ends = keys.iter().skip(1).map(|(from, _)| from.saturating_sub(1)).chain([last]);
    let stretches = keys.iter().zip(ends);
    let stretches = stretches.map(|((from, key), to)| KeyStretch {
        from: *from,
        to: to.max(*from),
        key: key_words(key),
    });
    let all = block.harmonies();
    let heard: Vec<Time> = told.iter().map(|one| one.onset).collect();
    let found = cadences(tune, all).into_iter().filter_map(|cadence| {
        let at = all.get(cadence.harmony)?;
        let name = format!("{} cadence in {}", cadence.kind.name(), key_words(&cadence.key));
        heard.contains(&at.onset).then_some((at.bar, name))
    });
    HarmonyStrip {
        keys: stretches.collect(),
        cadences: found.collect(),
        vocabulary: if told.is_empty() {
            Vocabulary::default()
        } else {
            Vocabulary { words: most_first(&words), ..vocabulary(all) }
        },
        bars,
    }
}

/// Whether a harmony is no more than the one shown before it in the same bar: struck again, or its bass at its fifth.
fn goes_on(before: &Told<'_>, one: &Told<'_>, next: Option<&Told<'_>>) -> bool {
    let (chord, heading) = (&before.heading.chord, &one.heading.chord);
    let same = (chord.root, chord.quality.order) == (heading.root, heading.quality.order)
        && before.bar == one.bar
        && before.heading.key == one.heading.key;
    // Before the dominant on its bass a six-four is one.
    let dominant = |degree: &str| degree.starts_with('V') && !degree.starts_with("VI");
    let cadential = || {
        let leads = |next: &Told<'_>| {
            next.heading.chord.root == heading.bass && dominant(&next.heading.degree)
        };
        next.is_some_and(leads)
    };
    same && (chord.bass == heading.bass || heading.inversion == 2 && !cadential())
}

/// The chords with how often each is told, the most frequent first.
fn most_first(words: &BTreeMap<&str, usize>) -> Vec<Word> {
    let word =
        |(degree, count): (&&str, &usize)| Word { degree: (*degree).to_owned(), count: *count };
    let mut all: Vec<Word> = words.iter().map(word).collect();
    all.sort_by(|a, b| b.count.cmp(&a.count).then(a.degree.cmp(&b.degree)));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_notation::Document;

    #[test]
    fn a_bass_that_goes_to_the_fifth_tells_no_other_chord() {
        let degrees = |bars: &str, bass: &str| {
            let text = format!("X:1\nM:4/4\nL:1/4\nK:C\n[V:1]{bars}\n[V:2]{bass}\n");
            let document = Document::new(&text);
            let strip = strip(document.blocks().next().unwrap().1);
            let bars = strip.bars.iter();
            let degrees = |bar: &Vec<Chord>| -> Vec<String> {
                bar.iter().map(|chord| chord.degree.clone()).collect()
            };
            (bars.map(degrees).collect::<Vec<_>>(), strip.vocabulary.words)
        };
        let upper = "[EGc]2[EGc]2|[FAd]2[FAd]2|[EGc]4|]";
        let (told, words) = degrees(upper, "C,2G,,2|D,2A,,2|C,4|]");
        assert_eq!(told, [["I"], ["ii"], ["I"]]);
        let words: Vec<_> = words.iter().map(|word| (word.degree.as_str(), word.count)).collect();
        assert_eq!(words, [("I", 2), ("ii", 1)]);
        let (told, _) = degrees("[EGc]2[EGc]2|[DGB]4|[EGc]4|]", "C,2G,,2|G,,4|C,4|]");
        assert_eq!(told[0], ["I", "I64"]);
    }

    #[test]
    fn chords_keys_and_cadences() {
        let text = "X:1\nM:4/4\nL:1/2\nK:C\n[CEGc][CFAc]|[B,DGd]!fermata![CEGc]|\n";
        let document = Document::new(text);
        let strip = strip(document.blocks().next().unwrap().1);
        let degrees: Vec<_> = strip.bars[0].iter().map(|chord| chord.degree.as_str()).collect();
        assert_eq!(degrees, ["I", "IV64"]);
        assert_eq!(strip.bars[0][1].beat.to_string(), "3");
        assert_eq!(strip.keys, [KeyStretch { from: 0, to: 1, key: "C major".to_owned() }]);
        assert_eq!(strip.cadences.len(), 1, "{:?}", strip.cadences);
    }

    #[test]
    fn a_melody_has_none() {
        let document = Document::new("X:1\nM:4/4\nL:1/4\nK:C\nCDEF|GABc|\n");
        let strip = strip(document.blocks().next().unwrap().1);
        assert!(strip.keys.is_empty() && strip.vocabulary.words.is_empty());
    }
}
