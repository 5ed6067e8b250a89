//! The cases of the standard: each fault is remarked on, and nothing else is.
//!
//! `notation/tests/data/notation-cases.csv`, column `problems`.

use crate::config::Config;
use crate::finding::{Finding, Severity};
use crate::rule::{Family, find_rule};
use crate::rule_tests::findings_in;
use recte_notation::Document;

fn findings(abc: &str) -> Vec<Finding> {
    let families = [Family::Source, Family::Metre];
    let all = findings_in(&Document::new(abc), &Config::default()).into_iter();
    all.filter(|f| find_rule(f.rule).is_some_and(|rule| families.contains(&rule.family))).collect()
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
        let found = findings(abc);
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
