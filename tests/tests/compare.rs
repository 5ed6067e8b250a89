//! `recte compare`, from outside: what is said of two drafts, exit codes, formats, folders.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::{Ran, folder, root, run, run_in};
use serde_json::Value;
use std::fs;
use std::path::Path;

const HEAD: &str = "X:1\nT:Pebble\nM:4/4\nL:1/4\nK:Am\n";

fn compare(folder: &Path, args: &[&str]) -> Ran {
    run_in(folder, &[&["compare"], args].concat(), b"")
}

#[test]
fn the_demo_is_told_as_a_colleague_would() {
    let ran =
        run(&["compare", "tests/drafts/first/low-water.abc", "tests/drafts/second/low-water.abc"]);
    assert_eq!(ran.code, 1, "{ran:?}");
    for line in [
        "  Violoncello was called Cello.",
        "  Bars 5–6 are new.",
        "  Bar 8 is changed in Violoncello.",
        "  Bars 11–12 are bars 9–10 of the old draft a major second higher.",
        "  Bars 1–2, 4, 7, 9–10 and 13–14 are as they were.",
    ] {
        assert!(ran.out.lines().any(|own| own == line), "{line}\n{}", ran.out);
    }
    assert!(ran.out.contains("settled, Violin, bar 3 of the old draft: warning: "), "{}", ran.out);
    assert!(ran.out.contains("new, Violoncello, bar 8: warning: Below the cello's"), "{}", ran.out);
}

#[test]
fn exit_codes_follow_what_is_new() {
    let remarked = format!("{HEAD}[EB_A]4 | c d e f |]\n");
    let clean = format!("{HEAD}[EB^G]4 | c d e f |]\n");
    let dir = folder(&[("a.abc", remarked), ("b.abc", clean)]);
    let code = |args: &[&str]| compare(dir.path(), args).code;
    assert_eq!(code(&["a.abc", "a.abc"]), 0);
    assert_eq!(code(&["a.abc", "b.abc"]), 0);
    assert_eq!(code(&["b.abc", "a.abc"]), 1);
    assert_eq!(code(&["b.abc", "a.abc", "--fail-on", "error"]), 0);
    assert_eq!(code(&["b.abc", "a.abc", "--fail-on", "never"]), 0);
    assert_eq!(code(&["b.abc", "a.abc", "--family", "idiom"]), 0);
    assert_eq!(code(&["b.abc", "a.abc", "--rule", "chord-speling"]), 2);
    assert_eq!(code(&["a.abc", "no.abc"]), 2);
    assert_eq!(code(&["a.abc"]), 2);
    assert_eq!(code(&["-", "-"]), 2);
    assert_eq!(code(&[".", "a.abc"]), 2);
}

#[test]
fn what_cannot_be_compared_is_named() {
    let dir = folder(&[("a.abc", format!("{HEAD}c4|]\n")), ("old/a.abc", format!("{HEAD}c4|]\n"))]);
    let ran = compare(dir.path(), &["a.abc", "no.abc"]);
    assert!(ran.err.contains("no.abc cannot be read"), "{}", ran.err);
    let ran = compare(dir.path(), &["old", "a.abc"]);
    let expected = "old is a folder and a.abc is not; compare two scores, or two folders.\n";
    assert_eq!(ran.err, expected);
}

#[test]
fn folders_are_compared_by_name() {
    let music = format!("{HEAD}c d e f |]\n");
    let remarked = format!("{HEAD}[EB_A]4 |]\n");
    let dir = folder(&[
        ("old/a.abc", music.clone()),
        ("old/in/b.abc", music.clone()),
        ("old/gone.abc", music.clone()),
        ("new/a.abc", music.clone()),
        ("new/in/b.abc", remarked.clone()),
        ("new/added.abc", remarked),
    ]);
    let ran = compare(dir.path(), &["old", "new"]);
    assert_eq!(ran.code, 1);
    assert!(ran.out.contains("new/a.abc: Pebble\n  Nothing is changed.\n"), "{}", ran.out);
    assert!(ran.out.contains("old/gone.abc\n  The new draft has no score of this name."));
    assert!(ran.out.contains("new/added.abc\n  The old draft has no score of this name.\n"));
    let json = compare(dir.path(), &["old", "new", "--format", "json"]).json();
    let names = |list: &Value, key: &str| -> Vec<String> {
        let all = list.as_array().unwrap().iter();
        all.map(|one| one[key].as_str().unwrap().replace('\\', "/")).collect()
    };
    assert_eq!(names(&json["files"], "new"), ["new/a.abc", "new/in/b.abc"]);
    assert_eq!(names(&json["added"], "path"), ["new/added.abc"]);
    assert_eq!(json["gone"], serde_json::json!(["old/gone.abc"]));
    assert_eq!(json["added"][0]["diagnostics"][0]["rule"], "chord-spelling");
}

