//! The instruments that are known: those of the table, and a user's own.

use super::label::Index;
use super::own::{Row, RowFault, apply, whole};
use super::{AmbiguousLabel, Instrument};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Table {
    #[serde(default, rename = "format_version")]
    _format_version: u32,
    #[serde(default, rename = "units")]
    _units: BTreeMap<String, String>,
    #[serde(default, rename = "instrument")]
    pub(super) instruments: Vec<Instrument>,
    #[serde(default, rename = "ambiguous_label")]
    pub(super) ambiguous_labels: Vec<AmbiguousLabel>,
}

pub(super) const TEXT: &str = include_str!("../../data/instruments.toml");

// The text is part of the program and a test reads every row of it.
static STANDARD: LazyLock<Roster> = LazyLock::new(|| {
    let table: Table = toml::from_str(TEXT).unwrap_or_default();
    Roster::of(table.instruments, table.ambiguous_labels, Vec::new())
});

/// Instruments and voices in score order, found by their names. A copy costs nothing.
#[derive(Clone)]
pub struct Roster(Arc<Inner>);

struct Inner {
    instruments: Vec<Instrument>,
    labels: Vec<AmbiguousLabel>,
    own: Vec<Row>,
    index: Index,
}

impl Roster {
    /// The table that comes with the program.
    pub fn standard() -> &'static Roster {
        &STANDARD
    }

    fn of(instruments: Vec<Instrument>, labels: Vec<AmbiguousLabel>, own: Vec<Row>) -> Roster {
        let index = Index::of(&instruments, &labels, &own);
        Roster(Arc::new(Inner { instruments, labels, own, index }))
    }

    /// These instruments and a user's own rows, each of which adds an instrument or changes what it says of one
    /// with the same `id`.
    ///
    /// What does not fit is left out and told of: the row by its place in `rows`, and the fault in it.
    pub fn with(&self, rows: &[Row]) -> (Roster, Vec<(usize, RowFault)>) {
        // Configurations are read file by file, and their rows are nearly always those of the file before.
        static LAST: Mutex<Option<Roster>> = Mutex::new(None);
        let own: Vec<Row> = self.0.own.iter().chain(rows).cloned().collect();
        if rows.is_empty() {
            return (self.clone(), Vec::new());
        }
        let mut last = LAST.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = last.as_ref().filter(|known| known.0.own == own) {
            return (known.clone(), Vec::new());
        }
        let mut instruments = self.0.instruments.clone();
        let mut taken = self.0.own.clone();
        let mut faults = Vec::new();
        for (place, row) in rows.iter().enumerate() {
            match apply(&taken, row) {
                Ok(instrument) => {
                    instruments.retain(|known| known.id != instrument.id);
                    let order = |known: &Instrument| known.score_order <= instrument.score_order;
                    let at = instruments.partition_point(order);
                    instruments.insert(at, instrument);
                    taken.push(row.clone());
                }
                Err(found) => faults.extend(found.into_iter().map(|fault| (place, fault))),
            }
        }
        let roster = Roster::of(instruments, self.0.labels.clone(), taken);
        if faults.is_empty() {
            *last = Some(roster.clone());
        }
        (roster, faults)
    }

    /// All of them, in score order.
    pub fn instruments(&self) -> &[Instrument] {
        &self.0.instruments
    }

    /// The labels that mean more than one instrument.
    pub fn ambiguous_labels(&self) -> &[AmbiguousLabel] {
        &self.0.labels
    }

    /// The instrument with that id.
    pub fn by_id(&self, id: &str) -> Option<&Instrument> {
        self.0.instruments.iter().find(|instrument| instrument.id == id)
    }

    /// Everything that is said of an instrument, under the keys of the table.
    pub fn row(&self, id: &str) -> Option<Row> {
        whole(id, &self.0.own)
    }

    /// A user's own rows, as they were given.
    pub fn own(&self) -> &[Row] {
        &self.0.own
    }

    /// The keys that a user's own rows give for an instrument, `id` not counted; none if it is of the table alone.
    pub fn own_keys(&self, id: &str) -> Vec<&str> {
        let rows =
            self.0.own.iter().filter(|row| row.get("id").and_then(|v| v.as_str()) == Some(id));
        let mut keys: Vec<&str> = rows
            .flat_map(|row| row.keys())
            .map(String::as_str)
            .filter(|key| *key != "id")
            .collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    }

    pub(super) fn index(&self) -> &Index {
        &self.0.index
    }
}

impl Default for Roster {
    fn default() -> Roster {
        Roster::standard().clone()
    }
}

/// Two rosters with the same rows of a user's own are the same: all begin with the one table.
impl PartialEq for Roster {
    fn eq(&self, other: &Roster) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || self.0.own == other.0.own
    }
}

impl Eq for Roster {}

impl fmt::Debug for Roster {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Roster").field("own", &self.0.own).finish_non_exhaustive()
    }
}

/// The user's own rows: the table goes without saying.
impl Serialize for Roster {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.0.own.serialize(serializer)
    }
}

/// From a user's own rows.
impl<'de> Deserialize<'de> for Roster {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Roster, D::Error> {
        let rows = Vec::<Row>::deserialize(deserializer)?;
        let (roster, faults) = Roster::standard().with(&rows);
        match faults.into_iter().next() {
            Some((_, fault)) => Err(de::Error::custom(fault.message)),
            None => Ok(roster),
        }
    }
}
