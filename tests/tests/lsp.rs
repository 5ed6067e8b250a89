//! The language server, from outside: what an editor sends and what it gets.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::client::Client;
use recte_tests::{root, scores};
use serde_json::{Value, json};
use std::time::Duration;

const URI: &str = "untitled:pebble.abc";

/// A note outside the basic plane stands before the chord that is remarked.
const ASTRAL: &str =
    "X:1\nT:\u{1D11E} Pebble\nM:4/4\nL:1/4\nK:C\n\"^\u{1D11E}\u{e9}\"[E_AB]2 c2|]\n";

fn of_rule<'r>(remarks: &'r [Value], rule: &str) -> Vec<&'r Value> {
    remarks.iter().filter(|one| one["code"] == rule).collect()
}

fn encodings(list: &[&str]) -> Value {
    json!({
        "general": { "positionEncodings": list },
        "workspace": { "workspaceEdit": { "documentChanges": true } },
    })
}

fn plain() -> Client {
    Client::introduced(json!({}), Value::Null).0
}

/// The byte at a position in one of the encodings.
fn byte_at(text: &str, position: &Value, encoding: &str) -> usize {
    let line = position["line"].as_u64().unwrap() as usize;
    let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    let mut left = position["character"].as_u64().unwrap() as usize;
    let mut at = start;
    for c in text[start..].chars() {
        if left == 0 {
            break;
        }
        left -= match encoding {
            "utf-8" => c.len_utf8(),
            "utf-16" => c.len_utf16(),
            _ => 1,
        };
        at += c.len_utf8();
    }
    at
}

/// The text after an action's edits.
fn applied(text: &str, action: &Value, encoding: &str) -> String {
    let edit = &action["edit"];
    match edit["documentChanges"].as_array() {
        Some(changes) => edited(text, &changes[0]["edits"], encoding),
        None => {
            let changes = edit["changes"].as_object().unwrap();
            edited(text, changes.values().next().unwrap(), encoding)
        }
    }
}

/// The text after a list of edits.
fn edited(text: &str, edits: &Value, encoding: &str) -> String {
    let mut edits: Vec<(usize, usize, String)> = edits
        .as_array()
        .unwrap()
        .iter()
        .map(|edit| {
            let at = |end: &str| byte_at(text, &edit["range"][end], encoding);
            (at("start"), at("end"), edit["newText"].as_str().unwrap().to_owned())
        })
        .collect();
    edits.sort();
    let mut after = text.to_owned();
    for (start, end, new) in edits.into_iter().rev() {
        after.replace_range(start..end, &new);
    }
    after
}

fn actions(client: &mut Client, range: &Value) -> Vec<Value> {
    let params = json!({
        "textDocument": { "uri": URI }, "range": range, "context": { "diagnostics": [] },
    });
    client.request("textDocument/codeAction", params).as_array().unwrap().clone()
}

#[test]
fn each_position_encoding_is_spoken() {
    for (encoding, column) in [("utf-8", 9), ("utf-16", 6), ("utf-32", 5)] {
        let (mut client, met) = Client::introduced(encodings(&[encoding]), Value::Null);
        assert_eq!(met["capabilities"]["positionEncoding"], encoding);
        client.open(URI, ASTRAL);
        let remarks = client.remarks(URI, Some(1));
        let remark = of_rule(&remarks, "chord-spelling")[0].clone();
        assert_eq!(remark["source"], "recte");
        assert_eq!(remark["range"]["start"], json!({ "line": 5, "character": column }));
        let offered = actions(&mut client, &remark["range"]);
        let preferred = offered.iter().find(|action| action["isPreferred"] == true).unwrap();
        assert_eq!(preferred["kind"], "quickfix");
        let document = &preferred["edit"]["documentChanges"][0]["textDocument"];
        assert_eq!(document, &json!({ "uri": URI, "version": 1 }));
        assert_eq!(applied(ASTRAL, preferred, encoding), ASTRAL.replace("_AB", "^GB"));
        // And the other way: an edit placed after the same signs.
        let (start, end) = (column + 1, column + 3);
        let range = json!({
            "start": { "line": 5, "character": start }, "end": { "line": 5, "character": end },
        });
        client.change(URI, 2, json!([{ "range": range, "text": "^G" }]));
        let remarks = client.remarks(URI, Some(2));
        assert!(of_rule(&remarks, "chord-spelling").is_empty(), "{remarks:?}");
    }
}

