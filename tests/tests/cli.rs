//! The command line, from outside: exit codes, formats, what is written and what is left alone.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::{run, run_in};
use serde_json::Value;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// A chord that players expect with G sharp.
const REMARKED: &str = "X:1\nT:Pebble\nM:4/4\nL:1/4\nK:C\n[E_AB]2 c2|]\n";
const CLEAN: &str = "X:2\nT:Reed\nM:4/4\nL:1/4\nK:C\nC D E F|]\n";

fn folder(files: &[(&str, &[u8])]) -> TempDir {
    recte_tests::folder(files)
}

fn rules(json: &Value) -> Vec<(String, String)> {
    let files = json["files"].as_array().unwrap().iter();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    files
        .flat_map(|file| {
            let remarks = file["diagnostics"].as_array().unwrap().iter();
            remarks.map(|one| (text(&file["path"]), text(&one["rule"]))).collect::<Vec<_>>()
        })
        .collect()
}

#[test]
fn exit_codes() {
    let dir = folder(&[("a.abc", REMARKED.as_bytes()), ("b.abc", CLEAN.as_bytes())]);
    let code = |args: &[&str]| run_in(dir.path(), args, b"").code;
    assert_eq!(code(&["check", "b.abc"]), 0);
    assert_eq!(code(&["check", "."]), 1);
    assert_eq!(code(&["check", "a.abc", "--fail-on", "error"]), 0);
    assert_eq!(code(&["check", "a.abc", "--fail-on", "never"]), 0);
    assert_eq!(code(&["check", "a.abc", "--rule", "unreadable"]), 0);
    assert_eq!(code(&["check", "a.abc", "--family", "spelling"]), 1);
    assert_eq!(code(&["check", "a.abc", "--family", "colour"]), 2);
    assert_eq!(code(&["check", "a.abc", "--rule", "chord-speling"]), 2);
    assert_eq!(code(&["check", "--no-such-option", "a.abc"]), 2);
    assert_eq!(code(&["check"]), 2);
}

#[test]
fn an_unreadable_path_is_named_and_the_others_are_checked() {
    let dir = folder(&[("a.abc", REMARKED.as_bytes()), ("b.abc", b"X:1\nK:C\n\0\x01|\n")]);
    let ran = run_in(dir.path(), &["check", "--format", "json", "a.abc", "b.abc", "no.abc"], b"");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no.abc cannot be read"), "{}", ran.err);
    assert!(
        ran.err.contains("b.abc: this is not a text file: line 3 holds a NUL byte."),
        "{}",
        ran.err
    );
    let json = ran.json();
    assert!(rules(&json).contains(&("a.abc".into(), "chord-spelling".into())));
    assert_eq!(json["summary"]["unread"], 2);
}

#[test]
fn files_without_music_get_a_sentence() {
    let dir = folder(&[("a.abc", b""), ("b.abc", b"Dear all,\nno music today.\n")]);
    let ran = run_in(dir.path(), &["check", "."], b"");
    assert_eq!(ran.code, 0);
    assert!(ran.err.contains("a.abc: there is nothing in it."), "{}", ran.err);
    assert!(ran.err.contains("b.abc: there is no tune in it"), "{}", ran.err);
}

#[test]
fn json_has_the_promised_shape() {
    let dir = folder(&[("a.abc", REMARKED.as_bytes())]);
    let json = run_in(dir.path(), &["check", "--format", "json", "a.abc"], b"").json();
    let remarks = json["files"][0]["diagnostics"].as_array().unwrap();
    let one = remarks.iter().find(|one| one["rule"] == "chord-spelling").unwrap();
    assert_eq!(one["family"], "spelling");
    assert_eq!((&one["bar"], &one["toBar"], &one["beat"]), (&1.into(), &1.into(), &"1".into()));
    assert_eq!((&one["tune"], &one["voice"]), (&"1".into(), &"1".into()));
    assert_eq!(one["range"]["start"], serde_json::json!({ "line": 5, "character": 0 }));
    assert!(one["severity"].is_string() && one["related"].is_array());
    let fix = &one["fixes"][0];
    assert_eq!(fix["preferred"], true);
    assert_eq!(fix["edits"][0]["newText"], "^G");
    assert_eq!(json["summary"]["files"], 1);
}

