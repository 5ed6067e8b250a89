//! On which line of a TOML text a key stands.

use toml::de::{DeTable, DeValue};

/// The keys of a text with their lines.
pub(super) struct Lines {
    keys: Vec<(Vec<String>, usize)>,
}

impl Lines {
    /// Of a text; none if it is not TOML.
    pub(super) fn of(text: &str) -> Lines {
        let mut lines = Lines { keys: Vec::new() };
        if let Ok(table) = DeTable::parse(text) {
            lines.table(text, &mut Vec::new(), table.get_ref());
        }
        lines
    }

    /// The line, from 1, of a key given as its path; entries of arrays are numbers from 0.
    pub(super) fn line(&self, path: &[&str]) -> Option<usize> {
        self.keys.iter().find(|(key, _)| key == path).map(|(_, line)| *line)
    }

    fn table(&mut self, text: &str, path: &mut Vec<String>, table: &DeTable<'_>) {
        for (key, value) in table {
            path.push(key.get_ref().to_string());
            self.keys.push((path.clone(), line_at(text, key.span().start)));
            match value.get_ref() {
                DeValue::Table(inner) => self.table(text, path, inner),
                DeValue::Array(entries) => {
                    for (index, entry) in entries.iter().enumerate() {
                        path.push(index.to_string());
                        self.keys.push((path.clone(), line_at(text, entry.span().start)));
                        if let DeValue::Table(inner) = entry.get_ref() {
                            self.table(text, path, inner);
                        }
                        path.pop();
                    }
                }
                _ => {}
            }
            path.pop();
        }
    }
}

/// The line, from 1, of a byte.
pub(super) fn line_at(text: &str, byte: usize) -> usize {
    text.bytes().take(byte).filter(|byte| *byte == b'\n').count() + 1
}
