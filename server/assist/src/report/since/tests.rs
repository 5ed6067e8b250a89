//! Two small drafts and what became of the first.

use super::super::{TuneReport, report_since};
use super::*;
use recte_review::Config;

const OLD: &str = "X:1\nT:Pebble\nM:4/4\nL:1/4\nV:1 name=\"Violin\"\nV:2 name=\"Cello\" clef=bass\nK:Am\n\
    [V:1]A B c d|[EB_A]4|e d c B|[EB_A]4|A4|]\n[V:2]A,4|E,4|A,4|E,4|A,4|]\n";

fn since(old: &str, new: &str) -> (Vec<TuneReport>, Vec<String>) {
    let document = Document::new(old);
    let last = LastDraft { name: "old.abc", document: Some(&document), bars: None };
    report_since(&Document::new(new), &Config::default(), None, &last)
}

#[test]
fn what_was_changed_is_told_and_can_be_heard() {
    let new = OLD.replacen("[EB_A]4", "[EB^G]4", 1).replacen("|E,4|", "|B,,,4|", 1);
    let (tunes, gone) = since(OLD, &new);
    let one = tunes[0].since.as_ref().unwrap();
    assert!(gone.is_empty() && one.lacks.is_none());
    // G sharp sounds as A flat did.
    assert_eq!(one.told[0].text, "Bar 2 is changed in Cello.");
    let moved = &one.told[0].bars[0];
    assert_eq!((moved.old, moved.new), (Some((1, 1)), Some((1, 1))));
    assert_eq!((moved.old_name.as_str(), moved.old_numbers), ("bar 2", Some((2, 2))));
    let heard: Vec<Vec<i32>> =
        one.listening.sounds.0.iter().map(|p| p.iter().map(|s| s.midi).collect()).collect();
    assert_eq!(heard, [vec![64, 68, 71], vec![52]]);
    // What is only observed of the parts stands too.
    assert_eq!(one.counts, "1 remark settled, 3 stand, 1 is new");
    let settled = Settled {
        rule: "chord-spelling",
        voice: Some("Violin".to_owned()),
        place: Some("bar 2".to_owned()),
        message: "E, A flat, B is an E major triad; players expect G sharp.".to_owned(),
    };
    assert_eq!(one.settled, [settled]);
    let fates: Vec<_> = tunes[0]
        .remarks
        .iter()
        .filter(|one| ["beyond-range", "chord-spelling"].contains(&one.rule))
        .filter_map(|one| Some((one.rule, one.bars?.0, one.since?)))
        .collect();
    let wanted = [("beyond-range", 1, Fate::New), ("chord-spelling", 3, Fate::Stands)];
    assert_eq!(fates, wanted);
}

#[test]
fn a_part_that_is_gone_can_still_be_heard() {
    let new = OLD.replace("V:2 name=\"Cello\" clef=bass\n", "").replace("A B c d|", "f B c d|");
    let new = new.split("[V:2]").next().unwrap();
    let (tunes, _) = since(OLD, new);
    let one = tunes[0].since.as_ref().unwrap();
    let names: Vec<&str> = one.listening.parts.iter().map(|part| part.0.as_str()).collect();
    assert_eq!(names, ["Violin", "Cello (last draft)"]);
    assert_eq!(one.listening.sounds.0[1].len(), 1);
}

#[test]
fn what_the_last_draft_lacks_is_said_calmly() {
    let other = "X:7\nT:Reed\nM:3/4\nL:1/8\nK:G\nG2 B2 d2|c2 A2 F2|G6|]\n";
    let (tunes, gone) = since(other, OLD);
    let one = tunes[0].since.as_ref().unwrap();
    assert_eq!(one.lacks, Some("The last draft does not have this tune."));
    assert_eq!(gone, ["Reed"]);
    assert!(tunes[0].remarks.iter().all(|one| one.since.is_none()));
    let last = LastDraft { name: "old", document: None, bars: None };
    let (tunes, _) = report_since(&Document::new(OLD), &Config::default(), None, &last);
    assert!(tunes[0].since.as_ref().unwrap().lacks.is_some());
}

#[test]
fn a_draft_and_itself() {
    let (tunes, _) = since(OLD, OLD);
    let one = tunes[0].since.as_ref().unwrap();
    assert_eq!(one.told.len(), 1);
    assert_eq!((one.told[0].text.as_str(), one.settled.len()), ("Nothing is changed.", 0));
    assert!(tunes[0].remarks.iter().all(|one| one.since == Some(Fate::Stands)));
    assert!(one.listening.sounds.is_empty());
}

#[test]
fn the_head_of_the_file_belongs_to_the_first_tune() {
    let new = format!("M:five\n\n{OLD}");
    let (tunes, _) = since(OLD, &new);
    let one = tunes[0].since.as_ref().unwrap();
    assert_eq!(one.counts, "4 remarks stand, 1 is new");
    assert_eq!(tunes[0].remarks[0].since, Some(Fate::New));
}