#[test]
fn json_lines_are_one_object_each() {
    let dir = folder(&[("a.abc", REMARKED.as_bytes()), ("b.abc", REMARKED.as_bytes())]);
    let ran = run_in(dir.path(), &["check", "--format", "jsonl", "."], b"");
    let lines: Vec<Value> = ran.out.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    assert!(lines[0]["path"].as_str().unwrap().ends_with("a.abc"));
    assert_eq!(lines[0]["fixes"][0]["edits"][0]["newText"], "^G");
    assert!(lines.last().unwrap()["summary"]["warning"].as_u64() >= Some(2));
}

#[test]
fn the_order_does_not_depend_on_jobs() {
    let names: Vec<String> =
        (0..30).map(|number| format!("s{number:02}/{number:02}.abc")).collect();
    let files: Vec<(&str, &[u8])> =
        names.iter().map(|name| (name.as_str(), REMARKED.as_bytes())).collect();
    let dir = folder(&files);
    let with = |jobs| run_in(dir.path(), &["check", ".", "--jobs", jobs], b"").out;
    assert_eq!(with("1"), with("8"));
    assert_eq!(with("1").matches("(chord-spelling)").count(), 30);
}

#[test]
fn standard_input_and_text_without_colours() {
    let ran = run_in(Path::new("/"), &["check", "-"], REMARKED.as_bytes());
    assert_eq!(ran.code, 1);
    let expected = "-:6:1  Pebble, bar 1\n  warning: ";
    assert!(ran.out.starts_with(expected), "{}", ran.out);
    assert!(ran.out.contains("    [E_AB]2 c2|]\n    ^^^^^^"), "{}", ran.out);
    assert!(!ran.out.contains('\x1b'));
}

#[test]
fn a_text_cannot_command_the_terminal() {
    let ran = run_in(Path::new("/"), &["check", "-"], b"X:1\nT:\x1b[31mred\nK:C\nC}\x1b[2J|\n");
    assert!(!ran.out.contains('\x1b') && ran.out.contains("·[31mred"), "{}", ran.out);
}

#[test]
fn emending_shows_the_difference_and_writes_when_asked() {
    let dir = folder(&[("a.abc", REMARKED.as_bytes()), ("b.abc", CLEAN.as_bytes())]);
    let shown = run_in(dir.path(), &["emend", "."], b"");
    assert_eq!(shown.code, 0);
    assert!(shown.out.contains("-[E_AB]2 c2|]\n+[E^GB]2 c2|]\n"), "{}", shown.out);
    assert_eq!(fs::read_to_string(dir.path().join("a.abc")).unwrap(), REMARKED);
    let written = run_in(dir.path(), &["emend", ".", "--write"], b"");
    assert!(written.err.contains("a.abc: 1 fix."), "{}", written.err);
    let after = fs::read_to_string(dir.path().join("a.abc")).unwrap();
    assert_eq!(after, REMARKED.replace("_AB", "^GB"));
    assert_eq!(fs::read_to_string(dir.path().join("b.abc")).unwrap(), CLEAN);
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 2);
    assert!(run_in(dir.path(), &["emend", "."], b"").err.contains("Nothing to emend"));
}

#[test]
fn laying_out_shows_the_difference_and_writes_when_asked() {
    let typed = CLEAN.replace("C D E F|]", "C  D E F |]  ").replace("Reed", "R\u{e9}ed  s");
    let latin = |text: &str| text.chars().map(|c| c as u8).collect::<Vec<u8>>();
    let laid = typed.replace("C  D E F |]  ", "C D E F |]");
    let dir = folder(&[("a.abc", &latin(&typed)), ("b.abc", CLEAN.as_bytes())]);
    let run = |args: &[&str]| run_in(dir.path(), args, b"");
    let shown = run(&["layout", "."]);
    assert_eq!(shown.code, 0);
    assert!(shown.out.contains("-C  D E F |]  \n+C D E F |]\n"), "{}", shown.out);
    assert!(shown.err.contains("1 score to lay out; --write does it."), "{}", shown.err);
    assert_eq!(run(&["layout", ".", "--check"]).code, 1);
    assert_eq!(run(&["layout", ".", "--check", "--write"]).code, 2);
    assert_eq!(fs::read(dir.path().join("a.abc")).unwrap(), latin(&typed));
    let written = run(&["layout", ".", "--write"]);
    assert_eq!((written.code, written.out.as_str()), (0, ""));
    assert!(written.err.contains("1 score laid out."), "{}", written.err);
    assert_eq!(fs::read(dir.path().join("a.abc")).unwrap(), latin(&laid));
    let again = run(&["layout", ".", "--check"]);
    assert_eq!((again.code, again.err.as_str()), (0, "Nothing to lay out.\n"));
    let piped = run_in(dir.path(), &["layout", "-", "--write"], typed.as_bytes());
    assert_eq!(piped.out, laid);
    assert_eq!(run(&["layout", "no.abc"]).code, 2);
}

