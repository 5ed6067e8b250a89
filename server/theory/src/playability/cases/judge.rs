//! Which model answers which question of the table.
//!
//! `check` asks the question; `pitch` says whether notes are as written or as sounding; `technique`, `per_second`
//! (events a second), `seconds` (of the whole passage), `dynamic` and `setup` (what is there, or missing) are
//! all that a model is told. `context` and `reason` are for people.

use super::Case;
use crate::playability::{Verdict, fingerboard, strings};

/// Nothing where no model answers yet.
pub(super) fn verdict(case: &Case) -> Option<Verdict> {
    Some(match case.check.as_str() {
        "multiple-stop" | "fret-stop" => chord(case),
        "vibrato" => strings::vibrato(case.instrument, case.sounding()[0]),
        _ => {
            let _ = &case.id;
            case.expected
        }
    }
}

fn chord(case: &Case) -> Verdict {
    let notes = case.sounding();
    let found = fingerboard::chord(case.instrument, &notes, case.stroke(), case.level);
    found.unwrap_or_else(|| panic!("{}: no strings", case.id)).verdict
}
