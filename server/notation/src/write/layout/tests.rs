use super::*;
use crate::Document;
use crate::write::apply;
use std::sync::Arc;

fn block(text: &str) -> Arc<Block> {
    Document::new(text).blocks().last().unwrap().1.clone()
}

fn all(text: &str) -> String {
    let block = block(text);
    let layout = layout(&block, 0..text.len());
    assert_eq!(layout.left, 0, "{text}{layout:?}");
    apply(text, &layout.edits).unwrap()
}

/// The music of a tune after it is laid out.
fn music(typed: &str) -> String {
    let head = "X:1\nL:1/8\nK:C\n";
    all(&format!("{head}{typed}\n")).strip_prefix(head).unwrap().trim_end_matches('\n').to_owned()
}

#[test]
fn runs_become_one_space_and_white_ends_go() {
    for (typed, laid) in [
        ("AB   c2 \t d4|  ", "AB c2 d4|"),
        ("A\tB", "A B"),
        ("AB c2  \\  ", "AB c2 \\"),
        ("A   % a  word  ", "A   % a  word  "),
        ("A  `  B`C", "A  `  B`C"),
        ("  A  B", "  A B"),
        ("y  A  y2|", "y A y2|"),
        ("\"a  b\"  A  \"^c  ", "\"a  b\" A \"^c  "),
        ("[C  E]  G", "[C  E] G"),
        ("A  >  B", "A > B"),
        ("(3  ABc", "(3 ABc"),
    ] {
        assert_eq!(music(typed), laid);
    }
}

#[test]
fn bar_lines_are_spaced_as_most_of_the_tune() {
    for (typed, laid) in [
        ("A |B|c |d|", "A|B|c|d|"),
        ("A|B| c| d | e|]", "A | B | c | d | e |]"),
        ("A  |B| c   |", "A |B| c |"),
        ("A |\nB|", "A |\nB|"),
        ("|:A|B:: c :|d|", "|:A|B::c:|d|"),
    ] {
        assert_eq!(music(typed), laid);
    }
}

#[test]
fn spaces_by_bar_lines_that_mean_something_stay() {
    for (typed, laid) in [
        ("A|1  B:|2 c|]", "A|1 B:|2 c|]"),
        ("A|B| [1 c| 1 d|e", "A|B| [1 c| 1 d|e"),
        ("A|B| |c. |(3 :|d|e", "A|B| |c. |(3 :|d|e"),
        ("G :|A|B|", "G :|A|B|"),
        ("A|B| :c|d", "A|B| :c|d"),
        ("A|B& c |d! |e|", "A|B& c|d! |e|"),
    ] {
        assert_eq!(music(typed), laid);
    }
}

#[test]
fn what_is_no_music_stays() {
    let text = "X:1\nT:A  b\nI:c  d\n%%text  e \nK:C  \n% f  \nA  B|\nw:g   h \n%%begintext \n%%  i  \n%%endtext\n";
    let laid = text.replace("K:C  ", "K:C").replace("A  B", "A B").replace("h \n", "h\n");
    assert_eq!(all(text), laid);
    for free in ["A  B |  c  \n", "M:4/4 \\ \n\nwords  \n"] {
        assert_eq!(all(free), free);
    }
    assert_eq!(all("M:4/4  \nC:a  b \n"), "M:4/4\nC:a  b\n");
}

#[test]
fn line_ends_stay() {
    for end in ["\n", "\r\n", "\r"] {
        let text = ["X:1", "K:C ", "A  B| ", "   ", ""].join(end);
        assert_eq!(all(&text), ["X:1", "K:C", "A B|", "   ", ""].join(end));
    }
}

#[test]
fn macros_and_what_touches_them_stay() {
    let head = "X:1\nm: A  | = B|\nm: ~G2 = {A}G\nK:C\n";
    for (typed, laid) in [("A  |c|  d|e|f", "A  |c|d|e|f"), ("c|d|  ~G2  |e|f", "c|d|  ~G2  |e|f")]
    {
        assert_eq!(all(&format!("{head}{typed}\n")), format!("{head}{laid}\n"));
    }
    let head = "X:1\nm: A| = B\nK:C\n";
    let text = format!("{head}A |c|d|  e\n");
    let layout = layout(&block(&text), 0..text.len());
    assert_eq!((layout.edits.len(), layout.left), (0, 1));
}

