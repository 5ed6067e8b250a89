//! From the bytes of a file to the text of a score: compressed or not, in whatever encoding.

use super::tree::{Next, Source};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use std::borrow::Cow;
use std::io::{Cursor, Read};
use zip::ZipArchive;

/// So much may come out of a compressed score: more than a long opera takes.
const LARGEST: u64 = 128 * 1024 * 1024;
const CONTAINER: &str = "META-INF/container.xml";

/// The text of the score in a file.
pub(super) fn text(bytes: &[u8]) -> Result<Cow<'_, str>, String> {
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return Ok(Cow::Owned(decode(&unpack(bytes)?)?.into_owned()));
    }
    if bytes.len() as u64 > LARGEST {
        return Err(too_large());
    }
    decode(bytes)
}

fn too_large() -> String {
    format!("the score takes more than {} MiB, more than any score needs", LARGEST >> 20)
}

/// The score in a compressed file: the one that the container names, else the first that looks like one.
fn unpack(bytes: &[u8]) -> Result<Vec<u8>, String> {
    let mut archive = ZipArchive::new(Cursor::new(bytes))
        .map_err(|_| "the compressed file is damaged or cut short".to_owned())?;
    let named = match entry(&mut archive, CONTAINER)? {
        Some(container) => root_file(&decode(&container)?)?,
        None => None,
    };
    let name = match named {
        Some(name) => name,
        None => {
            let score = |name: &String| {
                let ending = name.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
                !name.starts_with("META-INF/") && (ending == "xml" || ending == "musicxml")
            };
            let names = archive.file_names().filter_map(Result::ok).map(Cow::into_owned);
            let found = names.into_iter().find(score);
            found.ok_or("there is no score in this compressed file")?
        }
    };
    entry(&mut archive, &name)?
        .ok_or_else(|| format!("the container names the score “{name}”, which is not in it"))
}

fn entry(archive: &mut ZipArchive<Cursor<&[u8]>>, name: &str) -> Result<Option<Vec<u8>>, String> {
    let Some(index) = archive.index_for_name(name) else { return Ok(None) };
    let damaged = |_| format!("“{name}” in the compressed file is damaged");
    let file = archive.by_index(index).map_err(damaged)?;
    let mut content = Vec::new();
    // What the file says of its size may be false: what comes out is counted.
    file.take(LARGEST + 1).read_to_end(&mut content).map_err(|error| damaged(error.into()))?;
    if content.len() as u64 > LARGEST {
        return Err(too_large());
    }
    Ok(Some(content))
}

/// The first root file a container names.
fn root_file(container: &str) -> Result<Option<String>, String> {
    let mut source = Source::new(container);
    loop {
        match source.next()? {
            Next::Start(tag) if tag.name == "rootfile" => {
                let kind = tag.attribute("media-type").unwrap_or_default();
                if kind.is_empty() || kind.contains("musicxml") {
                    return Ok(tag.attribute("full-path").map(Cow::into_owned));
                }
            }
            Next::Done => return Ok(None),
            _ => {}
        }
    }
}

/// The text, by its byte-order mark, by how it begins, by what it says of itself.
fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, String> {
    let encoding = match bytes {
        [0xFE, 0xFF, ..] | [0, b'<', ..] => UTF_16BE,
        [0xFF, 0xFE, ..] | [b'<', 0, ..] => UTF_16LE,
        _ => declared(bytes).unwrap_or(UTF_8),
    };
    let (text, _, broken) = encoding.decode(bytes);
    if broken && encoding == UTF_8 && bytes.iter().take(512).any(|byte| *byte == 0) {
        return Err(not_a_score());
    }
    if broken {
        return Err(format!(
            "its text is not in the encoding it should be in ({})",
            encoding.name()
        ));
    }
    Ok(text)
}

pub(super) fn not_a_score() -> String {
    "this is not a MusicXML score; one begins with <score-partwise> or <score-timewise>".to_owned()
}

fn declared(bytes: &[u8]) -> Option<&'static Encoding> {
    let head = &bytes[..bytes.len().min(256)];
    let head =
        std::str::from_utf8(head.get(..head.iter().position(|byte| *byte == b'>')?)?).ok()?;
    let rest = head.split_once("encoding")?.1.trim_start().strip_prefix('=')?.trim_start();
    let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    let label = rest.get(1..)?.split(quote).next()?;
    let encoding = Encoding::for_label(label.as_bytes())?;
    // Bytes that read so far are in no two-byte encoding, whatever they say.
    (encoding != UTF_16LE && encoding != UTF_16BE).then_some(encoding)
}