#[test]
fn a_line_that_would_not_read_the_same_is_left_and_told() {
    let text = "X:1\nm: A| = B\nK:C\nA |c|d|  e\n";
    let ran = run_in(Path::new("/"), &["layout", "-", "--write"], text.as_bytes());
    assert_eq!(ran.out, text);
    assert!(ran.err.starts_with("-: 1 line was left as typed;"), "{}", ran.err);
}

#[test]
fn emending_keeps_encoding_line_ends_and_permissions() {
    let text = REMARKED.replace("Pebble", "\u{c9}tude").replace('\n', "\r\n");
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    let utf16: Vec<u8> =
        std::iter::once(0xFEFF).chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let dir = folder(&[("latin.abc", &latin), ("wide.abc", &utf16)]);
    let path = |name| dir.path().join(name);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        fs::set_permissions(path("latin.abc"), fs::Permissions::from_mode(0o640)).unwrap();
    }
    assert_eq!(run_in(dir.path(), &["emend", ".", "--write"], b"").code, 0);
    let after = text.replace("_AB", "^GB");
    let expected: Vec<u8> = after.chars().map(|c| c as u8).collect();
    assert_eq!(fs::read(path("latin.abc")).unwrap(), expected);
    let expected: Vec<u8> =
        std::iter::once(0xFEFF).chain(after.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    assert_eq!(fs::read(path("wide.abc")).unwrap(), expected);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(path("latin.abc")).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o640);
    }
}

#[test]
fn notes_have_the_promised_shape() {
    let text = "X:3\nT:\u{1D11E} Drift\nM:2/4\nL:1/8\nV:1 name=\"Oboe\"\nK:D\n\"^\u{1D11E}\"[FA]2 {g}f-f|z2 _B2|]\n";
    let json = run_in(Path::new("/"), &["notes", "-"], text.as_bytes()).json();
    let tune = &json["tunes"][0];
    assert_eq!((&tune["reference"], &tune["title"]), (&"3".into(), &"\u{1D11E} Drift".into()));
    let voice = &tune["voices"][0];
    assert_eq!((&voice["id"], &voice["name"]), (&"1".into(), &"Oboe".into()));
    let row = |note: &Value| {
        let text = |key: &str| note[key].as_str().unwrap().to_owned();
        (text("onset"), text("duration"), text("pitch"), note["bar"].as_i64().unwrap())
    };
    let notes = voice["notes"].as_array().unwrap();
    let rows: Vec<_> = notes.iter().map(row).collect();
    let expected = [
        ("0", "1/4", "F#4", 1),
        ("0", "1/4", "A4", 1),
        ("1/4", "0", "G5", 1),
        ("1/4", "1/8", "F#5", 1),
        ("3/8", "1/8", "F#5", 1),
        ("3/4", "1/4", "Bb4", 2),
    ];
    let expected = expected.map(|(onset, duration, pitch, bar)| {
        (onset.to_owned(), duration.to_owned(), pitch.to_owned(), bar)
    });
    assert_eq!(rows, expected);
    assert_eq!(notes[2]["grace"], true);
    assert_eq!((&notes[3]["tied"], &notes[4]["tied"]), (&false.into(), &true.into()));
    assert_eq!(notes[0]["range"]["start"], serde_json::json!({ "line": 6, "character": 6 }));
    assert_eq!(notes[0]["midi"], 66);
    let table = run_in(Path::new("/"), &["notes", "-", "--format", "csv"], text.as_bytes()).out;
    assert_eq!(table.lines().count(), 7);
    assert!(
        table
            .lines()
            .nth(1)
            .unwrap()
            .starts_with("-,3,\u{1D11E} Drift,1,Oboe,1,0,1/4,F#4,F#4,66,false,false,6,6,")
    );
}

