//! The editor and the command line say the same of the same score under the same settings.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::client::Client;
use recte_tests::{run_in, scores};
use serde_json::{Value, json};
use std::fs;

const TOML: &str = "level = \"advanced\"\n[rules]\nchord-spelling = \"info\"\n\n\
    [[overrides]]\npaths = [\"school/**\"]\nlevel = \"school\"\nrules.chord-spelling = \"error\"\n";

const OTHERS: [(&str, &str); 4] = [
    ("school/a.abc", "X:1\nT:\u{1D11E}\nL:1/4\nK:C\n\"^\u{1D11E}\"[E_AB]2 c2}|]\n"),
    ("b.abc", "%%recte accept unreadable chord-spelling\n\nX:1\nK:C\nC}|\n\nX:2\nK:C\n[E_AB]|\n"),
    ("c.abc", "X:1\r\nK:C\r\n[E_AB]2}|\r\n\r\nX:2\rK:Qq\rC^|\r"),
    ("d.abc", "%%recte accept metre-fit\n\nX:1\n%%recte accept unreadible\nK:C\nCDE|\n"),
];

/// Rule, severity, message and range, as the command line has them.
fn from_command_line(json: &Value) -> Vec<Value> {
    let numbers = ["error", "warning", "info", "hint"];
    let remarks = json["files"][0]["diagnostics"].as_array().unwrap().iter();
    let number = |word: &Value| numbers.iter().position(|known| word == known).unwrap() + 1;
    remarks
        .map(|one| json!([one["rule"], number(&one["severity"]), one["message"], one["range"]]))
        .collect()
}

/// The same, as the server has them.
fn from_server(remarks: &[Value]) -> Vec<Value> {
    let parts = |one: &Value| json!([one["code"], one["severity"], one["message"], one["range"]]);
    remarks.iter().map(parts).collect()
}

#[test]
fn the_same_remarks() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().canonicalize().unwrap();
    fs::create_dir_all(root.join("school")).unwrap();
    fs::write(root.join("recte.toml"), TOML).unwrap();
    let mut all: Vec<(String, String)> =
        OTHERS.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect();
    for (path, text) in scores() {
        let name = path.file_name().unwrap().to_str().unwrap();
        all.push((name.to_owned(), text.clone()));
        all.push((format!("school/{name}"), text));
    }
    let (mut client, _) = Client::introduced(json!({}), Value::Null);
    let mut compared = 0;
    for (name, text) in &all {
        let path = root.join(name);
        fs::write(&path, text).unwrap();
        let json = run_in(&root, &["check", "--format", "json", name], b"").json();
        let uri = format!("file://{}", path.display());
        client.open(&uri, text);
        let remarks = client.remarks(&uri, Some(1));
        assert_eq!(from_command_line(&json), from_server(&remarks), "{name}");
        compared += remarks.len();
    }
    assert!(compared > OTHERS.len());
}