#[test]
fn utf_16_unless_something_known_is_offered() {
    for list in [&[][..], &["utf-7"]] {
        let (_, met) = Client::introduced(encodings(list), Value::Null);
        assert_eq!(met["capabilities"]["positionEncoding"], "utf-16");
    }
    let (_, met) = Client::introduced(encodings(&["utf-7", "utf-32", "utf-8"]), Value::Null);
    assert_eq!(met["capabilities"]["positionEncoding"], "utf-32");
}

#[test]
fn thousands_of_rapid_edits_end_where_a_fresh_reading_ends() {
    let (_, mut text) = scores().swap_remove(0);
    let mut client = plain();
    client.open(URI, &text);
    let pieces = ["_A", "|", "}", "c2", "\n", "[E_AB]", "^", "", "K:D\n", "X:9\n", "z", "\"", "%"];
    let mut seed = 1u32;
    let mut random = |below: usize| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed >> 8) as usize % below.max(1)
    };
    for version in 2..=2001 {
        let lines: Vec<&str> = text.split('\n').collect();
        let line = random(lines.len());
        let column = random(lines[line].len() + 1);
        let end = (column + random(4)).min(lines[line].len());
        let start: usize = lines[..line].iter().map(|line| line.len() + 1).sum();
        let piece = pieces[random(pieces.len())];
        let range = json!({
            "start": { "line": line, "character": column },
            "end": { "line": line, "character": end },
        });
        text.replace_range(start + column..start + end, piece);
        client.change(URI, version, json!([{ "range": range, "text": piece }]));
    }
    let after = client.remarks(URI, Some(2001));
    client.open("untitled:fresh.abc", &text);
    let fresh = client.remarks("untitled:fresh.abc", Some(1));
    assert!(!fresh.is_empty());
    assert_eq!(after, fresh);
}

#[test]
fn several_changes_at_once_hold_in_their_order_and_a_whole_text_replaces() {
    let mut client = plain();
    client.open(URI, "X:1\nK:C\nC|\n");
    assert_eq!(client.remarks(URI, Some(1)), Vec::<Value>::new());
    let at = |line: u32, column: u32| json!({ "line": line, "character": column });
    let insert = |line, column, text: &str| json!({ "range": { "start": at(line, column), "end": at(line, column) }, "text": text });
    client.change(
        URI,
        2,
        json!([insert(2, 1, "D"), insert(2, 2, "}"), { "text": "X:1\nK:C\nCE}|\n" }]),
    );
    let remarks = client.remarks(URI, Some(2));
    assert_eq!(of_rule(&remarks, "unreadable")[0]["range"]["start"], at(2, 2));
    client.change(URI, 3, json!([insert(900, 900, "}"), insert(2, 900, "}")]));
    assert_eq!(of_rule(&client.remarks(URI, Some(3)), "unreadable").len(), 3);
    client.notify("textDocument/didClose", json!({ "textDocument": { "uri": URI } }));
    assert_eq!(client.remarks(URI, None), Vec::<Value>::new());
}

#[test]
fn acceptances_are_offered_and_work() {
    let text = "X:1\nT:Pebble\nM:4/4\nL:1/4\nK:C\nC D E F|[E_AB]2 c2|]\n";
    for place in ["bar", "tune", "file"] {
        let mut client = plain();
        client.open(URI, text);
        let remarks = client.remarks(URI, Some(1));
        let range = of_rule(&remarks, "chord-spelling")[0]["range"].clone();
        let title = format!("Accept “chord-spelling” in this {place}");
        let offered = actions(&mut client, &range);
        let action = offered.iter().find(|action| action["title"] == title.as_str());
        let action = action.unwrap_or_else(|| panic!("{title} in {offered:?}"));
        let after = applied(text, action, "utf-16");
        client.change(URI, 2, json!([{ "text": after }]));
        let remarks = client.remarks(URI, Some(2));
        assert!(of_rule(&remarks, "chord-spelling").is_empty(), "{after}");
        assert!(of_rule(&remarks, "accept").is_empty(), "{after}");
    }
}

