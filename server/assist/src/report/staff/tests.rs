//! Quotes and proposals as staves.

use super::*;
use crate::report::{TuneReport, report};
use recte_notation::{Document, lower};
use recte_review::Config;

fn staff(text: &str, voice: usize, bars: Range<usize>) -> Option<Staff> {
    Staff::of(&lower(text).tune, voice, bars)
}

fn report_on(text: &str) -> TuneReport {
    report(&Document::new(text), &Config::default(), None).remove(0)
}

/// The first remark of a rule: its quote, and its first proposal.
fn drawn(text: &str, rule: &str) -> (Staff, Staff) {
    let report = report_on(text);
    let remark = report.remarks.iter().find(|one| one.rule == rule);
    let remark = remark.unwrap_or_else(|| panic!("{rule}: {:?}", report.remarks));
    let quote = remark.quote.as_ref().unwrap().staff.clone().unwrap();
    (quote, remark.proposals[0].staff.clone().unwrap_or_else(|| panic!("{remark:?}")))
}

fn told(staff: &Staff) -> Vec<usize> {
    (0..staff.items.len()).filter(|at| staff.items[*at].told).collect()
}

/// The accidentals of an item's heads.
fn signs(item: &Item) -> Vec<Option<i8>> {
    item.heads.iter().map(|head| head.accidental).collect()
}

#[test]
fn a_spelling_and_its_proposal() {
    let (quote, proposal) = drawn("X:1\nM:4/4\nL:1/4\nK:C\nC4|c2 [E_AB]2|c4|]\n", "chord-spelling");
    assert_eq!(told(&quote), [1]);
    assert_eq!(signs(&quote.items[1]), [None, Some(-1), None]);
    assert_eq!(signs(&proposal.items[1]), [None, Some(1), None]);
    // A flat stands on the step of A, G sharp one lower.
    assert_eq!(quote.items[1].heads[1].step, proposal.items[1].heads[1].step + 1);
    let changed: Vec<bool> = proposal.items[1].heads.iter().map(|head| head.told).collect();
    assert_eq!((told(&proposal), changed), (vec![1], vec![false, true, false]));
}

#[test]
fn beams_as_typed_and_as_proposed() {
    let (quote, proposal) =
        drawn("X:1\nM:6/8\nL:1/8\nK:C\nCD EF GA|cBA GFE|cBA GFE|c6|]\n", "beam-grouping");
    assert_eq!(quote.beamed(), [vec![0, 1], vec![2, 3], vec![4, 5]]);
    assert_eq!(proposal.beamed(), [vec![0, 1, 2], vec![3, 4, 5]]);
}

#[test]
fn what_is_in_force_comes_from_before() {
    // Key, metre, unit and clef are typed long before the quoted bar, and not in the header.
    let text = "X:1\nM:4/4\nL:1/4\nK:C\nV:1\nV:2\n[V:1]c4|\n[V:2]c4|\n\
        [V:2][K:Eb clef=bass][M:3/4][L:1/8]E,6|E,6-|E,2 [E,=G,=B,]2 [_E,G,_C]2|\n[V:1][K:Eb][M:3/4]c3|c3|c3|\n";
    let report = report_on(text);
    let remark = report.remarks.iter().find(|one| one.voice == Some(1) && one.bars == Some((3, 3)));
    let remark = remark.unwrap_or_else(|| panic!("{:?}", report.remarks));
    let quote = remark.quote.as_ref().unwrap().staff.as_ref().unwrap();
    assert_eq!(
        (quote.front.clef.name.as_str(), quote.front.metre.to_string()),
        ("bass", "3/4".to_owned())
    );
    assert_eq!(quote.front.signature.fifths(), Some(-3));
    assert!(quote.items[0].heads[0].tied_in);
    for proposal in remark.proposals.iter().filter(|one| one.text.is_some()) {
        let staff = proposal.staff.as_ref().unwrap();
        assert_eq!(staff.front, quote.front);
        assert!(staff.items[0].heads[0].tied_in, "what comes in from before is kept");
        assert_eq!(staff.items[0].heads[0].step, quote.items[0].heads[0].step);
    }
}

#[test]
fn layers_graces_tuplets_and_long_lengths() {
    let one = staff("X:1\nM:4/4\nL:1/4\nK:C\n{ab}c4 & (3E2F2G2|c5-|c4|]\n", 0, 0..2).unwrap();
    assert_eq!(one.bars[0].layers, 2);
    assert_eq!(one.items.iter().filter(|item| item.grace).count(), 2);
    assert_eq!((one.tuplets[0].number, one.tuplets[0].last - one.tuplets[0].first), (3, 2));
    let second: Vec<bool> =
        one.items[one.bars[1].items.clone()].iter().map(|i| i.goes_on).collect();
    assert_eq!(second, [false, true]);
}

#[test]
fn what_no_sign_says_is_left_to_the_text() {
    // A third of a quarter, and no tuplet typed.
    assert_eq!(staff("X:1\nL:1/4\nK:C\nc/3d/3e/3|\n", 0, 0..1), None);
    assert_eq!(staff("X:1\nL:1/4\nK:C\n|\n", 0, 0..1), None);
}

#[test]
fn changes_within_the_bars() {
    let text = "X:1\nM:4/4\nL:1/4\nK:C\nc4|[K:D]d4|[M:3/4]d3|[K:clef=bass]D,3|\n";
    let one = staff(text, 0, 0..4).unwrap();
    let kinds: Vec<usize> = one.items.iter().map(|item| item.changes.len()).collect();
    assert_eq!(kinds, [0, 1, 1, 1]);
    assert!(matches!(one.items[3].changes[0], Change::Clef(_)));
    assert_eq!(one.items[3].heads[0].step, 0, "D3 is on the middle line of the bass staff");
}

#[test]
fn slurs_and_ties_at_the_edges() {
    let one = staff("X:1\nM:4/4\nL:1/4\nK:C\n(c4|d4-|d4|e4)|\n", 0, 1..3).unwrap();
    assert!(one.slurs.is_empty(), "what only passes by is not drawn");
    let one = staff("X:1\nM:4/4\nL:1/4\nK:C\n(c4|d4)|(d4|e4)|\n", 0, 1..3).unwrap();
    let ends: Vec<_> = one.slurs.iter().map(|bow| (bow.from, bow.to)).collect();
    assert_eq!(ends, [(None, Some(0)), (Some(1), None)]);
}
