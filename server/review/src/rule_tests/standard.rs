//! The cases of the standard: each fault is remarked on, and nothing else is.
//!
//! `notation/tests/data/notation-cases.csv`, column `problems`.

use crate::check::check_block;
use crate::config::Config;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, find_rule};
use recte_notation::Document;

/// Faults that belong to other families, or that no single tune shows.
const ELSEWHERE: [(&str, &str); 6] = [
    ("N033", "two tunes: a block is read alone"),
    ("N090", "the length of a bar: metre family"),
    ("N092", "the length of a bar: metre family"),
    ("N252", "the length of a bar: metre family"),
    ("N287", "the length of a bar: metre family"),
    ("N461", "voices of different length: metre family"),
];

fn source_findings(abc: &str) -> Vec<Finding> {
    let document = Document::new(abc);
    let config = Config::default();
    let all = document.blocks().flat_map(|(_, block)| check_block(block, &config, &[]).findings);
    all.filter(|f| find_rule(f.rule).is_some_and(|rule| rule.family == Family::Source)).collect()
}

#[test]
fn each_fault_and_nothing_else() {
    let data = include_bytes!("../../../notation/tests/data/notation-cases.csv");
    let mut reader = csv::Reader::from_reader(&data[..]);
    let headers = reader.headers().unwrap().clone();
    let column = |name: &str| headers.iter().position(|h| h == name).unwrap();
    let (id, abc, problems) = (column("id"), column("abc"), column("problems"));
    let mut wrong = Vec::new();
    let mut faults = 0;
    for record in reader.records() {
        let record = record.unwrap();
        let (id, abc, problems) = (&record[id], &record[abc], &record[problems]);
        if ELSEWHERE.iter().any(|(known, _)| *known == id) {
            continue;
        }
        let found = source_findings(abc);
        let loud = found.iter().any(|f| f.severity >= Severity::Warning);
        faults += usize::from(problems != "none");
        if if problems == "none" { loud } else { found.is_empty() } {
            let said: Vec<_> = found.iter().map(|f| (f.rule, f.severity, &f.message)).collect();
            wrong.push(format!("{id}: wanted {problems}, found {said:?}\n{abc}"));
        }
    }
    assert!(faults > 30);
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}
