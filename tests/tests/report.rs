//! `recte report` from outside: pages that parse and need nothing else, every chapter, the template, tables, refusals.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::{Ran, folder, root, run_in};
use serde_json::Value;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const PIECE: &str = "X:1\nT:Pebble\nC:Written here\nM:4/4\nL:1/4\nQ:1/4=60\nV:1 name=\"Violin\"\n\
    V:2 name=\"Cello\" clef=bass\nK:C\n[V:1]!p!c4|[r:Is this the same hand?]e c [E_AB]2|f e d2|c4|]\n\
    [V:2]C,4|E,4|B,,,4|C,4|]\n";
const CHAPTERS: [&str; 9] =
    ["piece", "standout", "bars", "harmony", "parts", "layers", "form", "curves", "method"];

fn page(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join("out").join(name)).unwrap()
}

fn report(folder: &TempDir, args: &[&str]) -> Ran {
    run_in(folder.path(), &[&["report"], args].concat(), b"")
}

/// Every element that is opened is closed, in order: what a strict reader of HTML asks of a page without optional ends.
fn assert_well_formed(text: &str) {
    const EMPTY: [&str; 4] = ["meta", "input", "br", "hr"];
    let mut open: Vec<String> = Vec::new();
    let mut rest = text.strip_prefix("<!DOCTYPE html>").expect("a page begins with its kind");
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        let end = rest.find('>').expect("a tag ends");
        let (tag, after) = rest.split_at(end);
        rest = &after[1..];
        let name: String =
            tag.trim_start_matches('/').chars().take_while(|c| c.is_alphanumeric()).collect();
        assert!(!name.is_empty(), "a bare “<” before {}", &rest[..rest.len().min(40)]);
        if tag.starts_with('/') {
            assert_eq!(
                open.pop().as_deref(),
                Some(name.as_str()),
                "in {}",
                &rest[..rest.len().min(80)]
            );
        } else if !tag.ends_with('/') && !EMPTY.contains(&name.as_str()) {
            if ["script", "style"].contains(&name.as_str()) {
                let close = format!("</{name}>");
                let at = rest.find(&close).expect("it is closed");
                rest = &rest[at + close.len()..];
            } else {
                open.push(name);
            }
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
}

/// Nothing in a page leads outside: no address, no file, no handler in an attribute, no style in one.
fn assert_self_contained(text: &str) {
    let markup = without_script_and_style(text);
    for outside in [
        "http:",
        "https:",
        "src=",
        "@import",
        "url(",
        "file:",
        "data:",
        " style=\"",
        " onclick",
        " onload",
    ] {
        // What pictures name as their kind is no address that is asked for.
        let found = markup.replace("http://www.w3.org/2000/svg", "");
        assert!(!found.contains(outside), "{outside}");
    }
    assert!(text.contains("default-src 'none'"));
}

fn without_script_and_style(text: &str) -> String {
    let mut text = text.to_owned();
    for name in ["script", "style"] {
        while let Some(from) = text.find(&format!("<{name}")) {
            let close = format!("</{name}>");
            let to = text[from..].find(&close).unwrap() + from + close.len();
            text.replace_range(from..to, "");
        }
    }
    text
}

#[test]
fn a_page_has_every_chapter_and_nothing_from_outside() {
    let folder = folder(&[("a.abc", PIECE)]);
    let ran = report(&folder, &["a.abc", "-o", "out"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let text = page(folder.path(), "a.html");
    for chapter in CHAPTERS {
        assert!(text.contains(&format!("<section id=\"{chapter}\"")), "{chapter}");
    }
    for words in [
        "Pebble",
        "Written here",
        "Is this the same hand?",
        "E, A flat, B is an E major triad; players expect G sharp.",
        "Respell as E major: E G♯ B",
        "<ins>^G</ins>",
        "Below the cello’s lowest string (C2)",
    ] {
        assert!(text.contains(words) || text.contains(&words.replace('’', "'")), "{words}");
    }
    assert_well_formed(&text);
    assert_self_contained(&text);
    let index = page(folder.path(), "index.html");
    assert!(index.contains("<a href=\"a.html\">Pebble</a>"));
    assert_well_formed(&index);
    assert_self_contained(&index);
}

#[test]
fn hostile_words_stay_words() {
    let hostile = "<script>alert(1)</script>\"'&<img src=x onerror=y>";
    let text = PIECE
        .replace("Pebble", hostile)
        .replace("Written here", hostile)
        .replace("Is this the same hand?", "</q><b onclick=z>")
        .replace("\"Cello\"", "\"Cello </svg><i>\"")
        .replace("[V:1]!p!c4", "[V:1]\"^</code><u>\"!p!c4")
        .replace("K:C\n", "K:C\nP:<s>\n");
    let settings = format!("[report]\ngreeting = '''{hostile}'''\n");
    let folder = folder(&[("a&<b>.abc", &text), ("recte.toml", &settings)]);
    let ran = report(&folder, &["a&<b>.abc", "-o", "out"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for name in ["a-b.html", "index.html"] {
        let text = page(folder.path(), name);
        assert_well_formed(&text);
        let markup = without_script_and_style(&text);
        for tag in ["<img", "<i>", "<b ", "<u>", "<s>", "<script", "alert(1)</"] {
            assert!(!markup.contains(tag), "{name}: {tag}");
        }
        assert!(markup.contains("&lt;script&gt;"), "{name}");
        assert_eq!(
            text.matches("<script").count(),
            if name == "index.html" { 0 } else { 2 },
            "{name}"
        );
    }
    let marked = report(&folder, &["a&<b>.abc", "--format", "markdown"]);
    assert!(marked.out.contains("# \\<script\\>"), "{}", marked.out);
}

#[test]
fn a_template_chooses_chapters_words_and_reader() {
    let settings = "[report]\nsections = [\"bars\", \"piece\"]\nreader = \"student\"\n\
        greeting = \"\"\"Dear Ada,\n\nthank you for this.\"\"\"\nclosing = \"Yours, the reader\"\n";
    let folder = folder(&[("a.abc", PIECE), ("recte.toml", settings)]);
    assert_eq!(report(&folder, &["a.abc", "-o", "out"]).code, 0);
    let text = page(folder.path(), "a.html");
    let place = |what: &str| text.find(what).unwrap_or_else(|| panic!("{what}"));
    assert!(place("<p>Dear Ada,</p><p>thank you for this.</p>") < place("id=\"bars\""));
    assert!(place("id=\"bars\"") < place("id=\"piece\""));
    assert!(place("id=\"piece\"") < place("Yours, the reader"));
    assert!(!text.contains("id=\"curves\"") && text.contains("Each remark quotes the bar"));
    // Figures still lead to how they were worked out.
    assert!(text.contains("id=\"how-minutes\""));
}

#[test]
fn a_chapter_nobody_knows_is_answered_with_the_nearest() {
    for (line, near) in [
        ("sections = [\"bars\", \"harmonie\"]", "“harmony”"),
        ("reader = \"studnt\"", "“student”"),
        ("sectoins = []", "“sections”"),
    ] {
        let folder = folder(&[("a.abc", PIECE), ("recte.toml", &format!("[report]\n{line}\n"))]);
        let ran = report(&folder, &["a.abc", "-o", "out"]);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("line 2") && ran.err.contains(near), "{}", ran.err);
    }
}

#[test]
fn the_longest_to_review_comes_first_and_the_table_says_so_too() {
    let clean = "X:1\nT:Clean\nM:4/4\nL:1/4\nK:C\nc d e f|c4|]\n";
    let two = format!("{clean}\nX:2\nT:Second\nM:4/4\nL:1/4\nK:C\nc4|]\n");
    let folder = folder(&[("1.abc", clean), ("b/2.abc", PIECE), ("b/c/2.abc", &two)]);
    let ran = report(&folder, &[".", "-o", "out", "--table", "table.csv"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let table = fs::read_to_string(folder.path().join("table.csv")).unwrap();
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!(lines.len(), 5, "{table}");
    assert!(lines[0].starts_with("path,tune,title,bars,seconds,to settle,remarks,spelling,metre"));
    assert!(lines[1].contains("Pebble,4,16,3,"), "{table}");
    let index = page(folder.path(), "index.html");
    let place = |what: &str| index.find(what).unwrap();
    assert!(place("href=\"2.html\">Pebble") < place(">Clean"));
    // Two scores of one name, and two tunes of one score, have pages of their own.
    for name in ["1.html", "2.html", "2-1.html", "2-2.html"] {
        assert!(page(folder.path(), name).contains("<h1>"), "{name}");
    }
}

#[test]
fn json_has_the_shape_that_is_promised() {
    let folder = folder(&[("a.abc", PIECE)]);
    let json: Value = report(&folder, &["a.abc", "--format", "json"]).json();
    assert_eq!(json["version"], 1);
    let one = &json["scores"][0];
    assert_eq!((one["path"].as_str(), one["tune"].as_str()), (Some("a.abc"), Some("1")));
    assert_eq!(one["sections"][0]["from"], 1);
    assert_eq!(one["curves"]["register"].as_array().unwrap().len(), 4);
    assert_eq!(one["parts"][1]["compass"], serde_json::json!(["B1", "E3"]));
    assert_eq!(one["standout"].as_array().unwrap().len(), 3);
    assert_eq!(one["reviewer"][0]["bar"], 2);
    for key in ["boundaries", "contrasts", "figures", "layers", "returns", "cautions"] {
        assert!(one[key].is_array(), "{key}");
    }
    let spelled =
        one["remarks"].as_array().unwrap().iter().find(|one| one["rule"] == "chord-spelling");
    assert_eq!(spelled.unwrap()["proposals"][0]["text"], "e c [E^GB]2|");
}

#[test]
fn what_is_no_report_is_left_alone() {
    let folder = folder(&[("a.abc", PIECE), ("out/a.html", "<p>mine")]);
    let ran = report(&folder, &["a.abc", "-o", "out"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("a.html was left as it is: it is no report"), "{}", ran.err);
    assert_eq!(page(folder.path(), "a.html"), "<p>mine");
    fs::remove_file(folder.path().join("out/a.html")).unwrap();
    // One of ours is written over.
    assert_eq!(report(&folder, &["a.abc", "-o", "out"]).code, 0);
    assert_eq!(report(&folder, &["a.abc", "-o", "out"]).code, 0);
}

#[test]
fn where_it_goes_is_asked_for_and_what_is_unread_is_named() {
    let folder = folder(&[("a.abc", PIECE), ("b.abc", "X:1\nK:C\n\0|\n")]);
    let ran = report(&folder, &["a.abc"]);
    assert_eq!(
        (ran.code, ran.err.trim_end()),
        (2, "Pages need a folder to go to; name it with -o.")
    );
    let ran = report(&folder, &["a.abc", "b.abc", "-o", "out"]);
    assert_eq!(ran.code, 2);
    assert!(page(folder.path(), "index.html").contains("b.abc: this is not a text file"));
    assert!(page(folder.path(), "a.html").contains("Pebble"));
}

/// 24 voices of 500 bars stay one page of less than a million bytes.
#[test]
fn a_large_score_is_a_page_of_less_than_a_megabyte() {
    let mut text = "X:1\nT:Large\nM:4/4\nL:1/8\nQ:1/4=96\nK:C\n".to_owned();
    for voice in 0..24 {
        text.push_str(&format!("V:{voice} name=\"Part {voice}\"\n"));
    }
    for line in 0..125 {
        for voice in 0..24 {
            let bar = |bar: usize| -> String {
                let note = |at: usize| {
                    let at = line * 31 + voice * 7 + bar * 3 + at * at;
                    ["C2", "D", "E/F/", "^F", "G", "A", "_B", "c2"][at % 8].to_owned()
                };
                format!("{} z", (0..6).map(note).collect::<Vec<_>>().join(" "))
            };
            let bars: Vec<String> = (0..4).map(bar).collect();
            text.push_str(&format!("[V:{voice}]{}|\n", bars.join("|")));
        }
    }
    let folder = folder(&[("large.abc", &text)]);
    assert_eq!(report(&folder, &["large.abc", "-o", "out"]).code, 0);
    let size = fs::metadata(folder.path().join("out/large.html")).unwrap().len();
    assert!(size < 1_000_000, "{size}");
}

/// Three scores as a reviewer gets them; their pages hold, and find what is wrong with them on purpose.
#[test]
fn three_scores_of_three_kinds() {
    let out = tempfile::tempdir().unwrap();
    let target = out.path().to_str().unwrap();
    let ran = run_in(&root(), &["report", "tests/report", "-o", target], b"");
    assert_eq!(ran.code, 0, "{}", ran.err);
    for (name, words) in [
        (
            "low-water",
            &["G3 and A3 both lie only on the violin", "one figure through", "lowest string (C2)"]
                [..],
        ),
        ("lantern-parade", &["highest note", "lowest note", "damage hearing"]),
        (
            "ferry-bell",
            &["E, A flat, B", "Ask the singer", "The bass holds D", "the reviewer's own remark"],
        ),
    ] {
        let text = fs::read_to_string(out.path().join(format!("{name}.html"))).unwrap();
        assert_well_formed(&text);
        assert_self_contained(&text);
        for words in words {
            assert!(text.contains(words), "{name}: {words}");
        }
    }
}
