//! Text as ABC keeps it (abc standard v2.1, 8.2): no sign of it may be read as something else.

/// A text in one line, for a field.
pub(super) fn field(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split([' ', '\t', '\n', '\r']).filter(|word| !word.is_empty()) {
        if !out.is_empty() {
            out.push(' ');
        }
        for c in word.chars() {
            match c {
                '%' | '\\' => out.extend(['\\', c]),
                '&' => out.push_str("&amp;"),
                '$' => out.push_str("$$"),
                c if c.is_ascii_control() => {}
                c => out.push(c),
            }
        }
    }
    out
}

/// A text between quotation marks.
pub(super) fn quoted(text: &str) -> String {
    format!("\"{}\"", field(text).replace('"', "&quot;"))
}

/// A syllable under a note: what would part it or hold it is written otherwise.
pub(super) fn syllable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '-' => out.push_str("\\-"),
            '_' => out.push_str("&#95;"),
            '*' => out.push_str("&#42;"),
            '|' => out.push_str("&#124;"),
            '~' => out.push_str("&#126;"),
            '%' | '\\' => out.extend(['\\', c]),
            '&' => out.push_str("&amp;"),
            '$' => out.push_str("$$"),
            c if c.is_whitespace() => out.push('~'),
            c if c.is_ascii_control() => {}
            c => out.push(c),
        }
    }
    out
}