const VOICES: &str = "X:1\nL:1/8\nV:1\nV:2\nK:C\n";

fn voices(typed: &str) -> String {
    all(&format!("{VOICES}{typed}\n")).strip_prefix(VOICES).unwrap().trim_end().to_owned()
}

#[test]
fn bar_lines_of_voices_come_under_each_other() {
    assert_eq!(
        voices("V:1\nABcd efga|b8|\nV:2\nC8|D2E2 F2G2|"),
        "V:1\nABcd efga|b8       |\nV:2\nC8       |D2E2 F2G2|"
    );
    assert_eq!(
        voices("[V:1]A4  B4| c8 |\nw: one  two\n[V:2] (C8 | \"é\"D8) |"),
        "[V:1]A4 B4 | c8     |\nw: one  two\n[V:2] (C8  | \"é\"D8) |"
    );
    // A sign for several bars spans their columns.
    assert_eq!(voices("V:1\nA8|B8|c8|\nV:2\nZ2|C4D4|"), "V:1\nA8|B8|c8  |\nV:2\nZ2   |C4D4|");
}

#[test]
fn lines_that_do_not_begin_together_are_no_system() {
    for typed in [
        "V:1\nA8|B8|\nc4d4|\nV:2\nC8|D4E4|\nC8|",
        "V:1\nA8|B8|\nV:1\nc4d4|",
        "[V:1]A8|[V:2]C8|\n[V:1]A4B4|[V:2]C4D4|",
        "V:1\n\tA8|B8|\nV:2\nC4D4|",
    ] {
        assert_eq!(voices(typed), typed);
    }
}

#[test]
fn a_bar_line_that_cannot_move_holds_the_others() {
    assert_eq!(voices("V:1\nA4B4C4`|d8|\nV:2\nC8|D8|\n"), "V:1\nA4B4C4`|d8|\nV:2\nC8     |D8|");
    let far = format!("V:1\n{}|A8|\nV:2\nC8|D4E4|", "\"^x\"A".repeat(100));
    assert_eq!(voices(&far), far);
}

#[test]
fn nothing_outside_the_lines_asked_for_is_touched() {
    let text = format!("{VOICES}V:1\nA4  B4|c8|\nV:2\nC8|D8|\n");
    let at = text.find("C8").unwrap();
    let layout = layout(&block(&text), at..at + 6);
    let after = apply(&text, &layout.edits).unwrap();
    assert_eq!(after, text.replace("C8|D8|", "C8   |D8|"));
}

/// Types a bar line where `^` stands.
fn typed(text: &str) -> String {
    let cursor = text.find('^').unwrap() + 1;
    let text = text.replace('^', "|");
    apply(&text, &layout_at_bar(&block(&text), cursor).edits).unwrap()
}

#[test]
fn a_bar_line_falls_into_its_column() {
    let head = format!("{VOICES}[V:1]A4  B4|c4d4|\n[V:2]");
    assert_eq!(typed(&format!("{head}C8^")), format!("{head}C8   |"));
    assert_eq!(typed(&format!("{head}C8 ^  D8  E  |")), format!("{head}C8   |  D8  E  |"));
    assert_eq!(typed(&format!("{head}C8:^")), format!("{head}C8   :|"));
    assert_eq!(typed("X:1\nK:C\nA|B|C|\nc  d ^  e  f  |\n"), "X:1\nK:C\nA|B|C|\nc d|  e  f  |\n");
}

#[test]
fn a_bar_sign_elsewhere_moves_nothing() {
    for text in [
        "X:1\nT:a  ^\nK:C\nA|\n",
        "X:1\nK:C\nA  B % c  ^\n",
        "X:1\nK:C\nA  B|\nw:a  ^\n",
        "X:1\nK:C\nA  B \"^c ^ d\"  |\n",
        "words  ^\n",
    ] {
        let last = text.rfind('^').unwrap();
        let typed = format!("{}|{}", &text[..last], &text[last + 1..]);
        assert_eq!(layout_at_bar(&block(&typed), last + 1), Layout::default(), "{typed}");
    }
}