#[test]
fn scores_of_two_formats_are_compared() {
    let dir = tempfile::tempdir().unwrap();
    let score = root().join("tests/scores/miller-at-the-weir.musicxml");
    for name in ["old", "new"] {
        fs::create_dir(dir.path().join(name)).unwrap();
    }
    fs::copy(&score, dir.path().join("old/weir.musicxml")).unwrap();
    let text = run(&["import", "tests/scores/miller-at-the-weir.musicxml"]).out;
    fs::write(dir.path().join("new/weir.abc"), text).unwrap();
    let ran = compare(dir.path(), &["old", "new"]);
    assert!(ran.out.contains("  Nothing is changed.\n"), "{ran:?}");
    assert_eq!(ran.code, 0);
}

#[test]
fn json_keeps_to_its_schema() {
    let schema = run(&["compare", "--schema"]).json();
    let json =
        run(&["compare", "tests/drafts/first", "tests/drafts/second", "--format", "json"]).json();
    assert_eq!(json["version"], 1);
    let mut seen = 0;
    keeps_to(&schema, &schema, &json, &mut seen);
    assert!(seen > 100, "{seen}");
    let tune = &json["files"][0]["tunes"][0];
    let kinds: Vec<&str> =
        tune["stretches"].as_array().unwrap().iter().map(|s| s["kind"].as_str().unwrap()).collect();
    assert!(kinds.contains(&"transposed") && kinds.contains(&"inserted"), "{kinds:?}");
    let higher = tune["stretches"].as_array().unwrap().iter().find(|s| s["kind"] == "transposed");
    assert_eq!(higher.unwrap()["transposition"]["words"], "a major second higher");
    let remarks = &tune["remarks"];
    assert_eq!(remarks["settled"][0]["rule"], "chord-spelling");
    assert_eq!(json["summary"]["files"], 1);
}

/// Whether a value has the type, and an object just the members, that a schema promises.
fn keeps_to(root: &Value, schema: &Value, value: &Value, seen: &mut usize) {
    *seen += 1;
    if let Some(name) = schema["$ref"].as_str() {
        let place = name.strip_prefix('#').unwrap();
        return keeps_to(root, root.pointer(place).unwrap(), value, seen);
    }
    if let Some(choices) = schema["anyOf"].as_array() {
        let real = choices.iter().find(|one| one["type"] != "null").unwrap();
        assert!(!value.is_null() || choices.iter().any(|one| one["type"] == "null"));
        if !value.is_null() {
            keeps_to(root, real, value, seen);
        }
        return;
    }
    let is = |kind: &str| match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "integer" => value.is_i64() || value.is_u64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        _ => panic!("{kind}"),
    };
    let kinds: Vec<&str> = match &schema["type"] {
        Value::String(kind) => vec![kind],
        kinds => kinds.as_array().unwrap().iter().map(|kind| kind.as_str().unwrap()).collect(),
    };
    assert!(kinds.iter().any(|kind| is(kind)), "{value} is no {kinds:?}");
    for (name, member) in value.as_object().into_iter().flatten() {
        let own = &schema["properties"][name];
        assert!(own.is_object(), "{name} is not in the schema");
        keeps_to(root, own, member, seen);
    }
    for name in schema["required"].as_array().into_iter().flatten().filter(|_| value.is_object()) {
        assert!(value.get(name.as_str().unwrap()).is_some(), "{name} is missing");
    }
    for member in value.as_array().into_iter().flatten() {
        keeps_to(root, &schema["items"], member, seen);
    }
}

#[test]
fn fixing_a_remark_settles_it() {
    let remarked = format!("{HEAD}[EB_A]4 | c d e f | [EB_A]4 |]\n");
    let dir = folder(&[("old.abc", remarked.clone()), ("new.abc", remarked)]);
    let emended = run_in(dir.path(), &["emend", "--write", "new.abc"], b"");
    assert_eq!(emended.code, 0, "{emended:?}");
    let json = compare(dir.path(), &["old.abc", "new.abc", "--format", "json"]).json();
    let remarks = &json["files"][0]["tunes"][0]["remarks"];
    assert!(remarks["settled"].as_array().unwrap().len() >= 2, "{remarks}");
    assert_eq!(remarks["new"], serde_json::json!([]));
    let told = &json["files"][0]["tunes"][0]["told"][0];
    assert_eq!(told, "Bars 1 and 3 sound the same and are written otherwise.");
}
