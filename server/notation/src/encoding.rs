//! Bytes → text and back (abc standard v2.1, 2.1, 3.1.17 and 8.2).
//!
//! `I:abc-charset` at the head of a file names one of twelve sets: utf-8, us-ascii, iso-8859-1 to -10. Without it a
//! file is UTF-8, UTF-16 with its mark, or the Latin-1 of old files.

use crate::segment::line_at;
use encoding_rs::{
    Encoding as Table, ISO_8859_2, ISO_8859_3, ISO_8859_4, ISO_8859_5, ISO_8859_6, ISO_8859_7,
    ISO_8859_8, ISO_8859_10, UTF_16BE, UTF_16LE, WINDOWS_1252,
};

/// The head of a file is looked for a declaration no further than this.
const LONGEST_HEAD: usize = 1 << 16;

/// How a file's bytes stand for text, so that writing gives back what was read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, the default.
    #[default]
    Utf8,
    /// UTF-16 with a byte-order mark, little end first.
    Utf16Le,
    /// UTF-16 with a byte-order mark, big end first.
    Utf16Be,
    /// Latin-1 (as its superset Windows-1252): what files hold that are not UTF-8 and declare nothing.
    Latin1,
    /// us-ascii, as declared.
    Ascii,
    /// ISO 8859, parts 1 to 10, as declared.
    Iso8859(u8),
}

/// A file's text, how it was encoded, and the declared set if the bytes do not keep to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Decoded {
    pub(crate) text: String,
    pub(crate) encoding: Encoding,
    pub(crate) broken: Option<Encoding>,
}

impl Encoding {
    /// The set that `I:abc-charset` names, in any case (3.1.17).
    pub(crate) fn named(name: &str) -> Option<Encoding> {
        let name = name.to_ascii_lowercase();
        match name.as_str() {
            "utf-8" => Some(Encoding::Utf8),
            "us-ascii" => Some(Encoding::Ascii),
            _ => {
                let part = name.strip_prefix("iso-8859-")?;
                (1..=10).find(|number| number.to_string() == part).map(Encoding::Iso8859)
            }
        }
    }

    /// What to call it.
    pub fn name(self) -> String {
        match self {
            Encoding::Utf8 => "utf-8".to_owned(),
            Encoding::Utf16Le | Encoding::Utf16Be => "utf-16".to_owned(),
            Encoding::Latin1 => "Latin-1".to_owned(),
            Encoding::Ascii => "us-ascii".to_owned(),
            Encoding::Iso8859(part) => format!("iso-8859-{part}"),
        }
    }

    /// Decodes a file. Never fails: bytes that are neither what is declared nor UTF-8 are read as Latin-1, where
    /// every byte is a character.
    pub(crate) fn decode(bytes: Vec<u8>) -> Decoded {
        if let Some((table, _)) = Table::for_bom(&bytes)
            && let Some(encoding) = [(UTF_16LE, Encoding::Utf16Le), (UTF_16BE, Encoding::Utf16Be)]
                .into_iter()
                .find_map(|(known, encoding)| (known == table).then_some(encoding))
        {
            let text = table.decode(&bytes).0.into_owned();
            return Decoded { text, encoding, broken: None };
        }
        let declared = declared(&bytes);
        if let Some(encoding) = declared
            && let Some(text) = encoding.read_single_bytes(&bytes)
        {
            return Decoded { text, encoding, broken: None };
        }
        match String::from_utf8(bytes) {
            Ok(text) => {
                let broken = declared.filter(|declared| *declared != Encoding::Utf8);
                Decoded { text, encoding: Encoding::Utf8, broken }
            }
            Err(error) => {
                let text = Encoding::Latin1.read_single_bytes(error.as_bytes());
                let text = text.unwrap_or_default();
                Decoded { text, encoding: Encoding::Latin1, broken: declared }
            }
        }
    }