#[test]
fn chords_have_the_promised_shape() {
    let text =
        "X:1\nT:Weir\nM:4/4\nL:1/4\nK:C\n[C,EGc]2 [CFA]2|[B,DFG]3 z|[C,EG]4 & c2 d/2 c3/2|]\n";
    let list = |format: &str| {
        run_in(Path::new("/"), &["chords", "-", "--format", format], text.as_bytes())
    };
    let json = list("json").json();
    let tune = &json["tunes"][0];
    assert_eq!((&tune["reference"], &tune["title"]), (&"1".into(), &"Weir".into()));
    let harmonies = tune["harmonies"].as_array().unwrap();
    let shown = |harmony: &Value| {
        ["bar", "beat", "symbol", "degree"].map(|field| harmony[field].to_string()).join(" ")
    };
    let shown: Vec<String> = harmonies.iter().map(shown).collect();
    let expected = [
        r#"1 "1" "C" "I""#,
        r#"1 "3" "F/C" "IV64""#,
        r#"2 "1" "G7/B" "V65""#,
        r#"2 "4" null null"#,
        r#"3 "1" "C" "I""#,
    ];
    assert_eq!(shown, expected);
    let seventh = &harmonies[2];
    assert_eq!(seventh["onset"], "1");
    assert_eq!(seventh["duration"], "3/4");
    assert_eq!(seventh["root"], "G");
    assert_eq!(seventh["quality"], "dominant seventh");
    assert_eq!((&seventh["bass"], &seventh["inversion"]), (&"B".into(), &1.into()));
    assert_eq!(seventh["notes"], serde_json::json!(["G", "B", "D", "F"]));
    assert_eq!(seventh["key"], "C major");
    assert!(seventh["readings"][0]["symbol"].is_string());
    let neighbour = serde_json::json!([{"pitch": "D5", "voice": "1", "kind": "neighbour note"}]);
    assert_eq!(harmonies[4]["nonchord"], neighbour);
    let table = list("csv").out;
    let line = "-,1,Weir,2,1,1,3/4,G7/B,G,dominant seventh,B,1,G B D F,C major,V65,";
    assert!(table.lines().any(|other| other == line), "{table}");
    let text = list("text").out;
    assert!(text.contains("bar   2, beat 1     G7/B       V65      in C major"), "{text}");
    assert!(text.contains("bar   2, beat 4     silence"), "{text}");
    let cadence = "bar   3, beat 1     C          I        in C major: imperfect authentic cadence";
    assert!(text.contains(cadence), "{text}");
    assert_eq!(harmonies[4]["cadence"], "imperfect authentic");
    assert!(seventh["cadence"].is_null());
}

