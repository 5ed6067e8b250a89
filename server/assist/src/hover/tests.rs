use super::*;

/// The hover at the mark `‸` in the music.
fn check(music: &str, expected: &str) {
    let text = format!("X:1\nM:4/4\nL:1/4\nK:C\n{music}\n");
    let offset = text.find('‸').unwrap();
    let document = Document::new(&text.replace('‸', ""));
    let found = hover(&document, offset).map(|hover| hover.text);
    let found = found.unwrap_or_default();
    assert_eq!(found, expected, "{music}");
}

#[test]
fn a_chord() {
    check(
        "[CEG]4|[E‸GBd]4|[FAd]4|",
        "E minor seventh (Em7)\nE4 G4 B4 D5\nroot: third degree of C major (iii7)",
    );
    check(
        "[FA‸d]4|[G,DGB]4|[CEGc]4|",
        "D minor, first inversion (Dm/F)\nF4 A4 D5\nroot: second degree of C major (ii6)",
    );
}

#[test]
fn everything_that_sounds_counts() {
    check(
        "[V:1]‸G4|\n[V:2][CE]4|",
        "C major (C)\nC4 E4 G4\nroot: first degree of C major (I)\nthis note: G4, the fifth",
    );
    check(
        "[V:1]cc‸cc|\n[V:2]E,4|\n[V:3]G4|",
        "C major, first inversion (C/E)\nE3 G4 C5\nroot: first degree of C major (I6)\nthis note: C5, the root",
    );
}

#[test]
fn a_hidden_chord_is_named_as_it_sounds() {
    check(
        "‸[E_AB]4|",
        "E major (E), as it sounds\nE4 A♭4 B4; as a chord it is spelled E G♯ B\nroot: third degree of C major",
    );
}

#[test]
fn an_interval_and_a_note() {
    check("[C‸E]4|", "major third\nC4 E4");
    check("[C‸G]4|", "perfect fifth\nC4 G4");
    check("[C‸Gc]4|", "open fifth on C (C5)\nC4 G4 C5\nroot: first degree of C major (I)");
    check("^F‸4|", "F sharp (F♯4)\nfourth degree of C major, raised");
}

#[test]
fn foreign_notes_by_their_kind() {
    check(
        "[V:1]cc‸Bc|\n[V:2]E4|\n[V:3]G4|\n[V:4]C4|",
        "C major (C)\nC4 E4 G4 B4\nroot: first degree of C major (I)\nnot in the chord: B4 (neighbour note)",
    );
    check(
        "[V:1]e2‸de|\n[V:2]c4|\n[V:3]G4|\n[V:4]C4|",
        "C major (C)\nC4 G4 C5 D5\nits notes: C E G\nroot: first degree of C major (I)\nnot in the chord: D5 (neighbour note)",
    );
}

#[test]
fn a_wrong_name_in_a_broken_chord() {
    check(
        "[V:1]E/^G/B/G/ E/_A‸/B/e/|\n[V:2]E,4|",
        "E major (E)\nE3 A♭4\nits notes: E G♯ B\nroot: fifth degree of A minor (V)\nnot in the chord: A♭4 (it sounds as G♯, the third)",
    );
}

#[test]
fn degrees_that_are_borrowed() {
    check(
        "[CGce]4|[G,GBd]4|[CGce]2[D^FA‸d]2|[G,GBd]4|[CGce]4|[F,FAc]2[G,GBd]2|[CGce]4|",
        "D major (D)\nD4 F♯4 A4 D5\nroot: second degree of C major (V/V), leading to the fifth degree",
    );
    check(
        "[CGce]4|[_A,‸Cc^f]4|[G,Dgb]4|[CGce]4|",
        "Italian sixth on A flat (A♭ It+6)\nA♭3 C4 C5 F♯5\nbass: sixth degree of C major, lowered (It6)",
    );
}

#[test]
fn a_broken_chord_has_its_notes() {
    check(
        "[V:1]e4|\n[V:2]CG‸EG|",
        "C major (C)\nE4 E5\nits notes: C E G\nroot: first degree of C major (I)\nthis note: E4, the third",
    );
}

#[test]
fn a_rest_shows_what_sounds_meanwhile() {
    check("[V:1]‸z4|\n[V:2]C4|", "C (C4)\nfirst degree of C major");
    check("‸z4|", "");
    check(
        "[V:1]Z‸|\n[V:2][CEG]2[DFA]2|",
        "beat 1: C major (C), I in C major\nbeat 3: D minor (Dm), ii in C major",
    );
    check(
        "[V:1]Z‸2|\n[V:2][CEG]4|[DFA]4|",
        "bar 1, beat 1: C major (C), I in C major\nbar 2, beat 1: D minor (Dm), ii in C major",
    );
}

#[test]
fn a_chord_symbol() {
    check("\"A‸m7\"c4|", "A minor seventh (Am7)\nA C E G\nroot: sixth degree of C major");
    check(
        "\"G(‸Em)\"c4|",
        "G major (G)\nG B D\nroot: fifth degree of C major\nor E minor (Em): E G B",
    );
    check(
        "\"A‸m\"[CEG]4|",
        "A minor (Am)\nA C E\nroot: sixth degree of C major\nthe notes are C E G: C major (C)",
    );
    check(
        "\"C/‸e\"[EGc]4|",
        "C major, first inversion (C/E)\nC E G\nroot: first degree of C major\nthe notes say the same",
    );
    check("\"Fi‸ne\"c4|", "");
    check("\"^‸words\"c4|", "");
}

#[test]
fn a_melody_under_symbols() {
    check(
        "\"Am\"c‸2d2|",
        "A minor (Am), as the symbol says\nits notes: A C E\nroot: sixth degree of C major\nC (C5): the third; first degree of C major",
    );
    check(
        "\"Am\"c2d‸2|",
        "A minor (Am), as the symbol says\nits notes: A C E\nroot: sixth degree of C major\nD (D5): not in the chord; second degree of C major",
    );
}

#[test]
fn a_symbol_that_says_otherwise() {
    check(
        "\"Am\"[C‸EG]4|",
        "C major (C)\nC4 E4 G4\nroot: first degree of C major (I)\nthe symbol Am says A C E; the notes are C E G",
    );
    check("\"Am\"[ACE]4|[C‸EG]4|", "C major (C)\nC4 E4 G4\nroot: first degree of C major (I)");
    check(
        "\"Am7\"[C‸EGA]4|",
        "A minor seventh, first inversion (Am7/C)\nC4 E4 G4 A4\nroot: first degree of A minor (i65)",
    );
}

#[test]
fn a_transposing_part_shows_both() {
    check("[V:1 transpose=-2]‸d4|", "C (C5)\nwritten D5\nsecond degree of B flat major");
    check(
        "[V:1 transpose=-2]‸[ceg]4|",
        "B flat major (B♭)\nB♭4 (written C5) D5 (written E5) F5 (written G5)\nroot: first degree of B flat major (I)",
    );
}

#[test]
fn between_things_there_is_nothing() {
    check("C2 ‸ C2|", "");
}

#[test]
fn what_no_chord_of_the_table_is() {
    check("[C,,G,,D,A,E‸B]4|", "6 notes in fifths on C\nC2 G2 D3 A3 E4 B4");
    check("[C,E,G,_A,_C‸_E]4|", "A flat minor over C major (A♭m | C)\nC3 E3 G3 A♭3 C♭4 E♭4");
    check("[E‸FGA]4|", "cluster from E to A\nE4 F4 G4 A4");
}
