//! Remarks from draft to draft, over real scores: taking the fix of one remark settles it and leaves the others standing;
//! taking it back makes it new.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_assist::drafts::{Remarks, compare};
use recte_assist::{Located, Snapshot, check};
use recte_notation::Document;
use recte_review::FixKind;
use std::sync::Arc;

#[path = "../../review/tests/real/mod.rs"]
mod real;
use real::{Dice, documents, hash};

/// Of the texts so many are taken, one in so many; of each so many remarks.
const ONE_IN: u64 = 6;
const EACH: usize = 3;
/// Shorter texts, in bytes, are all taken; longer ones than the second take a debug build too long.
const SHORT: usize = 4_000;
const LONGEST: usize = 40_000;

fn snapshot(document: Document) -> Snapshot {
    Snapshot::new(document, Arc::default())
}

fn pooled(old: &Snapshot, new: &Snapshot) -> Remarks {
    let mut pool = Remarks::default();
    for remarks in compare(old, new).remarks() {
        pool.settled.extend_from_slice(&remarks.settled);
        pool.standing.extend_from_slice(&remarks.standing);
        pool.new.extend_from_slice(&remarks.new);
    }
    pool
}

fn holds(all: &[Located], one: &Located) -> bool {
    all.iter().any(|own| own.start == one.start && own.finding() == one.finding())
}

#[test]
fn a_fix_settles_its_remark_and_no_other() {
    let mut dice = Dice(23);
    let (mut tried, mut settled) = (0, 0);
    let (mut alone, mut exact, mut back) = (0, 0, 0);
    let mut wrong = Vec::new();
    for (name, document) in documents(ONE_IN) {
        let size = document.rope().len_bytes();
        if size > LONGEST || (size > SHORT && !hash(&name).is_multiple_of(ONE_IN)) {
            continue;
        }
        let old = snapshot(document);
        let before = check(&old);
        let fix = |one: &Located| {
            let mut fixes = one.finding().fixes.iter();
            fixes.find(|fix| fix.preferred && fix.kind == FixKind::Fix).cloned()
        };
        let mut fixable: Vec<&Located> = before.iter().filter(|one| fix(one).is_some()).collect();
        for _ in 0..EACH.min(fixable.len()) {
            let one = fixable.swap_remove(dice.roll(fixable.len()));
            let mut document = old.document.clone();
            let mut changes = one.changes(&fix(one).unwrap());
            changes.sort_by_key(|change| std::cmp::Reverse(change.range.start));
            changes.iter().for_each(|change| document.apply(change));
            let new = snapshot(document);
            let after = check(&new);
            let remarks = pooled(&old, &new);
            assert_eq!(remarks.settled.len() + remarks.standing.len(), before.len(), "{name}");
            assert_eq!(remarks.new.len() + remarks.standing.len(), after.len(), "{name}");
            tried += 1;
            let is_settled = holds(&remarks.settled, one);
            settled += usize::from(is_settled);
            // A fix may take other remarks with it; where it does not, nothing else may be told.
            let only = after.len() + 1 == before.len();
            let told = (remarks.settled.len(), remarks.new.len());
            alone += usize::from(only);
            exact += usize::from(only && told == (1, 0));
            let again = pooled(&new, &old);
            back += usize::from(
                again.new.len() == told.0
                    && again.settled.len() == told.1
                    && holds(&again.new, one),
            );
            if !is_settled || (only && told != (1, 0)) {
                let finding = one.finding();
                wrong.push(format!("{name}: {} {:?}: {told:?}", finding.rule, finding.message));
            }
        }
    }
    println!("{settled} of {tried} settled; {exact} of {alone} alone; {back} of {tried} new again");
    if std::env::var_os("RECTE_SHOW").is_some() {
        wrong.iter().for_each(|line| println!("  {line}"));
    }
    assert!(tried >= 10, "{tried} fixes were found");
    assert!(100 * settled >= 98 * tried, "{wrong:#?}");
    assert!(100 * exact >= 98 * alone, "{wrong:#?}");
    assert!(100 * back >= 98 * tried, "{wrong:#?}");
}