#[test]
fn all_fixes_of_a_rule_and_of_the_file() {
    let text = "X:1\nT:Pebble\nM:4/4\nL:1/4\nK:C\n[E_AB]2 c2|[E_AB]2 c2|]\n";
    let mut client = plain();
    client.open(URI, text);
    let remarks = client.remarks(URI, Some(1));
    let offered = actions(&mut client, &of_rule(&remarks, "chord-spelling")[0]["range"]);
    let title = "Apply all fixes of “chord-spelling” in this file";
    let action = offered.iter().find(|action| action["title"] == title).unwrap();
    assert_eq!(applied(text, action, "utf-16"), text.replace("_AB", "^GB"));
    let params = json!({
        "textDocument": { "uri": URI },
        "range": { "start": { "line": 0, "character": 0 }, "end": { "line": 0, "character": 0 } },
        "context": { "diagnostics": [], "only": ["source.fixAll"] },
    });
    let offered = client.request("textDocument/codeAction", params);
    assert_eq!(offered.as_array().unwrap().len(), 1);
    assert_eq!(applied(text, &offered[0], "utf-16"), text.replace("_AB", "^GB"));
}

#[test]
fn a_selection_a_voice_and_the_tune_are_respelled() {
    let text = "X:1\nT:\u{1D11E}\nL:1/4\nV:1\nV:2\nK:C\n[V:1]\"^\u{1D11E}\"[E_AB]2 c2|[E_AB]2 c2|\n[V:2]C2[E_AB]2|C4|\n";
    let (one, two) = (text.find("_A").unwrap(), text.rfind("_A").unwrap());
    let sharp = |places: &[usize]| {
        let mut after = text.to_owned();
        places.iter().for_each(|&at| after.replace_range(at..at + 2, "^G"));
        after
    };
    for (encoding, columns) in [("utf-8", (12, 25)), ("utf-16", (10, 23)), ("utf-32", (9, 22))] {
        let (mut client, _) = Client::introduced(encodings(&[encoding]), Value::Null);
        client.open(URI, text);
        let mut ask = |from: u32, to: u32| {
            let at = |column: u32| json!({ "line": 6, "character": column });
            let params = json!({
                "textDocument": { "uri": URI }, "range": { "start": at(from), "end": at(to) },
                "context": { "diagnostics": [], "only": ["refactor.rewrite"] },
            });
            let offered = client.request("textDocument/codeAction", params);
            let offered = offered.as_array().unwrap().clone();
            for action in &offered {
                assert_eq!(action["kind"], "refactor.rewrite", "{action}");
                assert_eq!(action["isPreferred"], Value::Null, "{action}");
            }
            let titled = |action: &Value| action["title"].as_str().unwrap().to_owned();
            let result = |action: &Value| (titled(action), applied(text, action, encoding));
            offered.iter().map(result).collect::<Vec<_>>()
        };
        let second = text[one + 2..].find("_A").unwrap() + one + 2;
        let titled = |title: &str, after: String| (format!("{title}: G♯ for A♭"), after);
        let voice = titled("Respell this voice", sharp(&[one, second]));
        let tune = titled("Respell the whole tune", sharp(&[one, second, two]));
        assert_eq!(ask(columns.0, columns.0), [voice.clone(), tune.clone()]);
        let selection = titled("Respell the selection", sharp(&[one]));
        let sharps = titled("Spell this passage in sharps", sharp(&[one]));
        assert_eq!(ask(columns.0, columns.1 - 5), [selection, sharps, voice, tune]);
    }
}

#[test]
fn hover_outline_and_folding() {
    let (mut client, _) = Client::introduced(
        json!({ "textDocument": { "documentSymbol": { "hierarchicalDocumentSymbolSupport": true } } }),
        Value::Null,
    );
    client.open(URI, ASTRAL);
    let place = json!({
        "textDocument": { "uri": URI }, "position": { "line": 5, "character": 8 },
    });
    let hover = client.request("textDocument/hover", place);
    assert!(!hover["contents"]["value"].as_str().unwrap().is_empty());
    assert_eq!(hover["range"]["start"], json!({ "line": 5, "character": 6 }));
    let here = json!({ "textDocument": { "uri": URI } });
    let outline = client.request("textDocument/documentSymbol", here.clone());
    assert_eq!(outline[0]["name"], "\u{1D11E} Pebble");
    assert_eq!(outline[0]["range"]["end"]["line"], 5);
    let folds = client.request("textDocument/foldingRange", here);
    let tune = json!({ "startLine": 0, "endLine": 5, "kind": "region" });
    assert!(folds.as_array().unwrap().contains(&tune), "{folds}");
    let nowhere = json!({
        "textDocument": { "uri": "untitled:no" }, "position": { "line": 5, "character": 8 },
    });
    assert_eq!(client.request("textDocument/hover", nowhere), Value::Null);
}

