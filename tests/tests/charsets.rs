//! Bytes that are not UTF-8, seen from the command line (abc standard v2.1, 3.1.17 and 8).

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_tests::{Ran, recte, run_in};
use std::fs;
use std::path::Path;
use std::process::Command;

/// A chord that players expect with G sharp, under a title.
const HEAD: &[u8] = b"X:1\nT:";
const MUSIC: &[u8] = b"\nM:4/4\nL:1/4\nK:C\n[E_AB]2 c2|]\n";

fn given(args: &[&str], bytes: &[u8]) -> Ran {
    run_in(Path::new("/"), args, bytes)
}

/// What a program writes to its standard output, as it is.
fn given_raw(args: &[&str], bytes: &[u8]) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("in.abc");
    fs::write(&path, bytes).unwrap();
    let output = Command::new(recte()).args(args).stdin(fs::File::open(path).unwrap()).output();
    output.unwrap().stdout
}

fn title(bytes: &[u8]) -> String {
    given(&["notes", "-"], bytes).json()["tunes"][0]["title"].as_str().unwrap().to_owned()
}

fn utf16(text: &str, order: fn(u16) -> [u8; 2]) -> Vec<u8> {
    std::iter::once(0xFEFF).chain(text.encode_utf16()).flat_map(order).collect()
}

#[test]
fn each_declared_charset_is_read_and_written_back() {
    for (charset, typed, shown) in [
        ("utf-8", "Žal".as_bytes(), "Žal"),
        ("us-ascii", b"Reed", "Reed"),
        ("iso-8859-1", b"\xC9tude", "Étude"),
        ("iso-8859-2", b"\xAEal", "Žal"),
        ("iso-8859-3", b"E\xB6o", "Eĥo"),
        ("iso-8859-4", b"\xA1ipa", "Ąipa"),
        ("iso-8859-5", b"\xB2\xDE\xDB\xDD\xD0", "Волна"),
        ("iso-8859-6", b"\xC8\xCD\xD1", "بحر"),
        ("iso-8859-7", b"\xCA\xFD\xEC\xE1", "Κύμα"),
        ("iso-8859-8", b"\xE2\xEC", "גל"),
        ("iso-8859-9", b"I\xFE\xFDk", "Işık"),
        ("iso-8859-10", b"\xBDorn\xBE", "―ornū"),
    ] {
        let head = format!("I:abc-charset {charset}\n\n");
        let file = [head.as_bytes(), HEAD, typed, MUSIC].concat();
        assert_eq!(title(&file), shown, "{charset}");
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.abc");
        fs::write(&path, &file).unwrap();
        let ran = run_in(folder.path(), &["emend", "--write", "a.abc"], b"");
        assert_eq!((ran.code, ran.err.lines().next()), (0, Some("a.abc: 1 fix.")), "{charset}");
        let music = String::from_utf8(MUSIC.to_vec()).unwrap().replace("_AB", "^GB");
        let after = [head.as_bytes(), HEAD, typed, music.as_bytes()].concat();
        assert_eq!(fs::read(&path).unwrap(), after, "{charset}");
    }
}

#[test]
fn standard_input_goes_out_as_it_came() {
    let given = [HEAD, b"\xC9tude", MUSIC].concat();
    let music = String::from_utf8(MUSIC.to_vec()).unwrap().replace("_AB", "^GB");
    let expected = [HEAD, b"\xC9tude", music.as_bytes()].concat();
    assert_eq!(given_raw(&["emend", "--write", "-"], &given), expected);
    assert_eq!(given_raw(&["emend", "--write", "-"], &expected), expected);
}

#[test]
fn old_files_without_a_declaration_are_latin_1() {
    let ran = given(&["check", "-"], &[HEAD, b"\xC9tude", MUSIC].concat());
    assert!(ran.out.starts_with("-:6:1  Étude, bar 1\n"), "{}", ran.out);
    assert!(!ran.err.contains("charset"), "{}", ran.err);
}

#[test]
fn utf_16_with_its_mark_in_either_order() {
    let text = String::from_utf8([HEAD, "Žal 𝄞".as_bytes(), MUSIC].concat()).unwrap();
    for order in [u16::to_le_bytes as fn(u16) -> [u8; 2], u16::to_be_bytes] {
        let ran = given(&["check", "-"], &utf16(&text, order));
        assert!(ran.out.starts_with("-:6:1  Žal 𝄞, bar 1\n"), "{}", ran.out);
    }
}

#[test]
fn line_ends_may_be_mixed() {
    let ran = given(&["check", "-"], b"X:1\rT:Reed\r\nM:4/4\nL:1/4\rK:C\r\n[E_AB]2 c2|]\r");
    assert!(ran.out.starts_with("-:6:1  Reed, bar 1\n"), "{}", ran.out);
    assert!(ran.out.contains("\n    [E_AB]2 c2|]\n    ^^^^^^^\n"), "{}", ran.out);
}

#[test]
fn what_is_no_text_is_said_to_be_none() {
    let ran = given(&["check", "-"], b"X:1\nK:C\nC\0D|\n");
    let sentence =
        "-: this is not a text file: line 3 holds a NUL byte. A score is saved as UTF-8.\n";
    assert_eq!((ran.code, ran.out.contains("-:"), ran.err.as_str()), (2, false, sentence));
}

#[test]
fn a_wrong_declaration_is_told_and_the_music_read() {
    for (charset, typed, shown, read) in [
        ("utf-8", &b"\xC9tude"[..], "Étude", "Latin-1"),
        ("us-ascii", "Étude".as_bytes(), "Étude", "utf-8"),
        ("iso-8859-7", b"\xD2\xC9", "ÒÉ", "Latin-1"),
    ] {
        let head = format!("I:abc-charset {charset}\n\n");
        let ran = given(&["check", "-"], &[head.as_bytes(), HEAD, typed, MUSIC].concat());
        assert!(ran.out.starts_with(&format!("-:8:1  {shown}, bar 1\n")), "{}", ran.out);
        let sentence = format!(
            "-: I:abc-charset says {charset}, and some of its letters are none of that; it is read as {read}.\n"
        );
        assert_eq!(ran.err, sentence);
    }
}

#[test]
fn a_charset_unknown_or_out_of_place_is_a_remark() {
    let ran = given(&["check", "-"], &[b"%%abc-charset koi8\n\n", HEAD, b"Reed", MUSIC].concat());
    let sentence = "“koi8” is no charset of the standard; there are utf-8, us-ascii and iso-8859-1 to iso-8859-10.";
    assert!(ran.out.contains(sentence), "{}", ran.out);
    let ran =
        given(&["check", "-"], &[HEAD, b"\xC9tude\nI:abc-charset iso-8859-2", MUSIC].concat());
    let sentence =
        "I:abc-charset holds for a whole file, and stands at its head, above the first tune.";
    assert!(ran.out.contains(sentence), "{}", ran.out);
}
