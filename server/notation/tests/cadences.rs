//! Cadences, planing and pedal points of small passages composed for the purpose, and cadences at the fermatas of
//! chorales. Kinds of cadences after Open Music Theory, "Cadence types" (from memory).

#![allow(clippy::unwrap_used, clippy::print_stdout)]

use recte_notation::{BlockKind, Document};
use recte_score::harmony::{
    PhraseSign, Place, cadences, harmonies, pedal_points, phrase_ends, planing,
};
use recte_score::{Tune, soundings};
use std::collections::BTreeMap;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{imported, tunes_of};

/// Some music under a key.
fn tune(key: &str, music: &str) -> Tune {
    let text = format!("X:1\nM:4/4\nL:1/4\nK:{key}\n{music}\n");
    let document = Document::new(&text);
    let (_, block) = document.blocks().find(|(_, block)| block.kind == BlockKind::Tune).unwrap();
    block.lowered().tune.clone()
}

/// Each cadence: bar, kind and key.
fn found(key: &str, music: &str) -> Vec<String> {
    let tune = tune(key, music);
    let harmonies = harmonies(&tune);
    let text = |one: recte_score::harmony::Cadence| {
        let bar = tune.bar_number(harmonies[one.harmony].bar);
        format!("{bar} {} in {}", one.kind.name(), one.key)
    };
    cadences(&tune, &harmonies).into_iter().map(text).collect()
}

#[test]
fn authentic_perfect_and_imperfect() {
    let perfect = "[C,CEG]4|[F,CFA]4|[G,B,DG]4|[C,CEGc]4|]";
    assert_eq!(found("C", perfect), ["4 perfect authentic in C major"]);
    let third_on_top = "[C,CEG]4|[F,CFA]4|[G,B,DG]4|[C,CGe]4|]";
    assert_eq!(found("C", third_on_top), ["4 imperfect authentic in C major"]);
    let inverted = "[C,CEG]4|[F,CFA]4|[B,DFG]4|[C,CEGc]4|]";
    assert_eq!(found("C", inverted), ["4 imperfect authentic in C major"]);
    let leading = "[A,CEA]4|[D,DFA]4|[B,D^GB]4|[A,CEA]4|]";
    assert_eq!(found("Am", leading), ["4 imperfect authentic in A minor"]);
}

#[test]
fn a_major_tonic_may_end_in_minor() {
    let music = "[A,CEA]4|[D,DFA]4|[E,E^GB]4|[A,^CEA]4|]";
    assert_eq!(found("Am", music), ["4 perfect authentic in A minor"]);
}

#[test]
fn half_and_phrygian() {
    let half = "[C,CEG]4|[F,CFA]4|!fermata![G,B,DG]4|[C,CEG]4|[F,CFA]4|[G,B,DG]4|[C,CEGc]4|]";
    assert_eq!(found("C", half)[0], "3 half in C major");
    let phrygian = "[A,CEA]4|[F,A,DA]4|!fermata![E,^G,B,E]4|[A,CEA]4|[D,DFA]4|[E,E^GB]4|[A,CEA]4|]";
    assert_eq!(found("Am", phrygian)[0], "3 Phrygian half in A minor");
}

#[test]
fn in_the_key_of_a_degree() {
    let end = "[C,CEG]4|[F,CFA]4|[G,B,DG]4|[C,CEGc]4|]";
    let authentic = format!("[C,CEG]4|[G,B,DG]4|[E,B,E^G]4|!fermata![A,CEA]4|{end}");
    assert_eq!(found("C", &authentic)[0], "4 perfect authentic in A minor");
    let home = "[C,CEG]4|[F,CFA]4|[G,B,DG]4|[C,CEG]4|";
    let dominant = format!("[C,CEG]4|[A,CEA]4|[D,D^FA]4|!fermata![G,B,DG]4|{end}");
    assert_eq!(found("C", &dominant)[0], "4 perfect authentic in G major");
    let inverted = format!("{home}[C,CEG]4|[F,CFA]4|[^F,CDA]4|!fermata![G,B,DG]4|{end}");
    assert_eq!(found("C", &inverted)[0], "8 half in C major");
    let half = format!("[C,CEG]4|[G,B,DG]4|[D,A,DF]4|!fermata![A,A,^CE]4|[D,A,DF]4|{end}");
    assert_eq!(found("C", &half)[0], "4 half in D minor");
}

#[test]
fn plagal_and_deceptive() {
    let plagal = "[C,CEG]4|[G,B,DG]4|[C,CEG]4|[F,CFA]4|[C,CEG]4|]";
    assert_eq!(found("C", plagal), ["5 plagal in C major"]);
    let deceptive = "[C,CEG]4|[F,CFA]4|[G,B,DFG]4|!fermata![A,CEA]4|[F,CFA]4|[G,B,DG]4|[C,CEGc]4|]";
    assert_eq!(found("C", deceptive)[0], "4 deceptive in C major");
    let minor = "[A,CEA]4|[D,DFA]4|[E,E^GB]4|!fermata![F,CFA]4|[D,DFA]4|[E,E^GB]4|[A,CEA]4|]";
    assert_eq!(found("Am", minor)[0], "4 deceptive in A minor");
}

