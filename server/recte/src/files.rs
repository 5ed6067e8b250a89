//! Files in and out.

use crate::includes::bring;
use ignore::WalkBuilder;
use recte_notation::{BlockKind, Document};
use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// A score is text by hand: what is larger than this is something else.
const LARGEST: u64 = 256 * 1024 * 1024;

/// What the names of texts end in.
pub(crate) const TEXTS: &[&str] = &["abc"];
/// What the names of MusicXML scores end in.
pub(crate) const MUSICXML: &[&str] = &["musicxml", "mxl", "xml"];
/// What the names of all scores end in.
pub(crate) const SCORES: &[&str] = &["abc", "musicxml", "mxl", "xml"];

/// Where a score comes from.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Input {
    /// `-`.
    Standard,
    /// A file.
    File(PathBuf),
}

impl Input {
    /// What to call it.
    pub(crate) fn name(&self) -> String {
        match self {
            Input::Standard => "-".to_owned(),
            Input::File(path) => path.display().to_string(),
        }
    }

    /// The path that settings are looked up for.
    pub(crate) fn path(&self) -> &Path {
        match self {
            Input::Standard => Path::new("-"),
            Input::File(path) => path,
        }
    }

    /// Reads it. The error is a sentence that names it.
    pub(crate) fn read(&self) -> Result<Document, String> {
        let document = document(self.content()?);
        let mut document = document.map_err(|why| format!("{}: {why}", self.name()))?;
        bring(&mut document, Some(self.path()), false);
        if let Some(remark) = document.misdeclared() {
            complain(&format!("{}: {remark}", self.name()));
        }
        Ok(document)
    }

    /// Whether its name says that it is MusicXML.
    pub(crate) fn is_musicxml(&self) -> bool {
        match self {
            Input::Standard => false,
            Input::File(path) => has_ending(path, MUSICXML),
        }
    }

    /// Its bytes. The error is a sentence that names it.
    pub(crate) fn content(&self) -> Result<Vec<u8>, String> {
        self.bytes().map_err(|error| self.cannot(&error))
    }

    fn bytes(&self) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        match self {
            Input::Standard => io::stdin().lock().take(LARGEST + 1).read_to_end(&mut bytes)?,
            Input::File(path) => fs::File::open(path)?.take(LARGEST + 1).read_to_end(&mut bytes)?,
        };
        Ok(bytes)
    }

    fn cannot(&self, error: &io::Error) -> String {
        format!("{} cannot be read: {error}.", self.name())
    }
}

/// The document that bytes are, unless they are not text at all.
fn document(bytes: Vec<u8>) -> Result<Document, String> {
    if bytes.len() as u64 > LARGEST {
        return Err("this is too large for a score (more than 256 MiB).".to_owned());
    }
    let document = Document::from_bytes(bytes);
    let rope = document.rope();
    if let Some(place) = rope.chars().position(|c| c == '\0') {
        let line = rope.char_to_line(place) + 1;
        return Err(format!(
            "this is not a text file: line {line} holds a NUL byte. A score is saved as UTF-8."
        ));
    }
    Ok(document)
}

/// What to say of a text without music.
pub(crate) fn without_music(document: &Document) -> Option<&'static str> {
    if document.rope().chars().all(char::is_whitespace) {
        return Some("there is nothing in it.");
    }
    let tune = document.blocks().any(|(_, block)| block.kind == BlockKind::Tune);
    (!tune).then_some("there is no tune in it; a tune has a number (X:) and a key (K:).")
}

/// The scores that paths stand for, by name: files as they are, folders with every score in them whose name
/// has one of the endings, `-`.
///
/// The second list says which folders could not be read.
pub(crate) fn gather(paths: &[PathBuf], endings: &[&str]) -> (Vec<Input>, Vec<String>) {
    let mut inputs = BTreeSet::new();
    let mut unreadable = Vec::new();
    for path in paths {
        if path.as_os_str() == "-" {
            inputs.insert(Input::Standard);
        } else if path.is_dir() {
            walk(path, endings, &mut inputs, &mut unreadable);
        } else {
            inputs.insert(Input::File(path.clone()));
        }
    }
    (inputs.into_iter().collect(), unreadable)
}

fn walk(
    folder: &Path,
    endings: &[&str],
    inputs: &mut BTreeSet<Input>,
    unreadable: &mut Vec<String>,
) {
    let walk = WalkBuilder::new(folder).standard_filters(false).hidden(true).build();
    for entry in walk {
        match entry {
            Ok(entry) => {
                let path = entry.path();
                if has_ending(path, endings) && path.is_file() && !is_other_xml(path) {
                    inputs.insert(Input::File(path.to_path_buf()));
                }
            }
            Err(error) => unreadable.push(format!("{error}.")),
        }
    }
}

fn has_ending(path: &Path, endings: &[&str]) -> bool {
    path.extension().is_some_and(|own| endings.iter().any(|end| own.eq_ignore_ascii_case(end)))
}

