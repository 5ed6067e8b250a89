//! Good music is quiet: on published scores each family of rules speaks less than once in a thousand notes, hints,
//! which nobody has to answer, not counted. On names it speaks less than once with its hints, and warns less than
//! three times in ten thousand.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_review::{Around, Config, Family, Severity, check_block, find_rule};
use std::collections::BTreeMap;

mod real;
use real::{imported, tunes_of};

#[test]
fn each_family_speaks_less_than_once_in_a_thousand_notes() {
    let config = Config::default();
    let (mut notes, mut counts) = (0, BTreeMap::new());
    for block in imported(1).iter().flat_map(|(_, document)| tunes_of(document)) {
        let voices = block.lowered().tune.voices.iter();
        notes += voices.map(|voice| voice.notes.len()).sum::<usize>();
        let findings = check_block(&block, &config, &Around::default()).findings;
        for finding in &findings {
            let family = find_rule(finding.rule).map(|rule| rule.family);
            *counts.entry((family, finding.severity > Severity::Hint)).or_insert(0) += 1;
        }
    }
    println!("{notes} notes: {counts:?}");
    for (&(family, _), count) in counts.iter().filter(|((_, loud), _)| *loud) {
        assert!(count * 1000 < notes, "{family:?}: {count} remarks on {notes} notes");
    }
    let on_names = |loud| counts.get(&(Some(Family::Spelling), loud)).copied().unwrap_or(0);
    let (warnings, hints) = (on_names(true), on_names(false));
    assert!(warnings * 10_000 <= notes * 3, "{warnings} warnings on names in {notes} notes");
    assert!((warnings + hints) * 1000 <= notes, "{hints} hints on names in {notes} notes");
}
