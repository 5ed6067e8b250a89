//! Some bars and some voices of a tune, as a tune of their own.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_score::{Tune, excerpt, playing_order, soundings};

fn read(music: &str) -> Tune {
    recte_notation::lower(&format!("X:1\nL:1/4\nM:4/4\nQ:1/4=60\nK:C\n{music}\n")).tune
}

/// Onset, end and pitch of everything that sounds.
fn sounds(tune: &Tune) -> Vec<String> {
    let row = |s: &recte_score::Sounding| format!("{}-{} {}", s.onset, s.end, s.pitch);
    soundings(tune).iter().map(row).collect()
}

#[test]
fn bars_in_their_own_time() {
    let tune = read("C4|D2E2|F4|");
    let part = excerpt(&tune, 1..=1, &[0]);
    assert_eq!(sounds(&part), ["0-1/2 D4", "1/2-1 E4"]);
    assert_eq!((part.bars.len(), part.bars[0].number), (1, 2));
    assert_eq!(sounds(&excerpt(&tune, 0..=2, &[0])), sounds(&tune));
    assert!(excerpt(&tune, 7..=9, &[0, 4]).voices[0].events.is_empty());
}

#[test]
fn ties_end_at_the_edges() {
    let part = excerpt(&read("C4-|C4-|C4|"), 1..=1, &[0]);
    let note = part.voices[0].notes[0];
    assert_eq!((note.tied_in, note.tied_out), (false, false));
    let part = excerpt(&read("C4-|C4-|C4|"), 0..=1, &[0]);
    assert_eq!(sounds(&part), ["0-2 C4"]);
}

#[test]
fn what_held_before_holds() {
    let tune = read("C4|[K:D][Q:1/4=90]F4|[K:clef=bass]F4|f4|");
    let part = excerpt(&tune, 3..=3, &[0]);
    assert_eq!(sounds(&part), ["0-1 F#5"]);
    assert_eq!(part.voices[0].clef.name, "bass");
    assert_eq!(part.tempi[0].per_minute, Some(90));
    assert_eq!(part.key(&part.voices[0].events[0]).to_string(), "D major");
}

#[test]
fn marks_slurs_and_words_keep_their_notes() {
    let tune = read("C4|(!p!D2E2|F4)|\nw:a b c d");
    let part = excerpt(&tune, 1..=1, &[0]);
    let voice = &part.voices[0];
    assert_eq!((voice.marks.len(), voice.marks[0].event), (1, 0));
    assert_eq!((voice.slurs[0].from, voice.slurs[0].to), (0, 1));
    let words: Vec<_> = voice.syllables.iter().map(|s| (s.event, &*s.text)).collect();
    assert_eq!(words, [(0, "b"), (1, "c")]);
}

#[test]
fn the_order_of_play_stays_when_the_voice_that_says_it_goes() {
    let tune = read("[V:1]|:C4:|D4|E4!D.C.!|\n[V:2]C4|D4!fine!|E4|");
    assert_eq!(playing_order(&tune), [0, 0, 1, 2, 0, 1]);
    assert_eq!(playing_order(&excerpt(&tune, 0..=2, &[1])), [0, 0, 1, 2, 0, 1]);
    assert_eq!(playing_order(&excerpt(&tune, 0..=2, &[0])), [0, 0, 1, 2, 0, 1]);
}
