use crate::finding::Severity;
use crate::rule_tests::{findings_of, first_fix, prove_fixes};

const ID: &str = "key-spelling";

fn tune(head: &str, music: &str) -> String {
    format!("X:1\nL:1/4\n{head}\n{music}\n")
}

fn messages(text: &str) -> Vec<String> {
    findings_of(ID, text).into_iter().map(|finding| finding.message).collect()
}

/// The text after the first fix; the fixes keep their promises.
fn fixed(text: &str) -> String {
    prove_fixes(ID, text);
    first_fix(ID, text)
}

#[test]
fn pairs_of_keys() {
    for (typed, better) in [
        ("Cb", "B"),
        ("C#", "Db"),
        ("Abm", "G#m"),
        ("A#m", "Bbm"),
        ("A# minor", "Bb minor"),
        ("G# mix", "Ab mix"),
        ("D#dor", "Ebdor"),
        ("D#mix", "Ebmix"),
        ("Fb", "E"),
        ("G#", "Ab"),
    ] {
        let text = tune(&format!("K:{typed}"), "CDEF|GABc|");
        let after = fixed(&text);
        assert!(after.contains(&format!("K:{better}\n")), "{typed}: {after}");
        assert!(!after.contains(['^', '_', '=']), "{typed}: {after}");
    }
}

#[test]
fn either_name_of_six_signs() {
    for key in ["F#", "Gb", "D#m", "Ebm", "B", "Db", "G#m", "Bbm", "none", "HP"] {
        assert_eq!(messages(&tune(&format!("K:{key}"), "CDEF|GABc|")), [] as [&str; 0], "{key}");
    }
}

#[test]
fn signs_of_its_own_are_left_alone() {
    for key in ["C# exp ^f", "C# =f", "exp ^f^c^g^d^a^e^b"] {
        assert_eq!(messages(&tune(&format!("K:{key}"), "CDEF|GABc|")), [] as [&str; 0], "{key}");
    }
}

#[test]
fn what_it_says() {
    assert_eq!(
        messages(&tune("K:C#", "CDEF|")),
        ["C sharp major has seven sharps; players read D flat major more easily, with five flats."]
    );
    assert_eq!(
        messages(&tune("K:Abm", "CDEF|")),
        ["A flat minor has seven flats; players read G sharp minor more easily, with five sharps."]
    );
    assert_eq!(messages("X:1\nK:C#\n"), [] as [&str; 0]);
}

/// Rows S220 to S222 and S227 of the table of cases, and those it leaves alone in keys of six and fewer signs.
#[test]
fn cases_of_the_table() {
    let mut reader = csv::Reader::from_reader(&include_bytes!("../../data/spelling-cases.csv")[..]);
    let headers = reader.headers().unwrap().clone();
    let column = |name: &str| headers.iter().position(|header| header == name).unwrap();
    let columns = ["key", "instrument", "typed_abc", "verdict", "rule", "expected"].map(column);
    let (mut flagged, mut quiet) = (0, 0);
    for record in reader.records() {
        let record = record.unwrap();
        let [key, instrument, typed, verdict, rule, expected] = columns.map(|at| &record[at]);
        let head = format!("V:1\n%%recte instrument 1 {instrument}\nK:{key}");
        let head = if instrument.is_empty() { format!("K:{key}") } else { head };
        let music = typed.replace("[V:", "\n[V:");
        let text = tune(&head, music.trim_start());
        let key_of_harp = instrument == "harp" && key == "B";
        if rule == "transposing-extreme-key" || key_of_harp {
            let after = recte_notation::lower(&fixed(&text)).tune;
            let notes = after.voices[0].notes.iter().map(|note| note.pitch.to_string());
            assert_eq!(notes.collect::<Vec<_>>().join(" "), expected, "{text}");
            flagged += 1;
        } else if verdict == "ok" && !matches!(key, "C#" | "Cb" | "A#m") {
            // “Diatonic in C sharp” says that the notes are right under their signature.
            assert_eq!(messages(&text), [] as [&str; 0], "{text}");
            quiet += 1;
        }
    }
    assert_eq!((flagged, quiet), (4, 115));
}