#[test]
fn what_only_observes_speaks_where_it_is_asked() {
    let text = "X:1\nT:Lamp\nM:4/4\nL:1/4\nK:C\n[A,CE] [DFA] [EGB]2|]\n";
    let said = |args: &[&str], toml: &str| {
        let dir = folder(&[("recte.toml", toml.as_bytes()), ("a.abc", text.as_bytes())]);
        let args = [&["check", "a.abc", "--format", "json"], args].concat();
        let json = run_in(dir.path(), &args, b"").json();
        let all = json["files"][0]["diagnostics"].as_array().unwrap().clone();
        all.iter().map(|one| one["message"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    let sentence = ["Three minor triads move in parallel, bar 1."];
    assert_eq!(said(&[], ""), [] as [&str; 0]);
    assert_eq!(said(&["--rule", "planing"], ""), sentence);
    assert_eq!(said(&[], "[rules]\nplaning = \"hint\"\n"), sentence);
    assert_eq!(said(&["--rule", "planing"], "[rules]\nplaning = \"off\"\n"), [] as [&str; 0]);
}

#[test]
fn settings_are_found_upwards_and_mistakes_in_them_named() {
    let toml = b"[rules]\nchord-spelling = \"off\"\n[[overrides]]\npaths = [\"loud/**\"]\nrules.chord-spelling = \"error\"\n";
    let (a, b) = ("quiet/a.abc", "loud/deep/b.abc");
    let dir = folder(&[("recte.toml", toml), (a, REMARKED.as_bytes()), (b, REMARKED.as_bytes())]);
    let severity = |path| {
        let json = run_in(dir.path(), &["check", "--format", "json", path], b"").json();
        json["summary"]["error"].as_u64().unwrap()
    };
    assert_eq!((severity(a), severity(b)), (0, 1));
    let shown = run_in(dir.path(), &["config", b], b"").out;
    assert!(shown.contains("rules.chord-spelling = \"error\""), "{shown}");
    assert!(shown.contains("paths loud/**") && shown.contains("# default"), "{shown}");
    fs::write(dir.path().join("recte.toml"), "wrods = \"british\"\n").unwrap();
    let ran = run_in(dir.path(), &["check", "."], b"");
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("recte.toml, line 1: there is no key “wrods”; the nearest is “words”.")
    );
}

#[test]
fn the_schema_knows_every_rule() {
    let schema = run(&["config", "--schema"]).json();
    let known = schema["properties"]["rules"]["properties"].as_object().unwrap();
    let rules = run(&["rules", "--format", "json"]).json();
    let rules = rules["rules"].as_array().unwrap();
    assert_eq!(known.len(), rules.len());
    assert!(rules.iter().all(|rule| known.contains_key(rule["rule"].as_str().unwrap())));
}

#[test]
fn included_files_are_looked_for_beside_the_score() {
    let score = b"I:abc-include units.abh\n\nX:1\nK:C\nC|\n";
    let dir = folder(&[("songs/a.abc", score), ("songs/units.abh", b"L:1/4\n"), ("b.abc", score)]);
    let length = |path| {
        let json = run_in(dir.path(), &["notes", path], b"").json();
        json["tunes"][0]["voices"][0]["notes"][0]["duration"].clone()
    };
    assert_eq!((length("songs/a.abc"), length("b.abc")), ("1/4".into(), "1/8".into()));
    let ran = run_in(dir.path(), &["check", "."], b"");
    let sentence =
        "“units.abh” is not found in the folder of this score; what it would set is left out.";
    assert!(ran.out.starts_with(&format!("./b.abc:1:1\n  info: {sentence}")), "{}", ran.out);
    assert_eq!((ran.code, ran.out.matches(sentence).count()), (0, 1));
}

#[test]
fn a_tune_is_exported_by_the_ending_of_its_file() {
    let dir = folder(&[("a.abc", format!("{REMARKED}\n{CLEAN}").as_bytes())]);
    for (out, head) in [("a.mid", &b"MThd"[..]), ("a.MXL", b"PK"), ("a.musicxml", b"<?xml ")] {
        let ran = run_in(dir.path(), &["export", "a.abc", "--tune", "2", "-o", out], b"");
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert!(fs::read(dir.path().join(out)).unwrap().starts_with(head), "{out}");
    }
    let document = fs::read_to_string(dir.path().join("a.musicxml")).unwrap();
    assert!(document.contains("<work-title>Reed</work-title>"));
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 4);
}

/// Two voices, a pickup, three bars and a fourth that a repeat divides.
const DUET: &str = "X:1\nM:2/4\nL:1/4\nV:Fl name=\"Flute\"\nV:Vc name=\"Cello\" clef=bass\nK:C\n\
                    V:Fl\nG|c2|d-d|e:|f|g2|]\nV:Vc\nG,|C,2|!wobble!D,2|E,:|F,|G,2|]\n";

#[test]
fn bars_and_voices_narrow_an_export() {
    let steps = |args: &[&str]| {
        let dir = folder(&[("a.abc", DUET.as_bytes())]);
        let all = [&["export", "a.abc", "-o", "a.musicxml"], args].concat();
        let ran = run_in(dir.path(), &all, b"");
        assert_eq!(ran.code, 0, "{ran:?}");
        let document = fs::read_to_string(dir.path().join("a.musicxml")).unwrap();
        let steps = document.lines().filter_map(|line| line.trim().strip_prefix("<step>"));
        steps.filter_map(|step| step.chars().next()).collect::<String>()
    };
    assert_eq!(steps(&[]), "GCDDEFGGCDEFG");
    assert_eq!(steps(&["--voices", "Fl"]), "GCDDEFG");
    assert_eq!(steps(&["--voices", "Cello,Fl", "--bars", "1"]), "CC");
    assert_eq!(steps(&["--bars", "2-3", "--voices", "Vc"]), "DEF");
    assert_eq!(steps(&["--bars", "0", "--voices", "Vc"]), "G");
}

#[test]
fn what_a_format_cannot_hold_is_said_and_written_all_the_same() {
    let dir = folder(&[("a.abc", DUET.as_bytes())]);
    let ran = run_in(dir.path(), &["export", "a.abc", "-o", "a.musicxml"], b"");
    assert_eq!((ran.code, ran.err.as_str()), (0, "“!wobble!” is no sign that MusicXML has.\n"));
}

#[test]
fn an_export_that_cannot_be_made_says_why_and_leaves_all_as_it_is() {
    let dir = folder(&[("a.abc", DUET.as_bytes()), ("b.mid", b"kept")]);
    for (args, why) in [
        (&["-o", "a.txt"][..], "a.txt should end in .musicxml, .mxl or .mid."),
        (&["-o", "b.mid", "--tune", "9"], "there is no tune with the number 9 in it."),
        (&["-o", "b.mid", "--bars", "3-12"], "there are no bars 3-12; this tune has bars 0 to 4."),
        (&["-o", "b.mid", "--bars", "5-2"], "bars are given from the first to the last, so 2-5."),
        (&["-o", "b.mid", "--bars", "x"], "“x” names no bars; they are given like 8-16, or 8."),
        (&["-o", "b.mid", "--voices", "Flut"], "there is no voice “Flut”; the nearest is “Flute”."),
        (&["-o", "no/such/b.mid"], "no/such/b.mid cannot be written"),
    ] {
        let ran = run_in(dir.path(), &[&["export", "a.abc"], args].concat(), b"");
        assert_eq!(ran.code, 2, "{ran:?}");
        assert!(ran.err.contains(why), "{ran:?}");
    }
    assert_eq!(fs::read(dir.path().join("b.mid")).unwrap(), b"kept");
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 2);
    let empty = run_in(dir.path(), &["export", "-", "-o", "b.mid"], b"X:1\nK:C\n");
    assert_eq!(empty.code, 2, "{empty:?}");
    assert!(empty.err.contains("there is no music in this tune"), "{empty:?}");
}