#[test]
fn no_cadence_without_the_end_of_a_phrase() {
    let music = "[G,B,DG]4|[C,CEGc]4|[F,CFA]4|[D,DFA]4|[G,B,DG]4|[C,CEGc]4|]";
    assert_eq!(found("C", music), ["6 perfect authentic in C major"]);
}

/// What ends a phrase: each sign of it.
#[test]
fn phrases_end_where_it_is_written() {
    let signs = |music: &str| {
        let tune = tune("C", music);
        let ends = phrase_ends(&tune, &soundings(&tune));
        ends.iter().map(|end| (end.end.to_string(), end.sign)).collect::<Vec<_>>()
    };
    let last = ("2".to_owned(), PhraseSign::BarLine);
    let one = |at: &str, sign| vec![(at.to_owned(), sign), last.clone()];
    assert_eq!(signs("CC CC|CC CC|]"), std::slice::from_ref(&last));
    assert_eq!(signs("CC !fermata!CC|CC CC|]"), one("3/4", PhraseSign::Fermata));
    assert_eq!(signs("CC !breath!CC|CC CC|]"), one("3/4", PhraseSign::Breath));
    assert_eq!(signs("CC CC||CC CC|]"), one("1", PhraseSign::BarLine));
    assert_eq!(signs("(CC CC|C)C CC|]"), one("5/4", PhraseSign::Slur));
    assert_eq!(signs("CC CC|C3 C/C/|]"), one("7/4", PhraseSign::Wait));
    assert_eq!(signs("CC C/C/C|C z2 C|]"), one("5/4", PhraseSign::Wait));
}

#[test]
fn planing_is_a_stretch_of_chords() {
    let tune = tune("C", "[A,CE] [DFA] [EGB]2|[DFA]2 z2|[CEG] [DFA] [EGB]2|]");
    let found = planing(&tune);
    assert_eq!(found.len(), 1);
    let symbols: Vec<String> = found[0].chords.iter().map(|one| one.chord.symbol()).collect();
    assert_eq!(symbols, ["Am", "Dm", "Em", "Dm"]);
    assert_eq!((found[0].bars(), found[0].voices()), ((0, 1), vec![0]));
}

#[test]
fn a_pedal_says_where_it_lies_and_how_often_it_is_foreign() {
    let tune = tune("C", "[V:1] [EGc]4|[FAc]4|[GBdf]4|[EGc]4|]\n[V:2] C,4-|C,4-|C,4-|C,4|]");
    let harmonies = harmonies(&tune);
    let found = pedal_points(&tune, &harmonies);
    assert_eq!(found.len(), 1, "{found:?}");
    let one = &found[0];
    assert_eq!((one.name.to_string(), one.voice, one.place), ("C".to_owned(), 1, Place::Bass));
    assert_eq!((one.bars, one.harmonies.clone(), one.foreign), ((0, 3), 0..4, 1));
}

/// At the fermatas of chorales phrases end, and nearly all of them with a cadence that has a name.
#[test]
fn cadences_at_the_fermatas_of_chorales() {
    let (mut fermatas, mut named, mut kinds) = (0, 0, BTreeMap::new());
    for (name, document) in imported(1).iter().filter(|(name, _)| name.starts_with("bach/")) {
        for block in tunes_of(document) {
            let tune = &block.lowered().tune;
            let labels: Vec<&str> = tune.voices.iter().map(|voice| voice.label()).collect();
            if labels != ["Soprano", "Alto", "Tenor", "Bass"] {
                continue;
            }
            let harmonies = harmonies(tune);
            let cadences = cadences(tune, &harmonies);
            for end in phrase_ends(tune, &[]) {
                if end.sign != PhraseSign::Fermata {
                    continue;
                }
                fermatas += 1;
                let here = cadences.iter().find(|one| {
                    harmonies[one.harmony].onset < end.end && harmonies[one.harmony].end > end.onset
                });
                *kinds.entry(here.map_or("none", |one| one.kind.name())).or_insert(0) += 1;
                named += usize::from(here.is_some());
                if here.is_none() && std::env::var_os("RECTE_SHOW").is_some() {
                    let at = harmonies.partition_point(|one| one.onset < end.end);
                    let degree = |one: &recte_score::harmony::Harmony| {
                        one.chord.as_ref().map(|one| format!("{} {}", one.key, one.degree))
                    };
                    let near: Vec<_> =
                        harmonies[at.saturating_sub(3)..at].iter().map(degree).collect();
                    println!("{name} {} {near:?}", end.end);
                }
            }
        }
    }
    println!("{fermatas} fermatas, {named} with a cadence: {kinds:?}");
    assert!(named * 10 >= fermatas * 8, "{named} of {fermatas}");
}
