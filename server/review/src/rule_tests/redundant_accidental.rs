use crate::rule_tests::{findings_of, first_fix, prove_fixes};

const ID: &str = "redundant-accidental";

fn tune(key: &str, music: &str) -> String {
    format!("X:1\nL:1/8\nK:{key}\n{music}\n")
}

/// Under a key: so many remarks, each with a fix that keeps its promises.
fn speaks(key: &str, music: &str, times: usize) {
    let text = tune(key, music);
    let found = findings_of(ID, &text);
    assert_eq!(found.len(), times, "{music}: {found:?}");
    assert!(found.iter().all(|finding| !finding.fixes.is_empty()), "{music}: {found:?}");
    prove_fixes(ID, &text);
}

#[test]
fn what_the_signature_gives() {
    speaks("D", "^FGA2 d^cd2|", 2);
    speaks("F", "_BAG2 F4|", 1);
    speaks("C", "=FEF2 C4|", 1);
    speaks("Gb", "_c2B2 A4|", 1);
}

#[test]
fn what_the_bar_gives_where_one_was_left_out_before() {
    speaks("C", "^FGFG A4|^FG^FG ^FA3|", 2);
    speaks("C", "^FG^FG A4|^FG^FG A4|", 0);
    // A natural that has undone the signature, and is typed twice.
    speaks("D", "=FGFG A4|=FG=FG A4|", 1);
}

#[test]
fn the_second_natural_after_an_alteration_says_nothing() {
    speaks("C", "^FGFG A4|=FG=FG A4|", 1);
}

#[test]
fn reminders_are_left_alone() {
    for (key, music) in [
        // After another alteration in this bar, in the bar before and in the one before that.
        ("C", "^F2=F2 G4|"),
        ("C", "^F2G2 A4|=F2G2 A4|"),
        ("C", "^F2G2 A4|C2C2 C4|=F2G2 A4|"),
        // Before another alteration.
        ("C", "=F2G2 ^F4|"),
        // In another octave.
        ("C", "^F2FG ^f4|^f2=F2 G4|"),
        ("C", "^F2FG A4|[^F^f]4 A4|"),
        // After a tie over the bar line.
        ("C", "^F2FG A4|A4 ^F4-|F4 ^F4|"),
        ("D", "A4 F4-|^F4 G4|"),
        ("C", "A4 ^F4-|F4 =F4|"),
        // After a change of key.
        ("C", "F4 G4|[K:G]^F4 G4|"),
        // After a repeat.
        ("C", "|:F4 G4|1^F4 G4:|2=F4 G4|"),
        // In grace notes, and after them.
        ("D", "{^f}g4 A4|"),
        ("C", "F2FG A4|{^f}^f4 A4|"),
        // In another layer, and where no key is claimed.
        ("C", "^F4 G4 & =F8|"),
        ("none", "^F2FG A4|^F2^F2 =G4|"),
    ] {
        assert_eq!(findings_of(ID, &tune(key, music)), [], "{music}");
    }
}

#[test]
fn another_voice_may_need_the_reminder() {
    let text = "X:1\nL:1/4\nK:C\n[V:1]=F4|=G4|\n[V:2]^F,4|G,4|\n";
    let found = findings_of(ID, text);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].message, "G is natural here without a sign; this one can go.");
}

#[test]
fn by_the_reach_in_force() {
    let text =
        |reach| format!("X:1\nL:1/8\nI:propagate-accidentals {reach}\nK:C\n^FGFG A4|^FG^FG A4|\n");
    assert_eq!(findings_of(ID, &text("pitch")).len(), 1);
    assert_eq!(findings_of(ID, &text("octave")).len(), 1);
    assert_eq!(findings_of(ID, &text("not")), []);
}

#[test]
fn other_rules_speak_of_two_signs_at_one_note() {
    assert_eq!(findings_of(ID, &tune("G", "^^FGA2 B4|^=FGA2|_^FGA2|")), []);
    let text = tune("C", "^FGFG A4|[^FF]4 A4|");
    assert_eq!(findings_of(ID, &text), []);
    assert_eq!(findings_of("accidental-twice", &text).len(), 1);
}

#[test]
fn a_macro_is_left_alone() {
    assert_eq!(findings_of(ID, "X:1\nL:1/8\nm:~F2=^FG\nK:G\n~F2A2 B4|\n"), []);
}

#[test]
fn it_says_what_gives_the_sign() {
    let message = |key: &str, music: &str| findings_of(ID, &tune(key, music))[0].message.clone();
    assert_eq!(message("G", "^F4 G4|"), "F sharp is in the key signature; this sign can go.");
    assert_eq!(message("F", "=E4 F4|"), "E is natural here without a sign; this one can go.");
    let bar = "^FGFG A4|^FG^FG A4|";
    assert_eq!(message("C", bar), "F sharp stands in this bar already; this sign can go.");
    assert_eq!(first_fix(ID, &tune("G", "^F4 G4|")), tune("G", "F4 G4|"));
}