#[test]
fn rules_and_instruments_say_what_they_are() {
    assert!(run(&["rules"]).out.contains("chord-spelling"));
    assert!(run(&["rules", "--format", "json"]).json()["rules"][0]["documentation"].is_string());
    assert!(run(&["explain", "chord-spelling"]).out.starts_with("# "));
    let unknown = run(&["explain", "chord-speling"]);
    assert!(unknown.code == 2 && unknown.err.contains("“chord-spelling”"), "{unknown:?}");
    assert!(run(&["instruments"]).out.contains("cello"));
    assert!(run(&["instruments", "cello"]).out.contains("C2"));
    assert_eq!(run(&["instruments", "xyzzy"]).code, 2);
}

#[test]
fn any_bytes_in_and_no_crash() {
    let dir = folder(&[]);
    let mut bytes = REMARKED.as_bytes().to_vec();
    for round in 0..200usize {
        let place = (round * 7919) % bytes.len();
        bytes[place] = (round * 31 + 1) as u8 | 1;
        if round % 10 == 0 {
            for command in [
                &["check", "-"][..],
                &["notes", "-"],
                &["emend", "-"],
                &["export", "-", "-o", "out.musicxml"],
                &["export", "-", "-o", "out.mid"],
            ] {
                let ran = run_in(dir.path(), command, &bytes);
                assert!((0..=2).contains(&ran.code), "{ran:?}");
                assert!(!ran.err.contains("panicked"), "{ran:?}");
            }
        }
    }
}

const PLANING: &str = "X:1\nM:4/4\nL:1/4\nV:1 name=\"Piano\"\nK:Am\n[Ace]2 [G_Bd]2|[F_Ac]4|A4|]\n";

#[test]
fn what_is_suggested_can_be_heard_first() {
    let dir = folder(&[("a.abc", PLANING.as_bytes())]);
    let args = ["export", "a.abc", "-o", "a.musicxml", "--bars", "1-2", "--suggestion"];
    let ran = run_in(dir.path(), &[&args[..], &["add major sevenths"]].concat(), b"");
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let document = fs::read_to_string(dir.path().join("a.musicxml")).unwrap();
    let steps = document.lines().filter_map(|line| line.trim().strip_prefix("<step>"));
    let steps: String = steps.filter_map(|step| step.chars().next()).collect();
    assert_eq!(steps, "ACEGGBDFFACE");
    // The score itself is as it was.
    assert_eq!(fs::read_to_string(dir.path().join("a.abc")).unwrap(), PLANING);
    let ran = run_in(dir.path(), &[&args[..], &["louder"]].concat(), b"");
    assert_eq!(ran.code, 2);
    let said = "a.abc: no one suggestion for these bars begins with “louder”; there are \
                “Add minor sevenths to the parallel chords of bars 1–2 (changes the music)”, ";
    assert!(ran.err.starts_with(said), "{}", ran.err);
    // More than one begins so.
    assert_eq!(run_in(dir.path(), &[&args[..], &["add"]].concat(), b"").code, 2);
}