/// Whether an `.xml` in a folder is something else than a score, as most are.
fn is_other_xml(path: &Path) -> bool {
    if !has_ending(path, &["xml"]) {
        return false;
    }
    let mut head = Vec::new();
    let read = fs::File::open(path).and_then(|file| file.take(4096).read_to_end(&mut head));
    // Two-byte encodings have a zero beside each of these letters.
    head.retain(|byte| *byte != 0);
    let text = String::from_utf8_lossy(&head);
    read.is_ok() && !text.contains("<score-partwise") && !text.contains("<score-timewise")
}

/// Puts a text in place of a file, all at once or not at all; encoding and permissions stay.
pub(crate) fn replace(path: &Path, document: &Document, text: &str) -> Result<(), String> {
    let bytes = encoded(document, text).map_err(|why| left(path, &why))?;
    // Through a link to the file itself.
    let target = fs::canonicalize(path).map_err(|error| left(path, &error))?;
    let present = fs::read(&target).map_err(|error| left(path, &error))?;
    if encoded(document, &document.rope().to_string()).ok() != Some(present) {
        return Err(left(path, &"some of its bytes would not come back as they are"));
    }
    let permissions = fs::metadata(&target).map(|file| file.permissions());
    let written = permissions.and_then(|kept| at_once(&target, &bytes, Some(kept)));
    written.map_err(|error| left(path, &error))
}

/// A text in the encoding of a document. The error says what has no place in it.
pub(crate) fn encoded(document: &Document, text: &str) -> Result<Vec<u8>, String> {
    let encoding = document.encoding();
    let refused = |c| format!("“{c}” has no place in its charset, {}", encoding.name());
    encoding.encode(text).map_err(refused)
}

/// Writes a new file, all at once or not at all. One that is there already is left alone, unless it holds just this.
pub(crate) fn create_new(path: &Path, bytes: &[u8]) -> Result<(), String> {
    match fs::read(path) {
        Ok(known) if known == bytes => Ok(()),
        Ok(_) => Err(left(
            path,
            &"there is a file of this name already; choose another folder, or move it",
        )),
        Err(_) => {
            let folder = path.parent().map_or(Ok(()), fs::create_dir_all);
            folder.map_err(|error| format!("{} cannot be written: {error}.", path.display()))?;
            create(path, bytes)
        }
    }
}

/// Writes a file of our own making, all at once or not at all.
pub(crate) fn create(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let permissions = fs::metadata(path).ok().map(|file| file.permissions());
    at_once(path, bytes, permissions)
        .map_err(|error| format!("{} cannot be written: {error}.", path.display()))
}

fn left(path: &Path, why: &dyn std::fmt::Display) -> String {
    format!("{} was left as it is: {why}.", path.display())
}

fn at_once(path: &Path, bytes: &[u8], permissions: Option<fs::Permissions>) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut file = new_file().tempfile_in(folder.unwrap_or(Path::new(".")))?;
    file.write_all(bytes)?;
    if let Some(permissions) = permissions {
        file.as_file().set_permissions(permissions)?;
    }
    file.as_file().sync_all()?;
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}

/// A new file is readable as any other that the user makes.
#[cfg(unix)]
fn new_file() -> tempfile::Builder<'static, 'static> {
    use std::os::unix::fs::PermissionsExt;
    let mut builder = tempfile::Builder::new();
    builder.permissions(fs::Permissions::from_mode(0o666));
    builder
}

#[cfg(not(unix))]
fn new_file() -> tempfile::Builder<'static, 'static> {
    tempfile::Builder::new()
}

/// Writes to standard output. A reader that has gone away is no mistake.
pub(crate) fn print(output: &[u8]) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match out.write_all(output).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        result => result,
    }
}

/// Says something on standard error.
pub(crate) fn complain(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(bytes: &[u8], text: &str) -> String {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.abc");
        fs::write(&path, bytes).unwrap();
        let document = Input::File(path.clone()).read().unwrap();
        let why = replace(&path, &document, text).unwrap_err();
        assert_eq!(fs::read(&path).unwrap(), bytes);
        why.replace(&path.display().to_string(), "a.abc")
    }

    #[test]
    fn a_file_that_cannot_take_a_sign_is_left() {
        assert_eq!(
            refusal(b"I:abc-charset iso-8859-2\n\nX:1\nK:C\n", "X:1\nT:\u{266d}\nK:C\n"),
            "a.abc was left as it is: “♭” has no place in its charset, iso-8859-2."
        );
    }

    #[test]
    fn bytes_that_would_not_come_back_are_left() {
        // Half a character outside the basic plane.
        assert_eq!(
            refusal(b"\xFF\xFEX\0:\x001\0\x00\xD8", "X:1\n"),
            "a.abc was left as it is: some of its bytes would not come back as they are."
        );
    }
}
