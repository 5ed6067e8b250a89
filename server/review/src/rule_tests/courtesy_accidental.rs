use crate::rule_tests::{findings_of, first_fix, prove_fixes};

const ID: &str = "courtesy-accidental";

fn tune(music: &str) -> String {
    format!("X:1\nL:1/8\nK:C\n{music}\n")
}

/// The text after the first fix; the fixes keep their promises.
fn fixed(music: &str, expected: &str) {
    prove_fixes(ID, &tune(music));
    assert_eq!(first_fix(ID, &tune(music)), tune(expected));
}

#[test]
fn after_a_tie_over_the_bar_line() {
    fixed("A4 ^F4-|F2G2 F4|", "A4 ^F4-|F2G2 =F4|");
    fixed("A4 _e4-|e4 e4|", "A4 _e4-|e4 =e4|");
    let text = tune("A4 ^F4-|F4-F4|");
    assert_eq!(findings_of(ID, &text), []);
}

#[test]
fn beside_its_octave_where_accidentals_hold_in_theirs() {
    let text = "X:1\nL:1/8\nI:propagate-accidentals octave\nK:C\n^F4 f4|\n";
    prove_fixes(ID, text);
    assert_eq!(first_fix(ID, text), text.replace('f', "=f"));
    assert_eq!(findings_of(ID, &tune("^F4 f4|")), []);
}

#[test]
fn after_the_bar_before_where_the_piece_reminds() {
    fixed("^F4 G4|=F4 G4|^f4 g4|f4 g4|", "^F4 G4|=F4 G4|^f4 g4|=f4 g4|");
    for quiet in [
        // It never reminds, or not yet.
        "^F4 G4|F4 G4|^f4 g4|f4 g4|",
        "^F4 G4|F4 G4|^f4 g4|=f4 g4|",
        // Another octave; many notes later; two bars later; after a plain one.
        "^F4 G4|=F4 G4|^F4 G4|f4 g4|",
        "^F4 G4|=F4 G4|^F4 G4|GABc dcF2|",
        "^F4 G4|=F4 G4|^F4 G4|A4 B4|F4 G4|",
        "^F4 G4|=F4 G4|^F4 =F4|F4 G4|",
        // The sign comes, only later.
        "^F4 G4|=F4 G4|^F4 G4|F4 =F4|",
        // Under another signature.
        "^F4 G4|=F4 G4|[K:G]F4 G4|[K:C]F4 G4|",
        // Grace notes.
        "^F4 G4|=F4 G4|{^F}A4 G4|F4 G4|",
        "^F4 G4|=F4 G4|^F4 G4|{F}A4 G4|",
    ] {
        assert_eq!(findings_of(ID, &tune(quiet)), [], "{quiet}");
    }
}

#[test]
fn it_says_after_what() {
    let message = |music: &str| findings_of(ID, &tune(music))[0].message.clone();
    assert_eq!(
        message("A4 ^F4-|F4 F4|"),
        "The tie carries F sharp over the bar line and no further; players expect a natural at this F."
    );
    assert_eq!(
        message("^F4 G4|=F4 G4|_A4 G4|A4 G4|"),
        "After A flat in the bar before, players expect a natural at this A."
    );
}

#[test]
fn respelling_brings_and_leaves_what_signs_it_takes() {
    // The natural undid a flat that is no longer there.
    let text = "X:1\nL:1/4\nK:C\nE_AB=A|\n";
    assert_eq!(first_fix("chord-spelling", text), text.replace("_AB=A", "^GBA"));
    // The respelled note is followed by a plain one, and the piece reminds.
    let text = "X:1\nL:1/4\nK:C\n^c4|=c4|E_ABe|GGGG|\n";
    assert_eq!(first_fix("chord-spelling", text), text.replace("_ABe|G", "^GBe|=G"));
}