#[test]
fn settings_of_the_editor() {
    let severity = |remarks: &[Value]| {
        of_rule(remarks, "chord-spelling").first().and_then(|one| one["severity"].as_i64())
    };
    let (mut client, _) =
        Client::introduced(json!({}), json!({ "rules": { "chord-spelling": "error" } }));
    client.open(URI, ASTRAL);
    assert_eq!(severity(&client.remarks(URI, Some(1))), Some(1));
    let section = json!({ "settings": { "recte": { "rules": { "chord-spelling": "off" } } } });
    client.notify("workspace/didChangeConfiguration", section);
    assert_eq!(severity(&client.remarks(URI, Some(1))), None);
    let wrong = json!({ "settings": { "recte": { "rules": { "chord-spelling": "lowd" } } } });
    client.notify("workspace/didChangeConfiguration", wrong);
    let said = client.wait(|message| message["method"] == "window/showMessage");
    assert!(said["params"]["message"].as_str().unwrap().contains("“lowd”"), "{said}");
}

#[test]
fn a_client_that_never_answers_is_served() {
    let (mut client, _) = Client::introduced(
        json!({ "workspace": {
            "configuration": true, "didChangeWatchedFiles": { "dynamicRegistration": true },
        } }),
        Value::Null,
    );
    client.answers = false;
    for _ in 0..20 {
        client.notify("workspace/didChangeConfiguration", json!({ "settings": null }));
    }
    client.open(URI, ASTRAL);
    assert!(!client.remarks(URI, Some(1)).is_empty());
    let here = json!({ "textDocument": { "uri": URI } });
    assert!(client.request("textDocument/documentSymbol", here).is_array());
}

#[test]
fn it_ends_when_told_and_when_left() {
    let soon = Duration::from_secs(5);
    let mut client = plain();
    client.request("shutdown", Value::Null);
    client.notify("exit", Value::Null);
    let (code, time) = client.ended();
    assert!(code == Some(0) && time < soon, "{code:?} {time:?}");

    let mut client = plain();
    client.notify("exit", Value::Null);
    let (code, time) = client.ended();
    assert!(code == Some(1) && time < soon, "{code:?} {time:?}");

    let mut client = plain();
    client.hang_up();
    assert!(client.ended().1 < soon);

    // Before anything was said at all.
    let mut client = Client::start();
    client.hang_up();
    assert!(client.ended().1 < soon);
}

#[test]
fn it_ends_while_busy() {
    let tune = "T:Pebble\nM:4/4\nL:1/8\nK:C\n[E_AB]2 c2 d2 e2|f2 g2 a2 b2|c'8|]\n\n";
    let long: String = (1..20_000).map(|number| format!("X:{number}\n{tune}")).collect();
    for told in [true, false] {
        let mut client = plain();
        client.open(URI, &long);
        for version in 2..7 {
            client.change(URI, version, json!([{ "text": tune }, { "text": long }]));
        }
        if told {
            client.notify("exit", Value::Null);
        } else {
            client.hang_up();
        }
        let (_, time) = client.ended();
        assert!(time < Duration::from_secs(15), "{time:?}");
    }
}

#[test]
fn noise_does_not_silence_it() {
    let mut client = plain();
    client.send_bytes(b"Content-Length: 5\r\n\r\n{{{{{");
    client.notify("textDocument/noSuchThing", json!({ "a": 1 }));
    client.notify("textDocument/didChange", json!({ "nonsense": true }));
    client.open(URI, ASTRAL);
    assert!(!client.remarks(URI, Some(1)).is_empty());
}

