use super::*;
use recte_notation::Document;
use std::sync::Arc;

/// What is offered for what stands between two ▲, or at the one: the titles, and the texts after or the reasons.
fn offered(marked: &str, asked: bool) -> Vec<(String, Result<String, String>)> {
    let start = marked.find('▲').unwrap();
    let text = marked.replace('▲', "");
    let two = marked.matches('▲').count() == 2;
    let end = if two { marked.rfind('▲').unwrap() - '▲'.len_utf8() } else { start };
    let snapshot = Snapshot::new(Document::new(&text), Arc::default());
    let after = |one: Rewriting| {
        (one.title, one.changes.map(|changes| snapshot.document.text_with(&changes)))
    };
    rewritings(&snapshot, start..end, asked, Wanted::Proved).into_iter().map(after).collect()
}

fn titles(marked: &str, asked: bool) -> Vec<String> {
    offered(marked, asked).into_iter().map(|(title, _)| title).collect()
}

/// The music after the rewriting with this title.
fn taken(marked: &str, title: &str) -> String {
    let found = offered(marked, true);
    let own = found.iter().find(|(known, _)| known == title);
    let (_, text) = own.unwrap_or_else(|| panic!("{title} is not among {found:?}"));
    let text = text.as_ref().unwrap();
    text.split_once("\nK:C\n").unwrap().1.trim().to_owned()
}

const TWO: &str = "X:1\nM:4/4\nL:1/8\nQ:1/4=60\nV:1\nV:2\nK:C\n";

#[test]
fn at_a_cursor_what_belongs_to_the_bar() {
    let text = format!("{TWO}[V:1] C4 ▲D4|E8|\n[V:2] C,8|E,8|\n");
    let found = titles(&text, false);
    assert_eq!(
        found,
        [
            "Split into 2/4 + 2/4",
            "Split into 1/4 + 3/4",
            "Split into 3/4 + 1/4",
            "Join with the next bar as 8/4"
        ]
    );
    let split = "[V:1] [M:2/4] C4 | D4|[M:4/4] E8|\n[V:2] [M:2/4] C,4-| C,4|[M:4/4] E,8|";
    assert_eq!(taken(&text, "Split into 2/4 + 2/4"), split);
}

#[test]
fn the_note_at_the_cursor_comes_first() {
    let found = titles("X:1\nM:9/8\nL:1/8\nK:C\nC2D2▲E2F3|G9|\n", false);
    assert_eq!(found[0], "Split into 2/4 + 5/8");
    assert!(found.len() <= 6, "{found:?}");
}

#[test]
fn joined_under_the_signature_around() {
    let text = "X:1\nM:9/8\nL:1/8\nK:C\nC9|[M:5/8] C2▲D3 | [M:2/4] E2F2|[M:9/8] G9|\n";
    assert_eq!(taken(text, "Join with the next bar as 9/8"), "C9|C2D3 E2F2|G9|");
}

#[test]
fn a_selection_in_another_signature() {
    let text = "X:1\nM:6/8\nL:1/8\nK:C\nC6|▲C2D2E2|F2G2A▲2|G6|\n";
    let written = taken(text, "Write bars 2–3 in 3/4");
    assert_eq!(written, "C6|[M:3/4] C2D2E2|F2G2A2|[M:6/8] G6|");
    let text = "X:1\nM:9/8\nL:1/8\nK:C\n▲C3D2E2F2|F3G2A2B▲2|G9|\n";
    let written = taken(text, "Write bars 1–2 in 5/8 + 2/4");
    let expected = "[M:5/8] C3D2|[M:2/4] E2F2|[M:5/8] F3G2|[M:2/4] A2B2|[M:9/8] G9|";
    assert_eq!(written, expected);
    assert!(titles(text, false).contains(&"Write bars 1–2 in 3+2+2+2/8".to_owned()));
    let text = "X:1\nM:C\nL:1/8\nK:C\n▲C3D3E2|F3G3A2▲|G8|\n";
    let found = titles(text, false);
    for title in ["C|", "2/2", "3+3+2/8", "2/4"] {
        assert!(found.contains(&format!("Write bars 1–2 in {title}")), "{title}: {found:?}");
    }
}

#[test]
fn bar_lines_and_values() {
    let text = format!("{TWO}[V:1] C2D2E2▲F2|E8|]\n[V:2] C,8|E,8|]\n");
    let later = "Move the bar lines a beat later: bars 1–2 begin with a pickup of 1/4";
    assert_eq!(taken(&text, later), "[V:1] C2|D2E2F2 E2-|E6|]\n[V:2] C,2-|C,6 E,2-|E,6|]");
    let found = offered(&text, true);
    let halved = found.iter().find(|(title, _)| title.starts_with("Halve")).unwrap();
    assert_eq!(halved.0, "Halve all values (Q: 1/4=60 becomes 1/8=60)");
    let plain = text.replace('▲', "");
    let expected = plain.replace("M:4/4\nL:1/8\nQ:1/4", "M:4/8\nL:1/16\nQ:1/8");
    assert_eq!(halved.1.as_deref(), Ok(expected.as_str()));
}

