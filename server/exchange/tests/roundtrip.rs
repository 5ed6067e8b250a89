//! ABC → MusicXML → ABC is the same score: for the tunes of tests/scores and, where `tests/run` has laid them out,
//! for all native tunes and all imported scores of the corpus.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

mod portrait;
#[path = "../../review/tests/real/mod.rs"]
mod real;

use portrait::{differences, facts};
use real::{files, root};
use recte_exchange::{import_musicxml, musicxml};
use recte_notation::{BlockKind, Document, lower};
use recte_score::Tune;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How a tune differs after it was exported and imported again.
fn lost(tune: &Tune) -> Vec<String> {
    let exported = match musicxml(tune) {
        Ok(exported) => exported,
        Err(why) => return vec![format!("not exported: {why}")],
    };
    let imported = match import_musicxml(&exported.bytes, "") {
        Ok(imported) => imported,
        Err(why) => return vec![format!("not imported: {why}")],
    };
    let again = lower(&imported.text).tune;
    differences(&facts(tune), &facts(&again))
}

/// Works on all of them, two at a time; what differs, by name.
fn all<T: Sync>(
    items: &[T],
    work: impl Fn(&T) -> Vec<(String, Vec<String>)> + Sync,
) -> BTreeMap<String, Vec<String>> {
    let next = AtomicUsize::new(0);
    let found = Mutex::new(BTreeMap::new());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some(item) = items.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let results = work(item);
                    found.lock().unwrap().extend(results);
                }
            });
        }
    });
    found.into_inner().unwrap()
}

fn tunes(path: &Path) -> Vec<(String, Vec<String>)> {
    let document = Document::from_bytes(fs::read(path).unwrap());
    let name = path.file_name().unwrap().to_string_lossy().into_owned();
    let tunes = document.blocks().filter(|(_, block)| block.kind == BlockKind::Tune);
    let one = |(place, (_, block)): (usize, (usize, &std::sync::Arc<recte_notation::Block>))| {
        let tune = &block.lowered().tune;
        let music = tune.voices.iter().any(|voice| !voice.bars.is_empty());
        music.then(|| (format!("{name} #{}", place + 1), lost(tune)))
    };
    tunes.enumerate().filter_map(one).collect()
}

fn score(path: &PathBuf) -> Vec<(String, Vec<String>)> {
    let name = path
        .components()
        .rev()
        .take(2)
        .map(|c| c.as_os_str().to_string_lossy())
        .collect::<Vec<_>>()
        .join(" in ");
    let imported = import_musicxml(&fs::read(path).unwrap(), &name);
    let lost = match imported {
        Ok(imported) => lost(&lower(&imported.text).tune),
        Err(why) => vec![why],
    };
    vec![(name, lost)]
}

/// What a fact is about: its words up to the colon, and the first after it for what stands at notes.
fn kind(fact: &str) -> String {
    let plain: String = fact.chars().filter(|c| c.is_alphabetic() || " :-+".contains(*c)).collect();
    let (head, rest) = plain.split_once(':').unwrap_or((&plain, ""));
    let words = if head.contains(" at ") { 2 } else { 0 };
    let rest: Vec<&str> = rest.split_whitespace().take(words).collect();
    format!("{}: {}", head.split_whitespace().collect::<Vec<_>>().join(" "), rest.join(" "))
}

/// A sample of the differences, and how many tunes have each kind.
fn judge(what: &str, found: &BTreeMap<String, Vec<String>>) {
    let wrong: Vec<_> = found.iter().filter(|(_, lost)| !lost.is_empty()).collect();
    let mut kinds: BTreeMap<String, (usize, Vec<String>)> = BTreeMap::new();
    for (name, lost) in &wrong {
        let mut seen = std::collections::BTreeSet::new();
        for fact in lost.iter() {
            let kind = kind(fact);
            let entry = kinds.entry(kind.clone()).or_default();
            entry.0 += usize::from(seen.insert(kind));
            if entry.1.len() < 6 {
                entry.1.push(format!("{name}: {fact}"));
            }
        }
    }
    println!("{what}: {} of {} are the same", found.len() - wrong.len(), found.len());
    for (kind, (count, some)) in &kinds {
        println!("{count:>6} {kind}\n        {}", some.join("\n        "));
    }
    assert!(wrong.is_empty(), "{} of {} {what} differ", wrong.len(), found.len());
}

