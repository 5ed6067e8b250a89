//! Bars of every length, with and without an excuse.

use crate::finding::Severity;
use crate::rule_tests::{findings_of, first_fix};

const ID: &str = "bar-length";

fn bars(metre: &str, music: &str) -> Vec<i32> {
    let text = format!("X:1\nM:{metre}\nL:1/4\nK:C\n{music}\n");
    let tune = recte_notation::lower(&text).tune;
    findings_of(ID, &text).iter().map(|f| tune.bar_number(f.bar.unwrap())).collect()
}

#[test]
fn too_long_and_too_short() {
    assert_eq!(bars("4/4", "CDEF|GAB|cdefg|c4|]"), [2, 3]);
}

#[test]
fn the_message_counts_in_the_signatures_unit_or_finer() {
    let message = |music: &str| {
        let text = format!("X:1\nM:4/4\nL:1/4\nK:C\n{music}\n");
        findings_of(ID, &text)[0].message.clone()
    };
    assert_eq!(message("CDEF|GAB|c4|]"), "This bar holds 3 quarters; 4/4 asks for 4.");
    assert_eq!(message("CDEF|GABc/|c4|]"), "This bar holds 7 eighths; 4/4 asks for 8.");
}

#[test]
fn pickups_and_what_makes_up_for_them() {
    assert_eq!(bars("4/4", "G|cdef|gfe|]"), [] as [i32; 0]);
    assert_eq!(bars("4/4", "|:G|cdef|gfe:|G|cdef|gfe|]"), [] as [i32; 0]);
    assert_eq!(bars("4/4", "|:G|cdef|1gfe:|2gfe||G|c3|]"), [] as [i32; 0]);
}

#[test]
fn a_short_last_bar_without_a_pickup_is_told_of() {
    assert_eq!(bars("4/4", "cdef|gfe|]"), [2]);
}

#[test]
fn a_bar_divided_by_a_double_line() {
    assert_eq!(bars("4/4", "cdef|gf||ed|c4|]"), [] as [i32; 0]);
    assert_eq!(bars("4/4", "cdef|gf||e|c4|]"), [2]);
}

#[test]
fn a_passage_whose_last_bar_and_pickup_do_not_make_a_bar() {
    let found = findings_of(ID, "X:1\nM:4/4\nL:1/4\nK:C\n|:G|cdef|gf:|\n");
    let message = "With the pickup of its passage this bar holds 3 quarters; 4/4 asks for 4.";
    assert_eq!(found[0].message, message);
    assert_eq!((found[0].severity, found.len()), (Severity::Info, 1));
    assert_eq!(bars("4/4", "G|cdef|gf|]"), [2]);
}

#[test]
fn a_full_last_bar_under_a_pickup_is_told_of_where_another_passage_leaves_room() {
    assert_eq!(bars("4/4", "|:G|cdef|gfe:|G|cdef|gfed:|"), [4]);
    assert_eq!(bars("4/4", "|:G|cdef|gfe:|G|cdef|gfed|]"), [4]);
    assert_eq!(bars("4/4", "|:G|cdef|gfed:|"), [] as [i32; 0]);
}

#[test]
fn a_long_pickup_before_a_full_last_bar_is_no_pickup() {
    assert_eq!(bars("4/4", "GGG|cdef|gfed|]"), [2]);
    assert_eq!(bars("4/4", "GGG|cdef|g|]"), [] as [i32; 0]);
}

#[test]
fn of_the_bar_being_typed_there_is_only_a_hint() {
    let found = findings_of(ID, "X:1\nM:4/4\nL:1/4\nK:C\ncdef|g\n");
    assert_eq!(found.iter().map(|f| f.severity).collect::<Vec<_>>(), [Severity::Hint]);
}

#[test]
fn a_bar_that_is_meant_gets_its_own_signature() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\nCDEF|GABcd|c4|]\n";
    let own = text.replace("GABcd|", "[M:5/4] GABcd|[M:4/4] ");
    assert_eq!(first_fix(ID, text), own);
}

#[test]
fn layers_must_fill_the_bar() {
    assert_eq!(bars("4/4", "cdef&C2|c4|]"), [1]);
    assert_eq!(bars("4/4", "cdef&C4|c4|]"), [] as [i32; 0]);
}

#[test]
fn a_rest_fills_the_bar_where_another_voice_does() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\n[V:1]CDEF|GAB|c4|]\n[V:2]C4|G4|c4|]\n";
    assert_eq!(first_fix(ID, text), text.replace("GAB|", "GAB z|"));
}