#[test]
fn what_cannot_be_done_is_told_where_it_was_asked_for() {
    let text = "X:1\nM:4/4\nL:1/8\nK:C\nC2D2▲E2F2:|E8|\n";
    let joins = |asked: bool| {
        let found = offered(text, asked);
        found.into_iter().find(|(title, _)| title.starts_with("Join")).map(|(_, text)| text)
    };
    assert_eq!(joins(false), None);
    let why = joins(true).unwrap().unwrap_err();
    assert_eq!(why, "bar 1: a repeat, an ending or a double bar stands between.");
    let values = offered(text, true).into_iter().find(|(title, _)| title == "Halve all values");
    let why = values.unwrap().1.unwrap_err();
    assert!(why.starts_with("No tempo is given in numbers"), "{why}");
}

#[test]
fn nothing_outside_music() {
    for text in ["▲", "▲X:1\nK:C\nC|\n", "X:1\nT:▲Air\nK:C\nC|\n", "words▲\n\nX:1\nK:C\nC|\n"]
    {
        assert_eq!(offered(text, true), [], "{text}");
    }
}

#[test]
fn rhythms_are_shown_by_the_beat_in_every_voice() {
    let text = format!("{TWO}[V:1] ▲C D2 E2 F2 G|\n[V:2] C2 z4 C2|▲\n");
    let ties = "Show the beats of bar 1 by ties";
    assert_eq!(taken(&text, ties), "[V:1] C D2 E- E F2 G|\n[V:2] C2 z4 C2|");
    let rests = "Group the rests of bar 1 by the beat";
    assert_eq!(taken(&text, rests), "[V:1] C D2 E2 F2 G|\n[V:2] C2 z2 z2 C2|");
    let text = format!("{TWO}[V:1] ▲C4- C4 |\n[V:2] CD EFGA Bc|▲\n");
    let joined = "Write as one what is needlessly tied in bar 1";
    assert_eq!(taken(&text, joined), "[V:1] C8 |\n[V:2] CD EFGA Bc|");
    let beams = "Beam bar 1 by the beat";
    assert_eq!(taken(&text, beams), "[V:1] C4- C4 |\n[V:2] CD EF GA Bc|");
}

#[test]
fn where_the_beats_show_no_rhythm_is_offered() {
    let text = format!("{TWO}[V:1] ▲C4 D4|\n[V:2] C8|▲\n");
    let found = titles(&text, true);
    let rhythm = |title: &&String| title.contains("by the beat") || title.contains("tie");
    assert_eq!(found.iter().filter(rhythm).count(), 0, "{found:?}");
}

#[test]
fn titles_alone_then_the_one_that_is_taken() {
    let text = "X:1\nM:4/4\nL:1/8\nK:C\nC4 D4|E3F5|\n";
    let snapshot = Snapshot::new(Document::new(text), Arc::default());
    for asked in [false, true] {
        let all = rewritings(&snapshot, 20..20, asked, Wanted::Proved);
        let titles = rewritings(&snapshot, 20..20, asked, Wanted::Titles);
        let names = |all: &[Rewriting]| all.iter().map(|one| one.title.clone()).collect::<Vec<_>>();
        assert_eq!(names(&titles), names(&all));
        for one in all {
            assert_eq!(rewritings(&snapshot, 20..20, asked, Wanted::One(&one.title)), [one]);
        }
    }
}

#[test]
fn lines_move_past_bars_of_rest() {
    let text = "X:1\nM:4/4\nL:1/8\nK:C\nC4 D2 E2▲|F4 G4|Z|]\n";
    let later = "Move the bar lines a beat later: bars 1–3 begin with a pickup of 1/4";
    assert_eq!(taken(text, later), "C2-|C2 D2 E2 F2-|F2 G4 z2|z4 z2|]");
    let many = "X:1\nM:3/4\nL:1/8\nK:C\nZ2|C2 ▲D2 E2|Z2|]\n";
    let earlier = "Move the bar lines a beat earlier: bars 1–5 begin with a pickup of 2/4";
    assert_eq!(taken(many, earlier), "z2 z2|Z|z2 C2 D2|E2 z2 z2|Z|z2|]");
}

#[test]
fn a_tuplet_over_the_beat_comes_apart() {
    let text = "X:1\nM:4/4\nL:1/8\nK:C\nC2 ▲(3D2E2F2 G2|c8|]\n";
    let after = taken(text, "Split the tuplets of bar 1 at the beats");
    assert_eq!(after, "C2 (3:2:2D2E- (3:2:2EF2 G2|c8|]");
}

#[test]
fn a_cursor_in_the_field_before_a_bar_means_that_bar() {
    let text = format!("{TWO}[V▲:1] C4 D4|E8|\n[V:2] C,8|E,8|\n");
    assert!(titles(&text, false).contains(&"Split into 2/4 + 2/4".to_owned()));
    assert_eq!(titles("X:1\nT:A ▲tune\nM:4/4\nL:1/8\nK:C\nC4 D4|E8|\n", true), [""; 0]);
}

#[test]
fn threes_and_twos_only_where_notes_and_beams_fall_so() {
    let head = "X:1\nM:4/4\nL:1/16\nK:C\n";
    let additive = |music: &str| {
        titles(&format!("{head}▲{music}|]\n"), true).iter().any(|title| title.contains("3+3+2"))
    };
    assert!(additive("c6 d6 e4|f6 g6 a4"));
    assert!(additive("cdefga bagfed cdef|c6 d6 e4"));
    assert!(!additive("BfdB fdBf gecg ecge|c4 d4 e4 f4"));
}
