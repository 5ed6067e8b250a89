//! Halves that stand alone.

use crate::finding::Severity;
use crate::rule_tests::{findings_of, first_fix};

fn said(music: &str) -> Vec<(String, Severity)> {
    let text = format!("%abc-2.1\nX:1\nT:\nM:4/4\nL:1/4\nK:C\n{music}\n");
    let found = findings_of("unclosed", &text);
    found.into_iter().map(|f| (text[f.span.range()].to_owned(), f.severity)).collect()
}

fn one(music: &str, place: &str, severity: Severity) {
    assert_eq!(said(music), [(place.to_owned(), severity)], "{music}");
}

#[test]
fn each_half_alone() {
    use Severity::{Hint, Warning};
    one("CDEF)|GABc|", ")", Warning);
    one("(CDEF|GABc|]", "(", Warning);
    one("(CDEF|GABc|", "(", Hint);
    one("{gCDEF|GABc|", "{gCDEF", Warning);
    one("CDE[FA|GABc|", "[FA", Warning);
    one("CDEF|\"Am GABc|", "\"Am GABc", Warning);
    one("CD[K:GEF|GABc|", "[K:GEF", Warning);
    one("C2(3EF||GABc|", "(3", Warning);
    one("C2(3EF(3GAB|", "(3", Warning);
    one("|:CDEF|GABc|", "|:", Hint);
    one("|:CDEF|:GABc:|", "|:", Hint);
    one("CDE!<)!F|GABc|", "!<)!", Hint);
    one("CDE!trill(!F|GABc|", "!trill(!", Hint);
}

#[test]
fn a_slur_may_go_on_while_another_voice_is_typed() {
    one("[V:1]C4|(D4|]\n[V:2]C4|]", "(", Severity::Hint);
    one("[V:1]C4|(D4|]\n[V:2]C4|D4|]", "(", Severity::Warning);
}

#[test]
fn whole_things_are_quiet() {
    for music in [
        "|:(C(DE)F)|1GABc:|2GABc|]",
        "CDEF:|GABc::cBAG:|",
        "!<(!CDEF!<)!|!>(!G!>)!!trill(!AB!trill)!c|",
        "[C(EG]F2E)|{(ga)}F2 (3EFG|",
        "\"^a|b\"CDEF|[I:recte accept unclosed]C4|",
        "C2(3EF|G ABc|",
        "C(3EFG D2|(5:4:4CDEF G|",
    ] {
        assert_eq!(said(music), [], "{music}");
    }
}

#[test]
fn a_backslash_before_the_end() {
    assert_eq!(first_fix("unclosed", "X:1\nK:C\nCDEF|\\\n"), "X:1\nK:C\nCDEF|\n");
}

#[test]
fn chords_and_grace_notes_are_closed_where_they_end() {
    let head = "X:1\nM:4/4\nL:1/4\nK:C\n";
    let closed = |music: &str| first_fix("unclosed", &format!("{head}{music}\n"));
    assert_eq!(closed("[CEG|C4|"), format!("{head}[CEG]|C4|\n"));
    assert_eq!(closed("{ga C4|C4|"), format!("{head}{{ga}} C4|C4|\n"));
    assert_eq!(closed("{ga|C4|"), format!("{head}{{ga}}|C4|\n"));
}

#[test]
fn a_decoration_that_is_not_closed_is_no_line_break() {
    for (music, place) in [("!f CDE|C4|", "!f"), ("!trill C DEF|", "!trill"), ("CDEF|!tr", "!tr")] {
        one(music, place, Severity::Warning);
        let text = format!("%abc-2.1\nX:1\nT:\nM:4/4\nL:1/4\nK:C\n{music}\n");
        assert_eq!(findings_of("outdated", &text), []);
    }
}
