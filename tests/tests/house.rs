//! The house rules, as tests: which crate may use which, and what stands at the top of the repository.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// What each crate uses of ours, from Cargo's own metadata (development dependencies left out).
fn uses() -> BTreeMap<String, BTreeSet<String>> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let output = Command::new(cargo)
        .args(["metadata", "--no-deps", "--offline", "--format-version", "1"])
        .current_dir(root())
        .output()
        .expect("cargo metadata runs");
    let metadata: Value = serde_json::from_slice(&output.stdout).expect("cargo metadata is JSON");
    let packages = metadata["packages"].as_array().expect("packages");
    let name = |package: &Value| package["name"].as_str().expect("a name").to_owned();
    let ours: BTreeSet<String> = packages.iter().map(name).collect();
    let used = |package: &Value| {
        let all = package["dependencies"].as_array().expect("dependencies").iter();
        let real = all.filter(|dependency| dependency["kind"] != "dev");
        real.map(name).filter(|name| ours.contains(name)).collect()
    };
    packages.iter().map(|package| (name(package), used(package))).collect()
}

/// One straight line: a crate may use those before it, and these lines say which.
#[test]
fn crates_use_only_what_lies_under_them() {
    let allowed: BTreeMap<&str, &[&str]> = BTreeMap::from([
        ("recte-grammar", &[] as &[&str]),
        ("recte-theory", &[]),
        ("recte-score", &["recte-theory"]),
        ("recte-notation", &["recte-grammar", "recte-score", "recte-theory"]),
        ("recte-exchange", &["recte-notation", "recte-score", "recte-theory"]),
        ("recte-review", &["recte-notation", "recte-score", "recte-theory"]),
        ("recte-assist", &["recte-review", "recte-notation", "recte-score", "recte-theory"]),
        (
            "recte",
            &[
                "recte-assist",
                "recte-exchange",
                "recte-review",
                "recte-notation",
                "recte-score",
                "recte-theory",
            ],
        ),
        ("recte-tests", &[]),
    ]);
    let found = uses();
    assert_eq!(
        found.keys().map(String::as_str).collect::<Vec<_>>(),
        allowed.keys().copied().collect::<Vec<_>>()
    );
    for (name, used) in &found {
        for other in used {
            assert!(allowed[name.as_str()].contains(&other.as_str()), "{name} uses {other}");
        }
    }
}

/// Theory and score know no file, no text of a score and no protocol.
#[test]
fn pure_crates_stay_pure() {
    for folder in ["theory", "score", "review"] {
        for (path, text) in sources(&root().join("server").join(folder).join("src")) {
            for word in ["std::fs", "std::net", "tokio", "lsp_types", "tower_lsp"] {
                assert!(!text.contains(word), "{} mentions {word}", path.display());
            }
        }
    }
}

/// No floating-point number stands in pitch or time.
#[test]
fn time_and_pitch_are_exact() {
    for folder in ["theory", "score"] {
        for (path, text) in sources(&root().join("server").join(folder).join("src")) {
            let mentions = text.lines().any(|line| {
                !line.trim_start().starts_with("//")
                    && (line.contains("f64") || line.contains("f32"))
            });
            // Seconds of breath, millimetres of string and measures of a texture are neither.
            let figures = [
                "theory/src/instruments",
                "theory/src/playability",
                "score/src/clock.rs",
                "score/src/texture",
            ];
            let figures = figures.iter().any(|place| path.to_string_lossy().contains(place));
            assert!(!mentions || figures, "{} has floats", path.display());
        }
    }
}

/// Whoever asks what is heard asks the block, which keeps it: no request searches a whole tune anew.
#[test]
fn harmonies_are_searched_for_once() {
    for folder in ["server/review/src", "server/assist/src", "server/recte/src/lsp"] {
        for (path, text) in sources(&root().join(folder)) {
            let own = text.contains("harmony::harmonies") || text.contains("{harmonies");
            assert!(!own && !text.contains(" harmonies("), "{}", path.display());
        }
    }
}

#[test]
fn the_top_holds_what_it_should() {
    let listed = Command::new("git").args(["ls-files"]).current_dir(root()).output();
    let listed = String::from_utf8(listed.expect("git runs").stdout).expect("names in UTF-8");
    let tops: BTreeSet<&str> = listed.lines().filter_map(|line| line.split('/').next()).collect();
    let known = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "server",
        "grammar",
        "editors",
        "tests",
        "LICENSE-MIT",
        "LICENSE-APACHE",
        "rustfmt.toml",
        "clippy.toml",
    ];
    for top in tops {
        assert!(top.starts_with('.') || known.contains(&top), "{top} does not belong at the top");
    }
}

fn sources(folder: &Path) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.ends_with("rule_tests") {
            continue; // tests of real tunes read files
        } else if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            let text = std::fs::read_to_string(&path).expect("readable");
            found.push((path, text));
        }
    }
    found
}
