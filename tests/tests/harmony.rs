//! Harmony in an editor: hover, hints between the signs, completion, chord symbols written.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::client::Client;
use recte_tests::root;
use serde_json::{Value, json};

const URI: &str = "untitled:quay.abc";
/// A note outside the basic plane stands before the music.
const TEXT: &str = "X:1\nT:Quay\nM:4/4\nL:1/4\nK:C\n[V:1] \"^\u{1D11E}\"e4 | \"Am\"d4 | e4 |]\n[V:2] [CGc]4 | [G,GB]4 | [CGc]4 |]\n";

fn opened(options: Value, text: &str) -> Client {
    let can = json!({ "general": { "positionEncodings": ["utf-16"] } });
    let (mut client, met) = Client::introduced(can, options);
    assert_eq!(met["capabilities"]["inlayHintProvider"], true);
    assert_eq!(met["capabilities"]["completionProvider"]["triggerCharacters"], json!(["\""]));
    client.open(URI, text);
    client
}

/// The column of a text in a line, in UTF-16 units.
fn column(line: usize, text: &str) -> usize {
    let line = TEXT.lines().nth(line).unwrap();
    line[..line.find(text).unwrap()].encode_utf16().count()
}

fn at(line: usize, character: usize) -> Value {
    json!({ "textDocument": { "uri": URI }, "position": { "line": line, "character": character } })
}

fn hints(client: &mut Client, from: usize, to: usize) -> Vec<(u64, u64, String)> {
    let range = json!({
        "start": { "line": from, "character": 0 }, "end": { "line": to, "character": 0 },
    });
    let params = json!({ "textDocument": { "uri": URI }, "range": range });
    let found = client.request("textDocument/inlayHint", params);
    let one = |hint: &Value| {
        let number = |key: &str| hint["position"][key].as_u64().unwrap();
        (number("line"), number("character"), hint["label"].as_str().unwrap().to_owned())
    };
    found.as_array().unwrap().iter().map(one).collect()
}

#[test]
fn hover_names_the_chord_and_what_the_symbol_says() {
    let mut client = opened(Value::Null, TEXT);
    let hover = client.request("textDocument/hover", at(5, column(5, "d4")));
    let expected = "G major (G)\nG3 G4 B4 D5\nroot: fifth degree of C major (V)\n\
                    this note: D5, the fifth\nthe symbol Am says A C E; the notes are G B D";
    assert_eq!(hover["contents"]["value"], expected);
    let symbol = client.request("textDocument/hover", at(5, column(5, "Am")));
    let expected =
        "A minor (Am)\nA C E\nroot: sixth degree of C major\nthe notes are G B D: G major (G)";
    assert_eq!(symbol["contents"]["value"], expected);
    assert_eq!(symbol["range"]["start"]["character"], column(5, "\"Am"));
}

#[test]
fn hints_are_off_until_asked_for() {
    let mut client = opened(Value::Null, TEXT);
    assert_eq!(hints(&mut client, 0, 9), []);
    let settings = json!({ "recte": { "hints": { "chords": true, "degrees": true } } });
    client.notify("workspace/didChangeConfiguration", json!({ "settings": settings }));
    let place = |text: &str| column(5, text) as u64;
    let expected = [
        (5, place("\"^"), "C I".to_owned()),
        (5, place("\"Am"), "G V".to_owned()),
        (5, place("e4 |]"), "C I".to_owned()),
    ];
    assert_eq!(hints(&mut client, 0, 9), expected);
    assert_eq!(hints(&mut client, 6, 9), []);
}

#[test]
fn completion_offers_what_sounds_first() {
    let typed = TEXT.replace("\"Am\"", "\"A");
    let mut client = opened(Value::Null, &typed);
    let found = client.request("textDocument/completion", at(5, column(5, "Am") + 1));
    let found = found.as_array().unwrap();
    assert_eq!(found[0]["label"], "G");
    assert_eq!(found[0]["preselect"], true);
    let range = &found[0]["textEdit"]["range"];
    assert_eq!(range["start"]["character"], column(5, "Am"));
    assert_eq!(range["end"]["character"], column(5, "Am") + 1);
    assert_eq!(found[0]["textEdit"]["newText"], "G\"");
    assert_eq!(client.request("textDocument/completion", at(1, 4)), Value::Null);
}

