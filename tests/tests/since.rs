//! `recte report --since`, from outside: what became of the last draft, in every format, for scores and for folders.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::{Ran, folder, root, run_in};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

const OLD: &str = "tests/drafts/first/low-water.abc";
const NEW: &str = "tests/drafts/second/low-water.abc";

fn report(folder: &Path, args: &[&str]) -> Ran {
    run_in(folder, &[&["report"], args].concat(), b"")
}

/// The page of the second draft.
fn page() -> String {
    let out = tempfile::tempdir().unwrap();
    let target = out.path().to_str().unwrap();
    let ran = report(&root(), &[NEW, "--since", OLD, "-o", target]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    fs::read_to_string(out.path().join("low-water.html")).unwrap()
}

#[test]
fn a_page_says_what_was_changed_and_plays_both_drafts() {
    let text = page();
    let at = text.find("<section id=\"since\"").expect("the chapter is there");
    let chapter = &text[at..at + text[at..].find("</section>").unwrap()];
    assert!(text.find("id=\"standout\"").unwrap() < at && at < text.find("id=\"bars\"").unwrap());
    for words in [
        "Compared with tests/drafts/first/low-water.abc.",
        "Bars 5–6 are new.",
        "Bar 8 is changed in Violoncello.",
        "Bars 11–12 are bars 9–10 of the old draft a major second higher.",
        "1 remark settled, 1 stands, 1 is new.",
        "Hear it as it was: bars 9–10 of the last draft",
        "aria-label=\"Hear bars 11–12\"",
        "<h3>New</h3>",
        "<h3>Settled</h3>",
    ] {
        assert!(chapter.contains(words), "{words}\n{chapter}");
    }
    // What is new leads to its place; what stands says so there.
    let new = chapter.split("<h3>New</h3>").nth(1).unwrap();
    let id = new.split("href=\"#").nth(1).unwrap().split('"').next().unwrap();
    assert!(text.contains(&format!(" id=\"{id}\"")), "{id}");
    assert_eq!(text.matches(" · new since the last draft").count(), 1);
    assert_eq!(text.matches(" · stands since the last draft").count(), 1);
    assert_eq!(text.matches(&format!(" id=\"{id}\"")).count(), 1);
}

#[test]
fn markdown_and_json_say_the_same() {
    let marked = report(&root(), &[NEW, "--since", OLD, "--format", "markdown"]);
    for words in [
        "## Since the last draft",
        "- Bars 5–6 are new.",
        "1 remark settled, 1 stands, 1 is new.",
        "- new: **Bar 8, Violoncello**: ",
        "- settled: **Bar 3, Violin** (of the last draft): ",
        "; stands since the last draft)",
    ] {
        assert!(marked.out.contains(words), "{words}\n{}", marked.out);
    }
    let all: Value = report(&root(), &[NEW, "--since", OLD, "--format", "json"]).json();
    let (one, gone) = (&all["scores"][0], &all["gone"]);
    assert_eq!((gone, &one["since"]["draft"]), (&json!([]), &json!(OLD)));
    let bars = |old: Value, new: Value| json!([{ "old": old, "new": new }]);
    let span = |from, to| json!({ "from": from, "to": to });
    let told = one["since"]["told"].as_array().unwrap();
    let of = |text: &str| &told.iter().find(|one| one["text"] == text).expect(text)["bars"];
    assert_eq!(*of("Bars 5–6 are new."), bars(Value::Null, span(5, 6)));
    assert_eq!(*of("Bar 8 is changed in Violoncello."), bars(span(6, 6), span(8, 8)));
    assert_eq!(one["since"]["settled"][0]["place"], "bar 3");
    let fates: Vec<&Value> =
        one["remarks"].as_array().unwrap().iter().map(|one| &one["since"]).collect();
    assert!(fates.contains(&&json!("new")) && fates.contains(&&json!("stands")), "{fates:?}");
    // Without a last draft nothing is said of one.
    let plain: Value = report(&root(), &[NEW, "--format", "json"]).json();
    assert_eq!(plain["scores"][0]["since"], Value::Null);
    assert_eq!(plain["scores"][0]["remarks"][0]["since"], Value::Null);
    assert!(!report(&root(), &[NEW, "--format", "markdown"]).out.contains("last draft"));
}

#[test]
fn scores_of_folders_find_theirs_by_name() {
    let out = tempfile::tempdir().unwrap();
    let target = out.path().to_str().unwrap();
    let ran =
        report(&root(), &["tests/drafts/second", "--since", "tests/drafts/first", "-o", target]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let index = fs::read_to_string(out.path().join("index.html")).unwrap();
    let text = fs::read_to_string(out.path().join("low-water.html")).unwrap();
    assert!(text.contains("Bars 5–6 are new."));
    let gone: Vec<_> = fs::read_dir(root().join("tests/drafts/first"))
        .unwrap()
        .map(|one| one.unwrap().file_name().into_string().unwrap())
        .filter(|name| !root().join("tests/drafts/second").join(name).exists())
        .collect();
    assert!(!gone.is_empty() && index.contains("Only in the last draft"));
    assert!(gone.iter().all(|name| index.contains(name.as_str())), "{index}");
    // One score of a folder finds its own there too.
    let one = report(&root(), &[NEW, "--since", "tests/drafts/first", "--format", "markdown"]);
    assert!(one.out.contains("Compared with tests/drafts/first/low-water.abc."), "{}", one.out);
}

#[test]
fn what_the_last_draft_lacks_is_said_and_nothing_is_lost() {
    let tune = "X:1\nT:Reed\nM:3/4\nL:1/8\nK:G\nG2 B2 d2|c2 A2 F2|G6|]\n";
    let other = "X:4\nT:Tide\nM:4/4\nL:1/4\nK:C\nc d e f|g4|]\n";
    let dir = folder(&[
        ("old/a.abc", other),
        ("new/a.abc", tune),
        ("new/b.abc", tune),
        ("broken.abc", "\0"),
    ]);
    let all: Value = report(dir.path(), &["new", "--since", "old", "--format", "json"]).json();
    let lacks: Vec<&Value> =
        all["scores"].as_array().unwrap().iter().map(|one| &one["since"]["lacks"]).collect();
    let wanted = [
        "The last draft does not have this tune.",
        "No last draft of this score was found, or it could not be read.",
    ];
    assert_eq!(lacks, wanted.map(|text| json!(text)).iter().collect::<Vec<_>>());
    assert_eq!(all["gone"], json!(["new/a.abc: Tide"]));
    // One that cannot be read is named, and the report is made all the same.
    let args = ["new/a.abc", "--since", "broken.abc", "--format", "markdown"];
    let ran = report(dir.path(), &args);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("broken.abc") && ran.out.contains("# Reed"), "{ran:?}");
}

#[test]
fn what_does_not_go_together_is_refused() {
    let tune = "X:1\nK:C\nc|\n";
    let dir = folder(&[("a.abc", tune), ("b.abc", tune)]);
    let ran = report(dir.path(), &["a.abc", "b.abc", "--since", "a.abc", "-o", "out"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("a.abc is one score; for the last drafts of several"), "{}", ran.err);
    let ran = report(dir.path(), &["-", "--since", "-", "--format", "json"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("standard input"), "{}", ran.err);
}

#[test]
fn the_template_may_leave_the_chapter_out_or_put_it_first() {
    let settings = |sections: &str| format!("[report]\nsections = [{sections}]\n");
    let read = |name: &str| fs::read_to_string(root().join(name)).unwrap();
    let dir = folder(&[
        ("old.abc", &read(OLD)),
        ("new.abc", &read(NEW)),
        ("without.toml", &settings("\"bars\", \"parts\"")),
        ("first.toml", &settings("\"since\", \"bars\"")),
    ]);
    let page = |config: &str| {
        let args = ["new.abc", "--since", "old.abc", "--config", config, "-o", "out"];
        let ran = report(dir.path(), &args);
        assert_eq!(ran.code, 0, "{}", ran.err);
        fs::read_to_string(dir.path().join("out/new.html")).unwrap()
    };
    let text = page("without.toml");
    assert!(!text.contains("id=\"since\"") && text.contains("stands since the last draft"));
    let text = page("first.toml");
    assert!(text.find("id=\"since\"").unwrap() < text.find("id=\"bars\"").unwrap());
}
