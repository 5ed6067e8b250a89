//! Bytes ↔ lines and columns. Lines end at LF, CR LF or CR; what lies outside is drawn to the nearest place.

use ropey::{Rope, RopeSlice};
use std::ops::Range;

/// What a column counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Columns {
    /// Bytes.
    Utf8,
    /// UTF-16 units.
    #[default]
    Utf16,
    /// Characters.
    Utf32,
}

/// A line and a column, both from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Place {
    pub(crate) line: usize,
    pub(crate) column: usize,
}

/// The place of a byte.
pub(crate) fn place_of(rope: &Rope, byte: usize, columns: Columns) -> Place {
    let char = rope.byte_to_char(byte.min(rope.len_bytes()));
    let line = rope.char_to_line(char);
    let start = rope.line_to_char(line);
    let column = match columns {
        Columns::Utf8 => rope.char_to_byte(char) - rope.char_to_byte(start),
        Columns::Utf16 => rope.char_to_utf16_cu(char) - rope.char_to_utf16_cu(start),
        Columns::Utf32 => char - start,
    };
    Place { line, column }
}

/// The byte at a place. A column past the end of its line is the end of the line; one inside a character is its
/// beginning; a line past the last is the end of the text.
pub(crate) fn byte_of(rope: &Rope, place: Place, columns: Columns) -> usize {
    if place.line >= rope.len_lines() {
        return rope.len_bytes();
    }
    let start = rope.line_to_char(place.line);
    let end = line_end(rope, place.line);
    let char = match columns {
        Columns::Utf8 => {
            let byte = rope.char_to_byte(start).saturating_add(place.column);
            rope.byte_to_char(byte.min(rope.char_to_byte(end)))
        }
        Columns::Utf16 => {
            let unit = rope.char_to_utf16_cu(start).saturating_add(place.column);
            rope.utf16_cu_to_char(unit.min(rope.char_to_utf16_cu(end)))
        }
        Columns::Utf32 => start.saturating_add(place.column).min(end),
    };
    rope.char_to_byte(char)
}

/// The character after the last of a line, its end not counted.
fn line_end(rope: &Rope, line: usize) -> usize {
    let start = rope.line_to_char(line);
    let mut end = rope.line_to_char(line + 1);
    while end > start && matches!(rope.char(end - 1), '\n' | '\r') {
        end -= 1;
    }
    end
}

/// A line without its end.
pub(crate) fn line_text(rope: &Rope, line: usize) -> RopeSlice<'_> {
    if line >= rope.len_lines() {
        return rope.slice(..0);
    }
    rope.slice(rope.line_to_char(line)..line_end(rope, line))
}

/// The places a range begins and ends at.
pub(crate) fn places_of(rope: &Rope, range: &Range<usize>, columns: Columns) -> (Place, Place) {
    (place_of(rope, range.start, columns), place_of(rope, range.end.max(range.start), columns))
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Columns; 3] = [Columns::Utf8, Columns::Utf16, Columns::Utf32];

    #[test]
    fn every_character_comes_back_in_every_encoding() {
        let text = "a𝄞é\r\nb\rc\u{2028}d\n\n𝄞";
        let rope = Rope::from_str(text);
        for (byte, _) in text.char_indices().filter(|(_, c)| *c != '\n') {
            for columns in ALL {
                let place = place_of(&rope, byte, columns);
                assert_eq!(byte_of(&rope, place, columns), byte, "{place:?} {columns:?}");
            }
        }
        assert_eq!(rope.len_lines(), 5);
    }

    #[test]
    fn columns_count_what_they_say() {
        let rope = Rope::from_str("𝄞é|");
        let columns = |columns| place_of(&rope, 6, columns).column;
        assert_eq!(ALL.map(columns), [6, 3, 2]);
    }

    #[test]
    fn places_outside_are_drawn_in() {
        let rope = Rope::from_str("𝄞\r\nb");
        let byte = |line, column, columns| byte_of(&rope, Place { line, column }, columns);
        for columns in ALL {
            assert_eq!(byte(0, usize::MAX, columns), 4);
            assert_eq!(byte(9, 0, columns), 7);
        }
        assert_eq!(byte(0, 1, Columns::Utf16), 0);
        assert_eq!(byte(0, 2, Columns::Utf8), 0);
        assert_eq!(place_of(&rope, 99, Columns::Utf8), Place { line: 1, column: 1 });
    }
}