#[test]
fn symbols_are_written_into_a_selection() {
    let mut client = opened(Value::Null, TEXT);
    let range = json!({
        "start": { "line": 5, "character": 6 }, "end": { "line": 5, "character": column(5, "|]") },
    });
    let params = json!({
        "textDocument": { "uri": URI }, "range": range, "context": { "diagnostics": [] },
    });
    let offered = client.request("textDocument/codeAction", params);
    let title = |title: &str| {
        let all = offered.as_array().unwrap().iter();
        all.filter(|action| action["title"] == title).cloned().collect::<Vec<_>>()
    };
    let [written] = &title("Write chord symbols into bars 1–3")[..] else { panic!("{offered}") };
    assert_eq!(written["kind"], "refactor.rewrite");
    let edits = written["edit"]["changes"][URI].as_array().unwrap();
    let texts: Vec<&Value> = edits.iter().map(|edit| &edit["newText"]).collect();
    assert_eq!(texts, ["\"C\"", "\"C\""]);
    assert_eq!(title("Remove the chord symbols of bars 1–3").len(), 1);
}

#[test]
fn hover_says_what_the_readme_shows() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let (_, shown) = readme.split_once("<!-- hovered: ").unwrap();
    let (place, shown) = shown.split_once(" -->").unwrap();
    let mut blocks = shown.split("```").skip(1).step_by(2);
    let text = blocks.next().unwrap().strip_prefix("abc\n").unwrap();
    let expected = blocks.next().unwrap().strip_prefix("text\n").unwrap();
    let line = text.lines().position(|line| line.contains(place)).unwrap();
    let column = text.lines().nth(line).unwrap().find(place).unwrap();
    let mut client = opened(Value::Null, text);
    let hover = client.request("textDocument/hover", at(line, column));
    assert_eq!(hover["contents"]["value"], expected.trim_end());
}

#[test]
fn suggestions_say_what_becomes_of_what_and_come_when_they_are_taken() {
    let text = "X:1\nM:4/4\nL:1/4\nK:Am\n[Ace]2 [G_Bd]2|[F_Ac]4|A4|]\n";
    let can = json!({ "dataSupport": true, "resolveSupport": { "properties": ["edit"] } });
    let can = json!({ "textDocument": { "codeAction": can } });
    let (mut client, _) = Client::introduced(can, Value::Null);
    client.open(URI, text);
    let place = |character: usize| json!({ "line": 4, "character": character });
    let mut offered = |from: usize, to: usize| {
        let params = json!({
            "textDocument": { "uri": URI }, "context": { "diagnostics": [] },
            "range": { "start": place(from), "end": place(to) },
        });
        let all = client.request("textDocument/codeAction", params).as_array().unwrap().clone();
        let title = "Add major sevenths to the parallel chords of bars 1–2 (changes the music)";
        let own = all.into_iter().find(|one| one["title"] == title);
        own.map(|own| (client.request("codeAction/resolve", own.clone()), own))
    };
    // Nothing is tried where nobody asked.
    assert!(offered(3, 3).is_none());
    let (taken, own) = offered(0, 22).unwrap();
    let first = "bar 1: A minor (Am) becomes A minor-major seventh (Am(maj7))";
    assert_eq!(own["data"]["preview"][0], first);
    assert_eq!(own["kind"], "refactor.rewrite");
    assert_eq!(own.get("isPreferred"), None);
    let edits = &taken["edit"]["changes"][URI];
    assert_eq!(edits.as_array().unwrap().len(), 1, "{taken}");
    assert!(edits[0]["newText"].as_str().unwrap().contains('^'), "{taken}");
}
