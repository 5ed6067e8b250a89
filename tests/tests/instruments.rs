//! `recte instruments`: listed, searched, explained, with a user's own rows.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::{Ran, run_in};
use std::fs;
use tempfile::TempDir;

const OWN: &str = "\
[[instrument]]
id = \"alphorn\"
name = \"Alphorn in G-flat\"
family = \"brass\"
names = [\"Alphorn\", \"Alph.\"]
transposition = { chromatic = -6, diatonic = -4 }
range_professional = { written_min = \"C3\", written_max = \"C6\" }

[[instrument]]
id = \"flute\"
range_school = { written_max = \"D6\" }
";

fn instruments(settings: &str, args: &[&str]) -> Ran {
    let folder: TempDir = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("recte.toml"), settings).unwrap();
    let args: Vec<&str> = ["instruments"].iter().chain(args).copied().collect();
    run_in(folder.path(), &args, b"")
}

/// The lines that contain a word.
fn lines<'t>(text: &'t str, word: &str) -> Vec<&'t str> {
    text.lines().filter(|line| line.contains(word)).map(str::trim_end).collect()
}

#[test]
fn listed_by_family_in_score_order() {
    let ran = instruments("", &[]);
    assert_eq!(ran.code, 0, "{ran:?}");
    let headings: Vec<&str> =
        ran.out.lines().filter(|l| !l.starts_with(' ') && !l.is_empty()).collect();
    assert_eq!(
        headings,
        [
            "Woodwind",
            "Brass",
            "Percussion",
            "Plucked",
            "Keyboard",
            "Free reed",
            "Voices",
            "Strings"
        ]
    );
    assert_eq!(
        lines(&ran.out, "  clarinet-in-a "),
        [
            "  clarinet-in-a             Clarinet in A                              C#3–A6     sounds a minor third lower than written"
        ]
    );
    assert_eq!(
        lines(&ran.out, "  snare-drum "),
        [
            "  snare-drum                Snare drum                                 no definite pitch"
        ]
    );
    let place = |id: &str| ran.out.find(&format!("\n  {id} ")).unwrap();
    assert!(place("piccolo") < place("flute") && place("flute") < place("violin"));
}

#[test]
fn searched_in_every_language() {
    let ids = |words: &[&str]| -> Vec<String> {
        let ran = instruments("", words);
        assert_eq!(ran.code, 0, "{ran:?}");
        let first = |line: &str| line.split_whitespace().next().map(str::to_owned);
        ran.out.lines().filter(|line| line.starts_with("  ")).filter_map(first).collect()
    };
    assert_eq!(ids(&["Cor."]), ["horn-in-f", "cornet-in-b-flat"]);

    assert_eq!(ids(&["trommel"]), ["snare-drum", "bass-drum"]);
    assert!(instruments("", &["petite", "flûte"]).out.starts_with("Piccolo (piccolo)\n"));
    assert!(instruments("", &["Bratsche"]).out.starts_with("Viola (viola)\n"));
    let near = instruments("", &["basoon"]);
    assert_eq!(near.code, 2);
    assert!(near.err.contains("the nearest is “bassoon”"), "{}", near.err);
    assert_eq!(instruments("", &["xyzzy"]).code, 2);
}

#[test]
fn explained_with_sources_and_the_usual_care() {
    let horn = instruments("", &["Horn in F"]).out;
    assert!(horn.contains("sounds            a perfect fifth lower than written"), "{horn}");
    assert!(
        horn.contains("range             professional written C2–C6, sounding F1–F5\n")
            && horn.contains("matter for a doctor."),
        "{horn}"
    );
    let violin = instruments("", &["violin"]).out;
    for said in [
        "IV G3, III D4, II A4, I E5",
        "range             professional G3–",
        "the player or the teacher decides",
    ] {
        assert!(violin.contains(said), "{said}: {violin}");
    }
}

#[test]
fn a_users_own_rows_are_shown_and_said_so() {
    let all = instruments(OWN, &[]).out;
    assert_eq!(
        lines(&all, "(recte.toml)"),
        [
            "  flute                     Flute                                      B3–D7      (recte.toml)",
            "  alphorn                   Alphorn in G-flat                          F#2–F#5    sounds a diminished fifth lower than written (recte.toml)"
        ]
    );
    let one = instruments(OWN, &["Alph."]).out;
    assert!(
        one.contains("in recte.toml     family, name, names, range_professional, transposition"),
        "{one}"
    );
    let flute = instruments(OWN, &["flute", "--format", "json"]).json();
    let flute = &flute["instruments"][0];
    assert_eq!(flute["ranges"]["school"]["written"][1], "D6");
    assert_eq!(flute["own"], serde_json::json!(["range_school"]));
    assert_eq!(flute["row"]["breath_seconds"]["school"], 8.0);
    let bad = instruments(
        "[[instrument]]\nid = \"flute\"\nrange_school = { writen_max = \"D6\" }\n",
        &[],
    );
    assert_eq!(bad.code, 2);
    assert!(
        bad.err.contains(
            "line 3: instrument flute: there is no key “writen_max”; the nearest is “written_max”."
        ),
        "{}",
        bad.err
    );
}

#[test]
fn a_table_with_commas() {
    let ran = instruments("", &["--format", "csv"]);
    let mut rows = ran.out.lines();
    assert_eq!(
        rows.next().unwrap(),
        "id,name,family,clefs,chromatic,diatonic,\
         professional.writtenMin,professional.writtenMax,professional.soundingMin,professional.soundingMax,\
         advanced.writtenMin,advanced.writtenMax,advanced.soundingMin,advanced.soundingMax,\
         school.writtenMin,school.writtenMax,school.soundingMin,school.soundingMax,names"
    );
    let cello = rows.find(|row| row.starts_with("cello,")).unwrap();
    assert!(cello.starts_with("cello,Violoncello,strings,bass tenor treble,0,0,C2,"), "{cello}");
    assert!(ran.out.contains("\nsnare-drum,Snare drum,percussion,perc,,,,,,,,,,,,,,,"));
}

/// What the settings name is what the checks use.
#[test]
fn a_users_own_instrument_is_checked() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("recte.toml"), OWN).unwrap();
    let low = "X:1\nL:1/4\nV:1 name=\"Alphorn\" transpose=-6\nK:C\nC,C,,B,,,2|\n";
    fs::write(folder.path().join("a.abc"), low).unwrap();
    let ran = run_in(folder.path(), &["check", "--rule", "beyond-range", "a.abc"], b"");
    assert!(
        ran.out.contains("Below the alphorn in G-flat's lowest note (C3, sounding F♯2)"),
        "{ran:?}"
    );
}
