//! Forms of files, and files that are none.

use crate::import_musicxml;
use std::io::{Cursor, Write};
use zip::write::{SimpleFileOptions, ZipWriter};

const HEAD: &str =
    "<part-list><score-part id=\"P1\"><part-name>Viola</part-name></score-part></part-list>";
const NOTE: &str =
    "<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration></note>";

fn measure(inside: &str) -> String {
    format!(
        "<measure number=\"7\"><attributes><divisions>1</divisions></attributes>{inside}</measure>"
    )
}

fn partwise(inside: &str) -> String {
    format!("<score-partwise>{HEAD}<part id=\"P1\">{}</part></score-partwise>", measure(inside))
}

fn music(bytes: &[u8]) -> String {
    import_musicxml(bytes, "Untitled").unwrap().text.lines().last().unwrap().to_owned()
}

fn wrong(bytes: &[u8]) -> String {
    import_musicxml(bytes, "Untitled").unwrap_err()
}

fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in files {
        archive.start_file(*name, SimpleFileOptions::default()).unwrap();
        archive.write_all(content).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

#[test]
fn partwise_and_timewise() {
    assert_eq!(music(partwise(NOTE).as_bytes()), "C |");
    let two = HEAD.replace(
        "</part-list>",
        "<score-part id=\"P2\"><part-name>Cello</part-name></score-part></part-list>",
    );
    let divisions = "<attributes><divisions>1</divisions></attributes>";
    let timewise = format!(
        "<score-timewise>{two}<measure number=\"1\"><part id=\"P1\">{divisions}{NOTE}</part><part id=\"P2\">{divisions}{NOTE}</part></measure><measure number=\"2\"><part id=\"P1\">{NOTE}</part><part id=\"P2\">{NOTE}</part></measure></score-timewise>"
    );
    assert_eq!(music(timewise.as_bytes()), "[V:Cel] C | C |");
}

#[test]
fn encodings() {
    let named = partwise(NOTE).replace("Viola", "Altgeige für Käthe");
    let names =
        |bytes: &[u8]| import_musicxml(bytes, "").unwrap().text.contains("Altgeige für Käthe");
    assert!(names(named.as_bytes()));
    assert!(names(format!("\u{feff}{named}").as_bytes()));
    let utf16 = |order: fn(u16) -> [u8; 2], mark: bool| -> Vec<u8> {
        let mark = if mark { "\u{feff}" } else { "" };
        format!("{mark}{named}").encode_utf16().flat_map(order).collect()
    };
    assert!(names(&utf16(u16::to_le_bytes, true)));
    assert!(names(&utf16(u16::to_be_bytes, true)));
    assert!(names(&utf16(u16::to_le_bytes, false)));
    let latin: Vec<u8> = format!("<?xml version='1.0' encoding='ISO-8859-1'?>{named}")
        .chars()
        .map(|c| u8::try_from(u32::from(c)).unwrap())
        .collect();
    assert!(names(&latin));
}

#[test]
fn compressed_scores_name_their_root_file() {
    let container =
        "<container><rootfiles><rootfile full-path=\"deep/any.thing\"/></rootfiles></container>";
    let score = partwise(NOTE);
    let files: [(&str, &[u8]); 3] = [
        ("META-INF/container.xml", container.as_bytes()),
        ("a.xml", b"<other/>"),
        ("deep/any.thing", score.as_bytes()),
    ];
    assert_eq!(music(&zipped(&files)), "C |");
    assert_eq!(music(&zipped(&[("score.xml", score.as_bytes())])), "C |");
    assert_eq!(
        wrong(&zipped(&files[..2])),
        "the container names the score “deep/any.thing”, which is not in it"
    );
    assert_eq!(wrong(&zipped(&[("a.png", b"")])), "there is no score in this compressed file");
}

#[test]
fn what_unpacks_to_too_much_is_refused() {
    let container = "<container><rootfiles><rootfile full-path=\"a.xml\"/></rootfiles></container>";
    let large = vec![b' '; 129 << 20];
    let bomb = zipped(&[("META-INF/container.xml", container.as_bytes()), ("a.xml", &large)]);
    assert!(bomb.len() < 1 << 20);
    assert_eq!(wrong(&bomb), "the score takes more than 128 MiB, more than any score needs");
}

#[test]
fn a_file_cut_short_is_told_wherever_it_ends() {
    let whole = partwise(NOTE);
    for end in 0..whole.len() {
        let found = import_musicxml(&whole.as_bytes()[..end], "");
        assert!(found.is_err(), "{}", &whole[..end]);
    }
    let in_measure = whole.find("<step>").unwrap();
    assert_eq!(
        wrong(&whole.as_bytes()[..in_measure]),
        "part “Viola”, measure 7: the file ends in the middle; something of it is missing"
    );
    let packed = zipped(&[("score.xml", whole.as_bytes())]);
    for end in 0..packed.len() {
        assert!(import_musicxml(&packed[..end], "").is_err());
    }
}

#[test]
fn what_is_no_score_is_told() {
    let none = "this is not a MusicXML score; one begins with <score-partwise> or <score-timewise>";
    for bytes in [&b""[..], b"X:1\nK:C\n", b"\x89PNG\r\n\x00\x00", b"<html></html>", b"<"] {
        let said = wrong(bytes);
        assert!(said == none || said.starts_with("the file ends"), "{said}");
    }
    assert_eq!(wrong(b"<score-partwise/>"), "there is no part in this score");
    assert_eq!(
        wrong(format!("<score-partwise>{HEAD}</score-partwise>").as_bytes()),
        "there is no measure in this score"
    );
    assert_eq!(wrong(b"<opus></opus>"), "this is a list of scores, not a score; name the scores");
    let crossed = partwise("<note>\n<pitch></note></pitch>");
    assert_eq!(wrong(crossed.as_bytes()), "part “Viola”, measure 7: line 2 is not well-formed XML");
}

#[test]
fn entities_are_never_looked_up() {
    let declared = "<!DOCTYPE score-partwise [<!ENTITY secret SYSTEM \"file:///etc/passwd\">]>";
    let uses = partwise(NOTE).replace("Viola", "&secret;");
    let said = wrong(format!("{declared}{uses}").as_bytes());
    assert!(said.starts_with("it uses “&secret;”"), "{said}");
    let lols = "<!DOCTYPE score-partwise [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;\">]>";
    let grows = partwise(NOTE).replace("Viola", "&b;");
    assert!(wrong(format!("{lols}{grows}").as_bytes()).starts_with("it uses “&b;”"));
    // The definition that a score names is known and not fetched.
    let elsewhere = "<!DOCTYPE score-partwise SYSTEM \"http://localhost:1/partwise.dtd\">";
    assert_eq!(music(format!("{elsewhere}{}", partwise(NOTE)).as_bytes()), "C |");
    let known = partwise(NOTE).replace("Viola", "A &amp; B &#233;");
    assert!(import_musicxml(known.as_bytes(), "").unwrap().text.contains("name=\"A &amp; B é\""));
}

#[test]
fn contradictions_name_part_and_measure() {
    let here = |inside: &str| wrong(partwise(inside).as_bytes());
    let said = |why: &str| format!("part “Viola”, measure 7: {why}");
    for divisions in ["0", "-4", "x", ""] {
        let attributes = format!("<attributes><divisions>{divisions}</divisions></attributes>");
        let why =
            format!("“{divisions}” is no number of divisions of a quarter note; it is 1 or more");
        assert_eq!(here(&attributes), said(&why));
    }
    assert_eq!(
        here(&NOTE.replace(">1<", ">-1<")),
        said("“-1” is no length; it is a number of divisions")
    );
    assert_eq!(
        here(&NOTE.replace(">1<", ">999999<")),
        said("a length of 999999 divisions is longer than any note")
    );
    assert_eq!(
        here(&NOTE.replace("<step>C", "<step>H")),
        said("“H” is no step of the scale, A to G")
    );
    assert_eq!(here(&NOTE.replace("<octave>4", "<octave>40")), said("“40” is no octave, 0 to 9"));
    assert_eq!(here("<note><duration>1</duration></note>"), said("a note has no pitch"));
    let bare = "<note><rest/></note>";
    assert_eq!(here(bare), said("a note has neither a duration nor a type"));
    let early = partwise(NOTE).replace("<divisions>1</divisions>", "");
    assert_eq!(
        wrong(early.as_bytes()),
        said("a length comes before the divisions of the quarter note are given")
    );
}

#[test]
fn missing_and_unlisted_parts_are_told() {
    let listed = HEAD.replace(
        "</part-list>",
        "<score-part id=\"P2\"><part-name>Cello</part-name></score-part></part-list>",
    );
    let imported = import_musicxml(partwise(NOTE).replace(HEAD, &listed).as_bytes(), "").unwrap();
    assert_eq!(imported.left_out, ["Cello: the part is listed and has no music"]);
    let other = partwise(NOTE).replace("<part id=\"P1\">", "<part id=\"P9\">");
    let imported = import_musicxml(other.as_bytes(), "").unwrap();
    assert!(imported.left_out.iter().any(|said| said.contains("P9: the part “P9” is in no list")));
}

#[test]
fn deep_and_wide_nonsense_ends() {
    let deep = "<a>".repeat(100_000) + &"</a>".repeat(100_000);
    assert_eq!(music(partwise(&format!("{deep}{NOTE}")).as_bytes()), "C |");
    let steps = "<backup><duration>9</duration></backup><forward><duration>9</duration></forward>"
        .repeat(1000);
    assert!(import_musicxml(partwise(&format!("{NOTE}{steps}")).as_bytes(), "").is_ok());
}