    /// Encodes a text the same way again.
    ///
    /// # Errors
    /// The first character that has no place in this encoding.
    pub fn encode(self, text: &str) -> Result<Vec<u8>, char> {
        let utf16 = |order: fn(u16) -> [u8; 2]| {
            std::iter::once(0xFEFF).chain(text.encode_utf16()).flat_map(order).collect()
        };
        match self {
            Encoding::Utf8 => Ok(text.as_bytes().to_vec()),
            Encoding::Utf16Le => Ok(utf16(u16::to_le_bytes)),
            Encoding::Utf16Be => Ok(utf16(u16::to_be_bytes)),
            Encoding::Latin1 | Encoding::Ascii | Encoding::Iso8859(_) => {
                let characters: Vec<_> =
                    (0..=255).map(|byte| (self.character(byte), byte)).collect();
                let byte = |c: char| {
                    let known = characters.iter().find(|(known, _)| *known == Some(c));
                    known.map(|(_, byte)| *byte).ok_or(c)
                };
                text.chars().map(byte).collect()
            }
        }
    }

    /// A text of one byte a character; `None` if a byte has no meaning, or this is no such encoding.
    fn read_single_bytes(self, bytes: &[u8]) -> Option<String> {
        let characters: Vec<_> = (0..=255).map(|byte| self.character(byte)).collect();
        bytes.iter().map(|byte| characters.get(usize::from(*byte)).copied().flatten()).collect()
    }

    /// The character a single byte stands for.
    fn character(self, byte: u8) -> Option<char> {
        let table = match self {
            Encoding::Utf8 | Encoding::Utf16Le | Encoding::Utf16Be => return None,
            Encoding::Ascii => return byte.is_ascii().then_some(char::from(byte)),
            // Bytes are code points (Unicode's mapping 8859-1.TXT).
            Encoding::Iso8859(1) => return Some(char::from(byte)),
            Encoding::Iso8859(9) => return Some(latin5(byte)),
            Encoding::Iso8859(2) => ISO_8859_2,
            Encoding::Iso8859(3) => ISO_8859_3,
            Encoding::Iso8859(4) => ISO_8859_4,
            Encoding::Iso8859(5) => ISO_8859_5,
            Encoding::Iso8859(6) => ISO_8859_6,
            Encoding::Iso8859(7) => ISO_8859_7,
            Encoding::Iso8859(8) => ISO_8859_8,
            Encoding::Iso8859(10) => ISO_8859_10,
            Encoding::Latin1 | Encoding::Iso8859(_) => WINDOWS_1252,
        };
        let bytes = [byte];
        let text = table.decode_without_bom_handling_and_without_replacement(&bytes)?;
        text.chars().next()
    }
}

/// ISO 8859-9: part 1 but for six letters of Turkish (Unicode's mapping 8859-9.TXT).
fn latin5(byte: u8) -> char {
    match byte {
        0xD0 => 'Ğ',
        0xDD => 'İ',
        0xDE => 'Ş',
        0xF0 => 'ğ',
        0xFD => 'ı',
        0xFE => 'ş',
        _ => char::from(byte),
    }
}