#[test]
fn composed_tunes() {
    let paths = files(&root().join("tests/scores"), &["abc"]);
    judge("composed tunes", &all(&paths, |path| tunes(path)));
}

#[test]
fn native_tunes() {
    let paths = files(&root().join("target/corpus/native"), &["abc"]);
    judge("native tunes", &all(&paths, |path| tunes(path)));
}

#[test]
fn imported_scores() {
    let folders = ["target/corpus/scores", "tests/scores"].map(|folder| root().join(folder));
    let all_in = |folder: &PathBuf| files(folder, &["xml", "musicxml", "mxl"]);
    let paths: Vec<PathBuf> = folders.iter().flat_map(all_in).collect();
    judge("imported scores", &all(&paths, score));
}

/// What the comparison would miss, it could not prove: each of these changes one thing.
#[test]
fn whatever_is_changed_is_a_difference() {
    let tune = |head: &str, music: &str| {
        facts(&lower(&format!("X:1\nT:A\nM:4/4\nL:1/8\n{head}K:C\n{music}\n")).tune)
    };
    for (before, after) in [
        ("A4 B4|", "A4 _B4|"),
        ("A4 B4|", "A4 b4|"),
        ("A4 B4|", "A3 B5|"),
        ("A4 A4|", "A4-A4|"),
        ("A4-A4|", "A4.-A4|"),
        ("A4 z4|", "A4 B4|"),
        ("[AC]4 B4|", "[AD]4 B4|"),
        ("AB c6|", "A B c6|"),
        ("{c}A8|", "A8|"),
        ("{c}A8|", "{/c}A8|"),
        ("{cd}A8|", "{cd2}A8|"),
        ("A8|B8|]", "A8|B8||"),
        ("|:A8|B8:|", "|:A8|B8|"),
        ("|:A8|1B8:|2c8|]", "|:A8|1B8:|3c8|]"),
        ("A8|[\"first\"B8|]", "A8|[\"last\"B8|]"),
        ("A8|B8|", "A8|[M:6/8]B6|"),
        ("A8|B8|", "A8|[K:G]B8|"),
        ("A8|B8|", "A8|[K:clef=bass]B8|"),
        ("A8|B8|", "A8|[K:transpose=-2]B8|"),
        ("A8|B8|", "A8|[Q:1/4=50]B8|"),
        ("A8|B8|", "A8|[P:B]B8|"),
        ("A8|B8|", "A8|\nT:Two\nB8|"),
        ("(AB) c6|", "(AB c6)|"),
        ("(AB) c6|", ".(AB) c6|"),
        ("\"Am\"A8|", "\"A\"A8|"),
        ("\"^so\"A8|", "\"_so\"A8|"),
        ("!p!A8|", "!pp!A8|"),
        ("!<(!A4 B4!<)!|", "!<(!A4 !<)!B4|"),
        ("!trill!A8|", "A8|"),
        ("!fermata!A8|", "!invertedfermata!A8|"),
        ("A8!fine!|", "A8|"),
        ("A8|\nw:so", "A8|\nw:la"),
        ("A4B4|\nw:so-la", "A4B4|\nw:so la"),
        ("A4B4|\nw:so_", "A4B4|\nw:so"),
        ("A4 & E4|", "A4 & F4|"),
        ("(3ABc d6|", "ABc d6|"),
    ] {
        assert!(!differences(&tune("", before), &tune("", after)).is_empty(), "{before} {after}");
    }
    for (before, after) in [
        ("", "T:B\n"),
        ("C:One\n", "C:Two\n"),
        ("R:reel\n", "R:jig\n"),
        ("P:AB\n", "P:BA\n"),
        ("Q:1/4=60\n", "Q:\"Slow\" 1/4=60\n"),
        ("V:1 name=\"Flute\"\n", "V:1 name=\"Oboe\"\n"),
        ("V:1 clef=alto\n", "V:1 clef=tenor\n"),
        ("%%score {1 2}\nV:1\nV:2\n", "%%score [1 2]\nV:1\nV:2\n"),
        ("%%score (1 2)\nV:1\nV:2\n", "%%score 1 2\nV:1\nV:2\n"),
    ] {
        let music = "[V:1]A8|\n[V:2]B8|";
        assert!(
            !differences(&tune(before, music), &tune(after, music)).is_empty(),
            "{before} {after}"
        );
    }
    assert!(differences(&tune("", "!.!A8|"), &tune("", "!staccato!A8|")).is_empty());
}
