//! The settings in force in each staff: key, clef, metre, transposition.

use crate::sheet::{Change, Clef, KeySign, Setting, Sheet};
use recte_theory::key::Signature;
use recte_theory::{Metre, Time};

/// What is in force on a staff at one moment.
#[derive(Clone, PartialEq)]
pub(super) struct Current {
    pub(super) key: KeySign,
    pub(super) clef: Clef,
    pub(super) metre: Metre,
    pub(super) transpose: i32,
}

impl Current {
    pub(super) fn take(&mut self, what: &Setting) {
        match what {
            Setting::Key(key) => self.key = key.clone(),
            Setting::Clef(clef) => self.clef = *clef,
            Setting::Metre(metre) => self.metre = metre.clone(),
            Setting::Transpose(semitones) => self.transpose = *semitones,
        }
    }
}

/// The settings that open each staff, and the metre of each measure of each part.
pub(super) struct Settings {
    opening: Vec<Vec<Current>>,
    metres: Vec<Vec<Metre>>,
}

/// Whether a change holds for a staff.
pub(super) fn concerns(change: &Change, staff: u8) -> bool {
    change.staff.is_none_or(|named| named == staff)
}

impl Settings {
    pub(super) fn new(sheet: &Sheet) -> Settings {
        let opening = sheet.parts.iter().map(|part| {
            let changes = part.measures.first().map_or(&[] as &[Change], |m| m.changes.as_slice());
            let opening = changes.iter().filter(|change| change.onset == Time::ZERO);
            let staff = |staff: u8| {
                let mut current = Current {
                    key: KeySign { name: "C".to_owned(), signature: Signature::default() },
                    clef: Clef { name: "treble", octaves: 0 },
                    metre: Metre::FREE,
                    transpose: 0,
                };
                let own = opening.clone().filter(|change| concerns(change, staff));
                own.for_each(|change| current.take(&change.what));
                current
            };
            (1..=part.staves.max(1)).map(staff).collect()
        });
        let metres = sheet.parts.iter().map(|part| {
            let mut metre = Metre::FREE;
            let mut late = None;
            let each = part.measures.iter().map(|measure| {
                metre = late.take().unwrap_or(metre.clone());
                for change in &measure.changes {
                    match &change.what {
                        Setting::Metre(new) if change.onset == Time::ZERO => metre = new.clone(),
                        Setting::Metre(new) => late = Some(new.clone()),
                        _ => {}
                    }
                }
                metre.clone()
            });
            each.collect()
        });
        Settings { opening: opening.collect(), metres: metres.collect() }
    }

    /// What a staff of a part begins with.
    pub(super) fn opening(&self, part: usize, staff: u8) -> Option<&Current> {
        self.opening.get(part)?.get(usize::from(staff.max(1)) - 1)
    }

    /// The metre of a measure in a part.
    pub(super) fn metre(&self, part: usize, measure: usize) -> Metre {
        self.metres.get(part).and_then(|all| all.get(measure)).cloned().unwrap_or_default()
    }
}
