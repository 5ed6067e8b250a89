use super::*;

/// The hover at the mark `‸` in the music.
fn check(music: &str, expected: &str) {
    let text = format!("X:1\nM:4/4\nL:1/4\nK:C\n{music}\n");
    let offset = text.find('‸').unwrap();
    let document = Document::new(&text.replace('‸', ""));
    let found = hover(&document, offset).map(|hover| hover.text);
    assert_eq!(found.unwrap_or_default(), expected, "{music}");
}

#[test]
fn a_chord() {
    check("[CEG]4|[E‸GBd]4|[FAd]4|", "C");
    check("[FA‸d]4|[G,DGB]4|[CEGc]4|", "C");
}

#[test]
fn everything_that_sounds_counts() {
    check("[V:1]‸G4|\n[V:2][CE]4|", "");
    check("[V:1]cc‸cc|\n[V:2]E,4|\n[V:3]G4|", "");
}

#[test]
fn a_hidden_chord_is_named_as_it_sounds() {
    check("‸[E_AB]4|", "");
}

#[test]
fn an_interval_and_a_note() {
    check("[C‸E]4|", "major third\nC4 E4");
    check("[C‸Gc]4|", "perfect fifth\nC4 G4 C5");
    check("^F‸4|", "F sharp (F♯4)\nfourth degree of C major, raised");
}

#[test]
fn foreign_notes_by_their_kind() {
    check("[V:1]c2B‸2|\n[V:2]E4|\n[V:3]G4|\n[V:4]C4|", "");
    check("[V:1]e2d‸e|\n[V:2]c4|\n[V:3]G4|\n[V:4]C4|", "");
}

#[test]
fn degrees_that_are_borrowed() {
    check("[CGce]2[D^Fc‸d]2|[G,GBd]4|[CGce]4|", "");
    check("[CGce]4|[_A,‸Cc^f]4|[G,Dgb]4|[CGce]4|", "");
}

#[test]
fn a_broken_chord_has_its_notes() {
    check("[V:1]e4|\n[V:2]CG‸EG|", "");
}

#[test]
fn a_rest_shows_what_sounds_meanwhile() {
    check("[V:1]‸z4|\n[V:2]C4|", "C (C4)\nfirst degree of C major");
    check("‸z4|", "");
    check("[V:1]Z‸|\n[V:2][CEG]2[DFA]2|", "");
    check("[V:1]Z‸2|\n[V:2][CEG]4|[DFA]4|", "");
}

#[test]
fn a_chord_symbol() {
    check("\"A‸m7\"c4|", "");
    check("\"G(‸Em)\"c4|", "");
    check("\"A‸m\"[CEG]4|", "");
    check("\"C/‸e\"[EGc]4|", "");
    check("\"Fi‸ne\"c4|", "");
    check("\"^‸words\"c4|", "");
}

#[test]
fn a_melody_under_symbols() {
    check("\"Am\"c‸2d2|", "");
    check("\"Am\"c2d‸2|", "");
}

#[test]
fn a_symbol_that_says_otherwise() {
    check("\"Am\"[C‸EG]4|", "");
    check("\"Am7\"[C‸EGA]4|", "");
}

#[test]
fn a_transposing_part_shows_both() {
    check("[V:1 transpose=-2]‸d4|", "C (C5)\nwritten D5\nsecond degree of B flat major");
    check("[V:1 transpose=-2]‸[ceg]4|", "");
}

#[test]
fn between_things_there_is_nothing() {
    check("C2 ‸ C2|", "");
}
