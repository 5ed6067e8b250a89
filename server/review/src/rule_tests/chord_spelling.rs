//! Chords of the table of cases in other shapes, and chords of our own.

use crate::rule_tests::{findings_of, first_fix, prove_fixes};
use crate::spelling::cases::{Case, cases, said, spelled};
use std::collections::BTreeSet;

const ID: &str = "chord-spelling";

fn tune(key: &str, music: &str) -> String {
    format!("X:1\nL:1/4\nK:{key}\n{music}\n")
}

fn is_ours(case: &Case) -> bool {
    case.group.starts_with("triad-") || case.group == "seventh"
}

/// The notes of a typed chord, one by one: `[E_AB]` gives E, _A, B.
fn members(chord: &str) -> Vec<String> {
    let mut notes: Vec<String> = Vec::new();
    let mut accidental = String::new();
    for c in chord.trim_matches(['[', ']']).chars() {
        match c {
            '^' | '_' | '=' => accidental.push(c),
            ',' | '\'' => {
                if let Some(last) = notes.last_mut() {
                    last.push(c);
                }
            }
            letter => notes.push(format!("{}{letter}", std::mem::take(&mut accidental))),
        }
    }
    notes
}

/// Every hidden block chord without context, in another shape.
fn reshaped(shape: impl Fn(&[String]) -> String) -> Vec<(String, String)> {
    let alone = |case: &&Case| is_ours(case) && !case.typed.contains(' ');
    let all = cases();
    let shaped = all.iter().filter(alone);
    shaped.map(|case| (case.id.clone(), tune(&case.key, &shape(&members(&case.typed))))).collect()
}

/// The chords that are not told of in another shape; each fix of the others is proved.
fn missed(shape: impl Fn(&[String]) -> String) -> Vec<String> {
    let texts = reshaped(shape);
    assert_eq!(texts.len(), 71);
    texts.iter().for_each(|(_, text)| prove_fixes(ID, text));
    let missed = texts.into_iter().filter(|(_, text)| said(text).is_empty());
    missed.map(|(id, _)| id).collect()
}

/// Minor triads with a major seventh that the ear may take for E minor, and its like, when nothing else is there.
const IN_E_MINOR: [&str; 2] = ["S066", "S071"];

#[test]
fn broken_upwards() {
    assert_eq!(missed(|notes| format!("{}{}'|", notes.concat(), notes[0])), IN_E_MINOR);
}

#[test]
fn broken_over_a_bar_line() {
    assert_eq!(
        missed(|notes| format!("{}|{}{}'|", notes[..2].concat(), notes[2..].concat(), notes[0])),
        IN_E_MINOR
    );
}

#[test]
fn with_an_octave_doubling() {
    assert_eq!(missed(|notes| format!("[{}{}']|", notes.concat(), notes[0])), [] as [&str; 0]);
}

#[test]
fn shared_by_two_voices() {
    assert_eq!(
        missed(|notes| format!("[V:1][{}]4|\n[V:2]{},4|", notes[1..].concat(), notes[0])),
        [] as [&str; 0]
    );
}

#[test]
fn the_message_says_what_it_is() {
    let message = |music: &str| findings_of(ID, &tune("C", music))[0].message.clone();
    assert_eq!(message("[E_AB]4|"), "E, A flat, B is an E major triad; players expect G sharp.");
    assert_eq!(message("E_AB|"), "E, A flat, B is an E major arpeggio; players expect G sharp.");
    assert_eq!(
        message("[C_FG_B]4|"),
        "C, F flat, G, B flat is a C dominant seventh; players expect E."
    );
}

#[test]
fn symmetrical_chords_offer_more_than_one_reading() {
    let found = findings_of(ID, &tune("none", "[D_G^A]4|"));
    let titles: BTreeSet<_> = found[0].fixes.iter().map(|fix| fix.title.as_str()).collect();
    assert!(titles.len() > 1, "{titles:?}");
    assert!(found[0].fixes.iter().all(|fix| !fix.preferred));
}

#[test]
fn a_transposing_part_is_respelled_for_its_reader() {
    // Written F sharp, B flat, C sharp for a clarinet in B flat.
    let text = "X:1\nL:1/4\nK:C transpose=-2\n[^F_B^c]4|\n";
    assert_eq!(first_fix(ID, text), text.replace("_B", "^A"));
    let finding = &findings_of(ID, text)[0];
    let told = "F sharp, B flat, C sharp is an F sharp major triad; players expect A sharp.";
    assert_eq!(finding.message, told);
    assert_eq!(finding.fixes[0].title, "Respell as F♯ major: F♯ A♯ C♯");
}

#[test]
fn a_repeated_chord_is_told_of_once_a_bar() {
    let text = tune("C", "[D_GA]2[D_GA]2|[D_GA]4|");
    assert_eq!(findings_of(ID, &text).len(), 2);
    assert_eq!(first_fix(ID, &text), tune("C", "[D^FA]2[DFA]2|[D_GA]4|"));
}

#[test]
fn sharps_alone_do_not_lead_to_double_sharps() {
    for (typed, better) in [("[^D=G^A]4|", "[_EG_B]4|"), ("[^Gc^d]4|", "[_Ac_e]4|")] {
        let expected = spelled(&tune("C", better));
        assert_eq!(spelled(&first_fix(ID, &tune("C", typed))), expected, "{typed}");
    }
}

#[test]
fn a_sharpened_root_hides_the_chord_too() {
    for typed in ["[^A,DF]4|z4|", "[^D=G_B]4|z4|", "[^Gc_e]4|z4|", "[^C=F_A]4|z4|", "[^Beg_b]4|z4|"]
    {
        assert_eq!(findings_of(ID, &tune("C", typed)).len(), 1, "{typed}");
    }
}

#[test]
fn parts_in_keys_of_the_same_sound_are_each_right() {
    let text = "X:1\nL:1/4\nK:B\nV:1\nV:2\n[V:1]^e4|\n[V:2][K:Cb][DB]4|\n";
    assert_eq!(findings_of(ID, text), []);
}

#[test]
fn augmented_sixths_in_every_inversion_are_left_alone() {
    for (key, music) in
        [("C", "[^Fc_e_a]2z2|[Gcegc']4|"), ("Am", "[Ac^df]4|z4|"), ("Am", "A2c^d|f^ga2|")]
    {
        assert_eq!(findings_of(ID, &tune(key, music)), [], "{music}");
    }
}

#[test]
fn the_run_begins_with_the_root_where_it_can() {
    let found = findings_of(ID, &tune("C", "D_GAd|"));
    assert!(found[0].message.starts_with("D, G flat, A is a D major arpeggio"), "{found:?}");
}
