//! The table of cases.

#![allow(dead_code)] // each test file uses some of it
#![allow(clippy::unwrap_used)]

/// A case: a small tune and what must be read.
pub(crate) struct Case {
    pub(crate) id: String,
    pub(crate) section: String,
    pub(crate) abc: String,
    pub(crate) voices: String,
    pub(crate) note: String,
}

/// All cases.
pub(crate) fn cases() -> Vec<Case> {
    let data = include_bytes!("../data/notation-cases.csv");
    let mut reader = csv::Reader::from_reader(&data[..]);
    let headers = reader.headers().unwrap().clone();
    let column = |name: &str| headers.iter().position(|h| h == name).unwrap();
    let (id, section, abc) = (column("id"), column("source"), column("abc"));
    let (voices, note) = (column("voices"), column("note"));
    let text = |record: &csv::StringRecord, column: usize| record[column].to_owned();
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            Case {
                id: text(&record, id),
                section: text(&record, section),
                abc: text(&record, abc),
                voices: text(&record, voices),
                note: text(&record, note),
            }
        })
        .collect()
}
