//! A file is blocks: paragraphs parted by blank lines (abc standard v2.1, 2.2).
//!
//! A block is the unit of everything that is kept: an edit costs the blocks it touches. A line that holds
//! only a comment parts nothing; `%%begintext` … `%%endtext` may hold blank lines; `X:` begins a new tune
//! even where the blank line is missing.

/// What a block is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum BlockKind {
    /// Fields before any tune, at the very top: they hold for every tune.
    FileHeader,
    /// A tune: it has fields.
    Tune,
    /// Text that is not music.
    FreeText,
}

/// One block found: its kind and length in bytes, the blank lines after it included.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Found {
    pub(crate) kind: BlockKind,
    pub(crate) len: usize,
}

/// The first block of a text; `top` says that nothing stands before it in the file.
pub(crate) fn first_block(text: &str, top: bool) -> Found {
    let mut shape = Shape { top, ..Shape::default() };
    let mut at = 0;
    while at < text.len() {
        let line = line_at(text, at);
        if shape.ends_before(line) {
            break;
        }
        shape.take(line);
        at += line.len();
    }
    Found { kind: shape.kind(), len: at }
}

/// The line that begins at a byte, with its line end (LF, CR LF or CR).
pub(crate) fn line_at(text: &str, at: usize) -> &str {
    let rest = &text[at..];
    let end = match rest.bytes().position(|byte| byte == b'\n' || byte == b'\r') {
        Some(place) if rest[place..].starts_with("\r\n") => place + 2,
        Some(place) => place + 1,
        None => rest.len(),
    };
    &rest[..end]
}

/// A line up to its comment; `\%` is a percent sign (8.2).
pub(crate) fn before_comment(line: &str) -> &str {
    let sign = |(place, _): &(usize, &str)| !line[..*place].ends_with('\\');
    let end = line.match_indices('%').find(sign).map_or(line.len(), |(place, _)| place);
    &line[..end]
}

/// Whether a line begins like a field: a letter and at once a colon.
pub(crate) fn is_field_line(line: &str) -> bool {
    let mut bytes = line.bytes();
    bytes.next().is_some_and(|byte| byte.is_ascii_alphabetic()) && bytes.next() == Some(b':')
}

#[derive(Default)]
struct Shape {
    top: bool,
    /// A blank line has come: whatever follows is the next block.
    closed: bool,
    in_text: bool,
    any: bool,
    reference: bool,
    field: bool,
    key: bool,
    free: bool,
}

impl Shape {
    fn ends_before(&self, line: &str) -> bool {
        if self.in_text {
            return false;
        }
        let blank = line.trim().is_empty();
        (self.closed && !blank)
            || (self.any && !blank && line.starts_with("X:") && (self.field || self.free))
    }

    fn take(&mut self, line: &str) {
        if self.in_text {
            self.in_text = !line.starts_with("%%endtext");
            return;
        }
        if line.trim().is_empty() {
            self.closed = self.any;
            return;
        }
        self.any = true;
        if line.starts_with("%%begintext") {
            self.in_text = true;
        } else if !line.trim_start().starts_with('%') {
            self.take_content(line);
        }
    }

    fn take_content(&mut self, line: &str) {
        let line = line.trim_start_matches('\u{FEFF}');
        let is_field = is_field_line(line);
        if !self.field && !self.free {
            self.field = is_field;
            self.free = !is_field;
        }
        if self.field && is_field {
            self.reference |= line.starts_with("X:");
            self.key |= line.starts_with("K:");
        }
    }

    fn kind(&self) -> BlockKind {
        if self.free {
            BlockKind::FreeText
        } else if self.reference || self.key {
            BlockKind::Tune
        } else if self.top {
            BlockKind::FileHeader
        } else if self.field {
            BlockKind::Tune
        } else {
            BlockKind::FreeText
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kinds(text: &str) -> Vec<(BlockKind, &str)> {
        let mut found = Vec::new();
        let mut at = 0;
        while at < text.len() {
            let block = first_block(&text[at..], at == 0);
            found.push((block.kind, &text[at..at + block.len]));
            at += block.len;
        }
        found
    }

    #[test]
    fn header_tunes_and_free_text() {
        let text =
            "%abc-2.1\nM:4/4\n\nX:1\nT:a\nK:C\nCDEF|\n \n\nHello: all\nX to y\n\nX:2\nK:G\nG|";
        let found = kinds(text);
        assert_eq!(found.concat_text(), text);
        let just: Vec<_> = found.iter().map(|f| f.0).collect();
        use BlockKind::*;
        assert_eq!(just, [FileHeader, Tune, FreeText, Tune]);
    }

    trait ConcatText {
        fn concat_text(&self) -> String;
    }
    impl ConcatText for Vec<(BlockKind, &str)> {
        fn concat_text(&self) -> String {
            self.iter().map(|(_, text)| *text).collect()
        }
    }

    #[test]
    fn comments_end_a_line_and_escaped_signs_do_not() {
        assert_eq!(before_comment(r"T:50\% slow % a word"), r"T:50\% slow ");
        assert_eq!(before_comment("%%text"), "");
    }

    #[test]
    fn comment_lines_part_nothing() {
        assert_eq!(kinds("X:1\nK:C\nCD|\n  % a word\nEF|\n").len(), 1);
    }

    #[test]
    fn a_missing_blank_line_before_a_tune() {
        assert_eq!(kinds("X:1\nK:C\nCD|\nX:2\nK:G\nG|\n").len(), 2);
    }

    #[test]
    fn text_blocks_hold_blank_lines() {
        assert_eq!(kinds("X:1\nK:C\n%%begintext\nabc\n\ndef\n%%endtext\nCD|\n").len(), 1);
    }

    #[test]
    fn carriage_returns_end_lines() {
        assert_eq!(kinds("X:1\rK:C\rCD|\r\rX:2\r\nK:C\r\nC|\r\n\r\nwords").len(), 3);
    }
}