#[test]
fn included_files_are_read_and_read_again_when_saved() {
    let folder = tempfile::tempdir().unwrap();
    let uri = format!("file://{}/a.abc", folder.path().display());
    let mut client = plain();
    client.open(&uri, "I:abc-include b.abh\n\nX:1\nM:2/4\nK:C\nCDEF|CDEF|CDEF|CDEF|\n");
    let remarks = client.remarks(&uri, Some(1));
    assert_eq!(of_rule(&remarks, "unreadable").len(), 1, "{remarks:?}");
    std::fs::write(folder.path().join("b.abh"), "L:1/4\n").unwrap();
    client.notify("textDocument/didSave", json!({ "textDocument": { "uri": uri } }));
    let remarks = client.remarks(&uri, Some(1));
    assert!(of_rule(&remarks, "unreadable").is_empty(), "{remarks:?}");
    // Twice as long as before: the bars no longer fit.
    let long = |remarks: &[Value]| of_rule(remarks, "bar-length").len();
    assert!(long(&remarks) > 0, "{remarks:?}");
    client.change(&uri, 2, json!([{ "text": "I:abc-include b.abh\n\nX:1\nM:4/4\nK:C\nCDEF|\n" }]));
    let remarks = client.remarks(&uri, Some(2));
    assert!(remarks.is_empty(), "{remarks:?}");
}

#[test]
fn white_space_is_set_in_order_in_every_encoding() {
    let text = "X:1\nT:\u{1D11E}\nL:1/8\nV:1\nV:2\nK:C\n[V:1]\"^\u{1D11E}\"A2B2  c4|d8|\r\n[V:2]C8|D8|  \r\n% so  \n";
    let first = text.replace("B2  c4", "B2 c4");
    let second = text.replace("C8|D8|  ", "C8         |D8|");
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let (mut client, met) = Client::introduced(encodings(&[encoding]), Value::Null);
        let can = &met["capabilities"];
        assert_eq!(can["documentFormattingProvider"], true);
        assert_eq!(can["documentRangeFormattingProvider"], true);
        assert_eq!(
            can["documentOnTypeFormattingProvider"],
            json!({ "firstTriggerCharacter": "|" })
        );
        client.open(URI, text);
        let options = json!({ "tabSize": 4, "insertSpaces": true });
        let mut ask = |method: &str, more: Value| {
            let mut params = json!({ "textDocument": { "uri": URI }, "options": options });
            params.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
            edited(text, &client.request(method, params), encoding)
        };
        let at = |line: u32, column: u32| json!({ "line": line, "character": column });
        let range =
            |from: u32, to: u32| json!({ "range": { "start": at(from, 0), "end": at(to, 0) } });
        let both = first.replace("C8|D8|  ", "C8         |D8|");
        assert_eq!(ask("textDocument/formatting", json!({})), both);
        assert_eq!(ask("textDocument/rangeFormatting", range(6, 7)), first);
        assert_eq!(ask("textDocument/rangeFormatting", range(7, 99)), second);
        let typed = |line: u32, column: u32| json!({ "position": at(line, column), "ch": "|" });
        let bar = "textDocument/onTypeFormatting";
        assert_eq!(ask(bar, typed(7, 8)), text.replace("C8|D8|  ", "C8         |D8|  "));
        assert_eq!(ask(bar, typed(8, 3)), text);
    }
}

#[test]
fn nothing_is_set_in_order_where_nothing_is_open() {
    let params = json!({ "textDocument": { "uri": "untitled:none.abc" }, "options": { "tabSize": 4, "insertSpaces": true } });
    assert_eq!(plain().request("textDocument/formatting", params), Value::Null);
}

/// What the README shows of a rewriting: its title, the bars before and after it.
fn shown_in_readme() -> Vec<(String, String, String)> {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let parts = readme.split("<!-- taken: ").skip(1);
    let block = |text: &str| text.split("```").next().unwrap().to_owned();
    let shown = parts.map(|part| {
        let (title, rest) = part.split_once(" -->").unwrap();
        let mut blocks = rest.split("```abc\n").skip(1);
        let mut next = || block(blocks.next().expect("a block before and one after"));
        (title.to_owned(), next(), next())
    });
    shown.collect()
}