#[test]
fn alone_a_rest_moves_what_follows_and_is_only_suggested() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\nCDEF|GAB|c4|]\n";
    let titles: Vec<String> =
        findings_of(ID, text)[0].fixes.iter().map(|fix| fix.title.clone()).collect();
    let own = "Give this bar its own signature: 3/4";
    assert_eq!(titles, ["Fill the bar with a rest (changes the music)", own]);
}

#[test]
fn many_wrong_bars_are_summed_up_once() {
    let text = "X:1\nM:2/4\nL:1/4\nK:C\nCDE|FGA|Bcd|cde|cc|]\n";
    let messages: Vec<String> = findings_of(ID, text).into_iter().map(|f| f.message).collect();
    let last = "3 of the first 3 bars do not keep to 2/4; are changes of signature missing?";
    assert_eq!((messages.len(), messages[2].as_str()), (3, last));
}

#[test]
fn no_pickup_where_another_voice_begins_with_a_full_bar() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\n[V:1]CDE|FGAB|c4|]\n[V:2]C4|D4|E4|]\n";
    let found = findings_of(ID, text);
    assert_eq!(found.iter().map(|f| (f.voice, f.bar)).collect::<Vec<_>>(), [(Some(0), Some(0))]);
}

#[test]
fn one_is_singular() {
    let found = findings_of(ID, "X:1\nM:4/4\nL:1/4\nK:C\nCDEF|G|cdef|]\n");
    assert_eq!(found[0].message, "This bar holds 1 quarter; 4/4 asks for 4.");
}

/// Voices and bars that are told of in a tune of several voices.
fn told(voices: &[&str]) -> Vec<(u32, u32, String)> {
    let music: String =
        voices.iter().zip(1..).map(|(music, id)| format!("[V:{id}]{music}\n")).collect();
    let text = format!("X:1\nM:4/4\nL:1/4\nK:C\n{music}");
    let told = findings_of(ID, &text);
    told.into_iter().map(|f| (f.voice.unwrap(), f.bar.unwrap(), f.message)).collect()
}

#[test]
fn a_line_of_a_hymn_ends_under_a_fermata() {
    assert_eq!(bars("4/4", "cdef|gf!fermata!e|c|cdef|c4|]"), [] as [i32; 0]);
    assert_eq!(bars("4/4", "cdef|gfe|c|cdef|c4|]"), [2, 3]);
    assert_eq!(bars("4/4", "cdef|gf!fermata!e|cc|cdef|c4|]"), [2, 3]);
    assert_eq!(bars("4/4", "cdef|!fermata!gfe|c|cdef|c4|]"), [2, 3]);
    // Any voice may carry it, and another may go on to a rest.
    let sung = "C4|!fermata!E2z|E|C4|]";
    assert_eq!(told(&["z4|z3|z|z4|]", sung, "C4|GAB|E|C4|]"]), []);
}

#[test]
fn what_all_voices_hold_is_said_once() {
    let said = "This bar holds 5 quarters; 4/4 asks for 4.".to_owned();
    assert_eq!(told(&["C4|DEFGA|C4|]", "C4|D5|C4|]"]), [(0, 1, said.clone())]);
    let own = "This bar holds 3 quarters; 4/4 asks for 4.".to_owned();
    let both = [(0, 1, said.clone()), (0, 2, own), (1, 1, said.clone())];
    assert_eq!(told(&["C4|DEFGA|C3|C4|]", "C4|D5|C4|C4|]", "C4|D4|C4|C4|]"])[..], both);
}

#[test]
fn a_rest_for_all_voices() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\n[V:1]C4|DEF|C4|]\n[V:2]C4|D3|C4|]\n";
    let fix = &findings_of(ID, text)[0].fixes[0];
    assert_eq!(fix.title, "Fill the bar with a rest in every voice (changes the music)");
    assert_eq!(fix.edits.len(), 2);
}

#[test]
fn a_short_bar_is_as_short_in_every_voice() {
    let said = "This bar holds 2 quarters; other voices hold 1.".to_owned();
    assert_eq!(told(&["G|c4|c3|]", "GG|c4|c3|]", "G|c4|c3|]"]), [(1, 0, said)]);
    let divided = told(&["c4|c2||c2|c4|]", "c4|c2||c2|c4|]", "c4|c4||c2|c4|]"]);
    let said = "This bar holds 4 quarters; other voices hold 2.".to_owned();
    assert_eq!(divided, [(2, 1, said)]);
    let text = "X:1\nM:4/4\nL:1/4\nK:C\n[V:1]GG|c4|c2|]\n[V:2]G|c4|c2|]\n";
    assert_eq!(first_fix(ID, text), text.replace("[V:2]G|", "[V:2]G z|"));
}
