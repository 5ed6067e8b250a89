//! Bytes → text and back (abc standard v2.1, 2.1 and 8.2): UTF-8, UTF-16 with its mark, and the Latin-1 of old files.

use encoding_rs::{Encoding as Table, UTF_16BE, UTF_16LE, WINDOWS_1252};

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
    /// Latin-1 (as its superset Windows-1252): what files hold that are not UTF-8.
    Latin1,
}

impl Encoding {
    /// Decodes a file. Never fails: bytes that are not UTF-8 are read as Latin-1, where every byte is a character.
    pub fn decode(bytes: Vec<u8>) -> (String, Encoding) {
        if let Some((table, _)) = Table::for_bom(&bytes)
            && let Some(encoding) = [(UTF_16LE, Encoding::Utf16Le), (UTF_16BE, Encoding::Utf16Be)]
                .into_iter()
                .find_map(|(known, encoding)| (known == table).then_some(encoding))
        {
            return (table.decode(&bytes).0.into_owned(), encoding);
        }
        match String::from_utf8(bytes) {
            Ok(text) => (text, Encoding::Utf8),
            Err(error) => {
                let text = WINDOWS_1252.decode_without_bom_handling(error.as_bytes()).0;
                (text.into_owned(), Encoding::Latin1)
            }
        }
    }

    /// Encodes a text the same way again; `None` if a character has no place in that encoding.
    pub fn encode(self, text: &str) -> Option<Vec<u8>> {
        let utf16 = |order: fn(u16) -> [u8; 2]| {
            std::iter::once(0xFEFF).chain(text.encode_utf16()).flat_map(order).collect()
        };
        match self {
            Encoding::Utf8 => Some(text.as_bytes().to_vec()),
            Encoding::Utf16Le => Some(utf16(u16::to_le_bytes)),
            Encoding::Utf16Be => Some(utf16(u16::to_be_bytes)),
            Encoding::Latin1 => {
                let (bytes, _, unmappable) = WINDOWS_1252.encode(text);
                (!unmappable).then(|| bytes.into_owned())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn round_trip(bytes: &[u8], encoding: Encoding, text: &str) {
        assert_eq!(Encoding::decode(bytes.to_vec()), (text.to_owned(), encoding));
        assert_eq!(encoding.encode(text).as_deref(), Some(bytes));
    }

    #[test]
    fn every_encoding_comes_back() {
        round_trip("T:Élan".as_bytes(), Encoding::Utf8, "T:Élan");
        round_trip(b"T:\xC9lan", Encoding::Latin1, "T:Élan");
        round_trip(b"\xFF\xFEA\0b\0", Encoding::Utf16Le, "Ab");
        round_trip(b"\xFE\xFF\0A\0b", Encoding::Utf16Be, "Ab");
    }

    #[test]
    fn every_single_byte_comes_back() {
        let bytes: Vec<u8> = (0..=255).collect();
        let (text, encoding) = Encoding::decode(bytes.clone());
        assert_eq!(encoding.encode(&text), Some(bytes));
    }
}