#[test]
fn bars_are_rewritten_as_the_readme_shows() {
    let shown = shown_in_readme();
    assert!(shown.len() > 1, "{shown:?}");
    for (title, before, after) in shown {
        let text = format!("X:1\nL:1/8\n{before}");
        let mut client = plain();
        client.open(URI, &text);
        let line = text.lines().position(|line| line.starts_with("[V:1]")).unwrap();
        let end = text.lines().nth(line).unwrap().len();
        let column = if title.starts_with("Split") { 7 } else { end - 1 };
        let at = |column: usize| json!({ "line": line, "character": column });
        let range = json!({ "start": at(6), "end": at(column) });
        let range = if title.starts_with("Split") {
            json!({ "start": at(column), "end": at(column) })
        } else {
            range
        };
        let params = json!({
            "textDocument": { "uri": URI }, "range": range,
            "context": { "diagnostics": [], "only": ["refactor.rewrite"] },
        });
        let offered = client.request("textDocument/codeAction", params);
        let offered = offered.as_array().unwrap().clone();
        let action = offered.iter().find(|action| action["title"] == title.as_str());
        let action = action.unwrap_or_else(|| panic!("{title} is not among {offered:?}"));
        assert_eq!(action["kind"], "refactor.rewrite");
        assert_eq!(applied(&text, action, "utf-16"), format!("X:1\nL:1/8\n{after}"), "{title}");
        // Where a fix has the title already, nothing has it twice.
        let all = actions(&mut client, &range);
        assert_eq!(all.iter().filter(|one| one["title"] == title.as_str()).count(), 1, "{title}");
    }
}

#[test]
fn a_rewriting_that_cannot_be_done_is_shown_with_the_reason() {
    let text = "X:1\nM:4/4\nL:1/8\nK:C\n(3CDE F2 G2A2:|E8|]\n";
    let ask = |can: Value, only: Value| {
        let (mut client, _) = Client::introduced(json!({ "textDocument": can }), Value::Null);
        client.open(URI, text);
        let at = json!({ "line": 4, "character": 8 });
        let params = json!({
            "textDocument": { "uri": URI }, "range": { "start": at, "end": at },
            "context": { "diagnostics": [], "only": only },
        });
        let offered = client.request("textDocument/codeAction", params);
        let joins = offered.as_array().unwrap().clone().into_iter();
        joins.filter(|one| one["title"].as_str().unwrap().starts_with("Join")).collect::<Vec<_>>()
    };
    let shows = json!({ "codeAction": { "disabledSupport": true } });
    let rewrites = json!(["refactor.rewrite"]);
    let found = ask(shows.clone(), rewrites.clone());
    assert_eq!(found.len(), 1);
    let reason = "Bar 1: a repeat, an ending or a double bar stands between.";
    assert_eq!(found[0]["disabled"]["reason"], reason);
    assert_eq!(found[0]["edit"], Value::Null);
    // Neither for those who cannot show it, nor unasked.
    assert!(ask(json!({}), rewrites).is_empty());
    assert!(ask(shows, Value::Null).is_empty());
}

#[test]
fn who_asks_again_gets_titles_first_and_the_one_that_is_taken_after() {
    let text = "X:1\nM:4/4\nL:1/8\nK:C\nC4 D4|E8|]\n";
    let cursor = json!({ "line": 4, "character": 3 });
    let range = json!({ "start": cursor, "end": cursor });
    let mut client = plain();
    client.open(URI, text);
    let at_once = actions(&mut client, &range);
    let can = json!({ "dataSupport": true, "resolveSupport": { "properties": ["edit"] } });
    let can = json!({ "textDocument": { "codeAction": can } });
    let (mut client, met) = Client::introduced(can, Value::Null);
    assert_eq!(met["capabilities"]["codeActionProvider"]["resolveProvider"], true);
    client.open(URI, text);
    let later = actions(&mut client, &range);
    assert_eq!(later.len(), at_once.len());
    assert!(later.len() > 2, "{later:?}");
    for (known, one) in at_once.iter().zip(&later) {
        assert_eq!(one["edit"], Value::Null);
        let resolved = client.request("codeAction/resolve", one.clone());
        assert_eq!(applied(text, &resolved, "utf-16"), applied(text, known, "utf-16"));
    }
    // The text has gone on: what was offered for the old one is not done to the new.
    client.change(URI, 2, json!([{ "text": format!("{text}\n") }]));
    let params = later[0].clone();
    client.send(
        &json!({ "jsonrpc": "2.0", "id": 99, "method": "codeAction/resolve", "params": params }),
    );
    let answer = client.wait(|message| message["id"] == 99);
    assert_eq!(answer["error"]["code"], -32801, "{answer}");
}