#[test]
fn harps_and_others() {
    let harp = |key| tune(&format!("V:1 name=\"Harp\"\nK:{key}"), "CDEF|");
    assert_eq!(messages(&harp("Cb")), [] as [&str; 0]);
    assert_eq!(
        messages(&harp("B")),
        ["On the harp C flat major leaves every string open; B major does not."]
    );
    assert_eq!(findings_of(ID, &harp("B"))[0].severity, Severity::Hint);
    let both = "X:1\nL:1/4\nV:1 name=\"Harp\"\nV:2\nK:Cb\n[V:1]CDEF|\n[V:2]CDEF|\n";
    let found = findings_of(ID, both);
    assert_eq!((found.len(), found[0].fixes.len()), (1, 0));
}

#[test]
fn one_remark_for_all_voices_that_change_together() {
    let text =
        "X:1\nL:1/4\nV:1\nV:2\nK:C\n[V:1]C4|[K:C#]CE2^^F|[K:C]F4|\n[V:2]C4|[K:C#]CE2B,|[K:C]F4|\n";
    let found = findings_of(ID, text);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].bar, found[0].to_bar), (Some(1), Some(1)));
    let after = fixed(text);
    assert_eq!(
        after,
        "X:1\nL:1/4\nV:1\nV:2\nK:C\n[V:1]C4|[K:Db]DF2=G|[K:C]F4|\n[V:2]C4|[K:Db]DF2C|[K:C]F4|\n"
    );
}

#[test]
fn a_signature_typed_again_is_one() {
    let text = tune("K:C#", "CDEF|\nK:C#\nCDEF|[K:C#]G4|");
    assert_eq!(findings_of(ID, &text).len(), 1);
    assert_eq!(fixed(&text), tune("K:Db", "DEFG|\nK:Db\nDEFG|[K:Db]A4|"));
}

#[test]
fn after_six_flats_it_is_a_hint() {
    let severity = |text: &str| findings_of(ID, text)[0].severity;
    assert_eq!(severity(&tune("K:Gb", "GABc|[K:Cb]CDEF|")), Severity::Hint);
    assert_eq!(severity(&tune("K:C", "GABc|[K:Cb]CDEF|")), Severity::Warning);
}

#[test]
fn chord_symbols_ties_and_words_stay_with_their_notes() {
    let text = tune("K:C#", "\"C#\"C2\"G#7/B#\"B,2-|B,2^^A,2|\nw:one two three");
    let after = "\"Db\"D2\"Ab7/C\"C2-|C2=B,2|\nw:one two three";
    assert_eq!(fixed(&text), tune("K:Db", after));
}

#[test]
fn reminders_stay_while_they_remind() {
    let text = tune("K:C#", "C2^^F2|^F2C2|");
    assert_eq!(fixed(&text), tune("K:Db", "D2=G2|_G2D2|"));
    let text = tune("K:C#", "C2B,2|C2=B,2|C2^B,2|");
    assert_eq!(fixed(&text), tune("K:Db", "D2C2|D2_C2|D2=C2|"));
}

#[test]
fn double_flats_stay_where_the_speller_has_them() {
    // The lowered sixth, as it falls to the fifth.
    assert_eq!(fixed(&tune("K:C#", "C2E2|=A2G2|C4|")), tune("K:Db", "D2F2|__B2A2|D4|"));
}

#[test]
fn passages() {
    let remote = "[_C_E_G]4|[_F_A_c]4|[_G_B_d_f]4|[_C_E_G_c]4|";
    for key in ["C", "none"] {
        let text = tune(&format!("K:{key}"), remote);
        let found = findings_of(ID, &text);
        assert_eq!(found.len(), 1, "{key}: {found:?}");
        assert_eq!(found[0].severity, Severity::Hint);
        prove_fixes(ID, &text);
    }
    for (key, music) in [
        // Three bars; a signature that is near; a key that is not far.
        ("C", "[_C_E_G]4|[_F_A_c]4|[_G_B_d_f]4|[CEG]4|[FAc]4|[GBdf]4|[CEGc]4|"),
        ("Gb", "[CEG]4|[_FAc]4|[GBdf]4|[CEGc]4|"),
        ("Ab", "[_CE_G]4|[_FA_c]4|[_GBd_f]4|[_CE_G_c]4|"),
        ("C", "[_G,_B,_D]4|[_C_E_G]4|[_D=F_A_c]4|[_G,_B,_D_G]4|"),
    ] {
        assert_eq!(messages(&tune(&format!("K:{key}"), music)), [] as [&str; 0], "{music}");
    }
    let harp = tune("V:1 name=\"Harp\"\nK:C", remote);
    assert_eq!(messages(&harp), [] as [&str; 0]);
}
