//! Text that no person would write must be read without harm, and in reasonable time.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_notation::{Change, Document};

fn read(text: &str) -> usize {
    let document = Document::new(text);
    document.blocks().map(|(_, block)| block.lowered().tune.voices.len()).sum()
}

#[test]
fn a_megabyte_on_one_line() {
    for scrap in [
        "C", "[CEG", "(", "&", "C&", "{a", "Z1000|", "(3", "A>", "^", "\"", "!", "|", "[V:x]c",
        "A-", "[M:3/4]", "[m:a=b]", "[m:",
    ] {
        let text = format!("X:1\nK:C\n{}\n", scrap.repeat(1_000_000 / scrap.len()));
        assert!(read(&text) <= 1_000_000);
    }
}

#[test]
fn ten_thousand_voices() {
    let voices: String = (0..10_000).map(|number| format!("V:{number}\n")).collect();
    assert_eq!(read(&format!("X:1\n{voices}K:C\nV:9\nCDEF|\n")), 10_000);
}

#[test]
fn lengths_and_tuplets_beyond_all_bounds() {
    let text =
        "X:1\nL:1/512\nK:C\nA999999999999 B/99999999 c//////////////////// (99:1:1d (0e (3:0f|\n";
    assert_eq!(read(text), 1);
    let text: String = (3..120).map(|p| format!("({p}:{}:1c", p + 1)).collect();
    assert_eq!(read(&format!("X:1\nK:C\n{text}|\n")), 1);
}

#[test]
fn a_macro_that_would_never_end() {
    let text = format!("X:1\nm: A = {}\nK:C\n{}\n", "B".repeat(9_000), "A".repeat(900_000));
    assert_eq!(read(&text), 1);
}

#[test]
fn octaves_beyond_hearing() {
    let marks = "'".repeat(500);
    assert_eq!(
        read(&format!(
            "X:1\nK:C octave=9 transpose=100 treble+8\nc{marks}C{}|\n",
            marks.replace('\'', ",")
        )),
        1
    );
}

#[test]
fn any_bytes() {
    let bytes: Vec<u8> = (0..=255).cycle().take(4096).collect();
    let mut document = Document::from_bytes(bytes);
    document.apply(&Change { range: 0..0, text: "X:1\nK:C\n".into() });
    assert!(document.blocks().count() > 0);
    for (_, block) in document.blocks() {
        let _ = block.lowered();
    }
}