/// The set a file declares above its first tune and its first blank line.
fn declared(bytes: &[u8]) -> Option<Encoding> {
    let head = String::from_utf8_lossy(&bytes[..bytes.len().min(LONGEST_HEAD)]);
    let mut rest = head.trim_start_matches(['\u{FEFF}', ' ', '\t', '\n', '\r']);
    while !rest.is_empty() {
        let line = line_at(rest, 0);
        rest = &rest[line.len()..];
        if line.trim().is_empty() || line.starts_with("X:") {
            break;
        }
        let instruction = line.strip_prefix("I:").or(line.strip_prefix("%%")).unwrap_or_default();
        let mut words = instruction.split_whitespace();
        if words.next() == Some("abc-charset") {
            return words.next().and_then(Encoding::named);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn round_trip(bytes: &[u8], encoding: Encoding, text: &str) {
        let read = Encoding::decode(bytes.to_vec());
        assert_eq!(read, Decoded { text: text.to_owned(), encoding, broken: None });
        assert_eq!(encoding.encode(text).as_deref(), Ok(bytes));
    }

    #[test]
    fn every_encoding_comes_back() {
        round_trip("T:Élan".as_bytes(), Encoding::Utf8, "T:Élan");
        round_trip(b"T:\xC9lan", Encoding::Latin1, "T:Élan");
        round_trip(b"\xFF\xFEA\0b\0", Encoding::Utf16Le, "Ab");
        round_trip(b"\xFE\xFF\0A\0b", Encoding::Utf16Be, "Ab");
    }

    /// The letters each part of ISO 8859 was made for, by Unicode's mappings 8859-1.TXT to 8859-10.TXT.
    #[test]
    fn every_charset_of_the_standard() {
        for (part, bytes, letters) in [
            (1, b"\xC9\xDF\xFF", "Éßÿ"),
            (2, b"\xA3\xE8\xF5", "Łčő"),
            (3, b"\xA1\xF8\xFD", "Ħĝŭ"),
            (4, b"\xA2\xBF\xE0", "ĸŋā"),
            (5, b"\xB6\xDF\xF1", "Жпё"),
            (6, b"\xC7\xE4\xEA", "\u{627}\u{644}\u{64A}"),
            (7, b"\xA4\xD9\xF9", "€Ωω"),
            (8, b"\xE0\xF9\xFA", "אשת"),
            (9, b"\xD0\xDD\xFE", "Ğİş"),
            (10, b"\xBD\xE7\xFF", "―įĸ"),
        ] {
            let head = format!("%abc-2.1\nI:abc-charset iso-8859-{part}\n\nX:1\nT:");
            let file = [head.as_bytes(), bytes].concat();
            round_trip(&file, Encoding::Iso8859(part), &format!("{head}{letters}"));
        }
        round_trip(
            b"%%abc-charset US-ASCII\r\rX:1",
            Encoding::Ascii,
            "%%abc-charset US-ASCII\r\rX:1",
        );
        let utf8 = "I:abc-charset utf-8\nX:1\nT:Ž";
        round_trip(utf8.as_bytes(), Encoding::Utf8, utf8);
    }

    #[test]
    fn every_byte_with_a_meaning_comes_back() {
        let singles = (1..=10).map(Encoding::Iso8859).chain([Encoding::Latin1, Encoding::Ascii]);
        for encoding in singles {
            let known = (0..=255).filter(|byte| encoding.character(*byte).is_some());
            let bytes: Vec<u8> = known.collect();
            let text = encoding.read_single_bytes(&bytes).unwrap();
            assert_eq!(encoding.encode(&text), Ok(bytes), "{encoding:?}");
        }
        assert_eq!((0..=255).filter_map(|byte| Encoding::Latin1.character(byte)).count(), 256);
    }

    #[test]
    fn a_declaration_holds_at_the_head_of_the_file_alone() {
        for text in [
            "I:linebreak $\n\nI:abc-charset iso-8859-2\nX:1\nT:\u{A3}",
            "X:1\nI:abc-charset iso-8859-2\nT:\u{A3}",
            "I:abc-charset iso-8859-11\nX:1\nT:\u{A3}",
        ] {
            let bytes: Vec<u8> = text.chars().map(|c| c as u8).collect();
            round_trip(&bytes, Encoding::Latin1, text);
        }
    }

    #[test]
    fn a_declaration_the_bytes_do_not_keep_to() {
        for (charset, bytes, encoding, text) in [
            ("utf-8", &b"\xC9"[..], Encoding::Latin1, "É"),
            ("us-ascii", "É".as_bytes(), Encoding::Utf8, "É"),
            ("iso-8859-3", b"\xA5\xC9", Encoding::Latin1, "\u{A5}É"),
        ] {
            let head = format!("I:abc-charset {charset}\nT:");
            let read = Encoding::decode([head.as_bytes(), bytes].concat());
            let expected = Decoded {
                text: format!("{head}{text}"),
                encoding,
                broken: Encoding::named(charset),
            };
            assert_eq!(read, expected);
        }
    }

    #[test]
    fn a_character_without_a_place_is_named() {
        assert_eq!(Encoding::Latin1.encode("É ł"), Err('ł'));
        assert_eq!(Encoding::Iso8859(2).encode("ł É À"), Err('À'));
        assert_eq!(Encoding::Ascii.encode("é"), Err('é'));
    }
}
