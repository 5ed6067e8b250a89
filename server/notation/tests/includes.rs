//! Included files (abc standard v2.1, 3.1.17), handed in as texts.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use recte_notation::{Document, Includes, Lowered, ProblemKind};
use std::sync::Arc;

/// The reading of the last block of a score that includes this as `a.abh`.
fn read<T>(score: &str, included: &str, look: impl FnOnce(&Lowered) -> T) -> T {
    let mut document = Document::new(score);
    let includes = Includes::from([("a.abh".to_owned(), Some(included.to_owned()))]);
    document.include(Arc::new(includes));
    let blocks: Vec<_> = document.blocks().map(|(_, block)| block).collect();
    look(blocks.last().unwrap().lowered())
}

fn durations(lowered: &Lowered) -> Vec<String> {
    let events = lowered.tune.voices.iter().flat_map(|voice| &voice.events);
    events.map(|event| event.duration.to_string()).collect()
}

#[test]
fn what_it_sets_holds_as_if_typed() {
    let heads = ["I:abc-include a.abh\n\nX:1\nK:C\nC|\n", "X:1\n%%abc-include a.abh\nK:C\nC|\n"];
    for head in heads {
        assert_eq!(read(head, "L:1/4\n", durations), ["1/4"], "{head}");
        assert_eq!(read(head, "L:1/4\r\n\r\nCDEF|\r\n", durations), ["1/4"], "{head}");
        assert_eq!(read(head, "", durations), ["1/8"], "{head}");
        let composer = |lowered: &Lowered| lowered.tune.texts[0].text.clone();
        assert_eq!(read(head, "C:\\'Elise\n+:Reed\n", composer), "Élise Reed");
    }
    let macros = "I:abc-include a.abh\n\nX:1\nK:C\n~C2|\n";
    assert_eq!(read(macros, "m:~C2=CC2\n", durations), ["1/8", "1/4"]);
    assert_eq!(read("X:1\nK:C\nI:abc-include a.abh\nC|\n", "L:1/2", durations), ["1/2"]);
}

#[test]
fn spans_point_at_the_line_that_includes() {
    let score = "%abc-2.1\nX:1\nT:Reed\nI:abc-include a.abh\nK:C\nCD|\n";
    let included = "U: T = !trill!\nL:1/1000\n";
    read(score, included, |lowered| {
        let problem = lowered.problems.iter().find(|p| p.kind == ProblemKind::Length).unwrap();
        assert_eq!(&score[problem.span.range()], "I:abc-include a.abh");
        let note = &lowered.tune.voices[0].notes[1];
        assert_eq!(&score[note.span.range()], "D");
        assert!(score[lowered.tune.header.range()].trim_end().ends_with("K:C"));
    });
}

#[test]
fn nothing_is_mended_where_it_was_not_typed() {
    let score = "%abc-2.1\nX:1\nT:Reed\nm: ~C = +trill+C\nI:abc-include a.abh\nK:C\n~C|\n";
    read(score, "H:long\nB:\n", |lowered| {
        let problem = lowered.problems.iter().find(|p| p.kind == ProblemKind::Deprecated).unwrap();
        assert_eq!((&score[problem.span.range()], &problem.fix), ("~C", &None));
    });
}

#[test]
fn a_file_that_is_not_there_is_told() {
    let mut document = Document::new("I:abc-include b.abh\n\nX:1\nK:C\nC|\n");
    document.include(Arc::new(Includes::from([("b.abh".to_owned(), None)])));
    let (_, block) = document.blocks().next().unwrap();
    let problem = &block.lowered().problems[0];
    assert_eq!(problem.kind, ProblemKind::NotFound);
    assert_eq!(
        problem.message,
        "“b.abh” is not found in the folder of this score; what it would set is left out."
    );
    assert_eq!(document.asks_for().into_iter().collect::<Vec<_>>(), ["b.abh"]);
}

#[test]
fn another_text_under_the_same_name_is_read_anew() {
    let mut document = Document::new("I:abc-include a.abh\n\nX:1\nK:C\nC|\n");
    for (unit, length) in [("1/4", "1/4"), ("1/2", "1/2")] {
        let text = Some(format!("L:{unit}\n"));
        document.include(Arc::new(Includes::from([("a.abh".to_owned(), text)])));
        assert_eq!(durations(document.blocks().last().unwrap().1.lowered()), [length]);
    }
}
