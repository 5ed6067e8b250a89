//! Good music is quiet: on published scores each family of rules speaks less than once in a thousand notes. Hints,
//! which nobody has to answer, are not counted.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_review::{Around, Config, Severity, check_block, find_rule};
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
        for finding in findings.iter().filter(|finding| finding.severity > Severity::Hint) {
            let family = find_rule(finding.rule).map(|rule| rule.family);
            *counts.entry(family).or_insert(0) += 1;
        }
    }
    println!("{notes} notes: {counts:?}");
    for (family, count) in counts {
        assert!(count * 1000 < notes, "{family:?}: {count} remarks on {notes} notes");
    }
}
