//! Files that scores include (abc standard v2.1, 3.1.17), looked for in the score's folder and those in it, never
//! outside.

use recte_notation::{Document, Includes, include_name};
use std::collections::BTreeSet;
use std::fs;
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

/// A file of definitions is small; more than this in all is something else.
const LARGEST: usize = 1 << 20;
/// Files that include files go no deeper than this.
const DEEPEST: usize = 8;

/// Hands a document the files it includes: those it does not have yet, or all of them `anew`.
///
/// A score without a path of its own includes nothing.
pub(crate) fn bring(document: &mut Document, score: Option<&Path>, anew: bool) {
    let asked: BTreeSet<String> = document.asks_for().into_iter().map(str::to_owned).collect();
    if asked.is_empty() && document.includes().is_empty()
        || !anew && asked.iter().eq(document.includes().keys())
    {
        return;
    }
    let folder = score.and_then(Path::parent).and_then(|folder| {
        fs::canonicalize(if folder.as_os_str().is_empty() { Path::new(".") } else { folder }).ok()
    });
    let read = |name: String| {
        let folder = folder.clone();
        let text = folder.and_then(|folder| {
            let mut reading = Reading { root: &folder, open: Vec::new(), left: LARGEST };
            reading.text(&folder, &name)
        });
        (name, text)
    };
    let includes: Includes = asked.into_iter().map(read).collect();
    document.include(Arc::new(includes));
}

/// One file while it is read with all it includes.
struct Reading<'a> {
    root: &'a Path,
    open: Vec<PathBuf>,
    left: usize,
}

impl Reading<'_> {
    /// The text of a file with what it includes in its place; `None` if it is not there or not allowed.
    fn text(&mut self, folder: &Path, name: &str) -> Option<String> {
        let inside = |part| matches!(part, Component::Normal(_) | Component::CurDir);
        if self.open.len() >= DEEPEST || !Path::new(name).components().all(inside) {
            return None;
        }
        // A link may lead elsewhere.
        let path = fs::canonicalize(folder.join(name)).ok()?;
        if !path.starts_with(self.root) || !path.is_file() {
            return None;
        }
        if self.open.contains(&path) {
            // It is being read already, and includes itself.
            return Some(String::new());
        }
        let mut bytes = Vec::new();
        fs::File::open(&path).ok()?.take(self.left as u64 + 1).read_to_end(&mut bytes).ok()?;
        self.left = self.left.checked_sub(bytes.len())?;
        let typed = Document::from_bytes(bytes).rope().to_string();
        let folder = path.parent()?.to_path_buf();
        self.open.push(path);
        let mut text = String::with_capacity(typed.len());
        for line in typed.split_inclusive(['\n', '\r']) {
            match include_name(line).and_then(|name| self.text(&folder, name)) {
                Some(included) => {
                    text.push_str(&included);
                    text.push('\n');
                }
                None => text.push_str(line),
            }
        }
        self.open.pop();
        Some(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The text that `a.abh` stands for, among these files.
    fn read(files: &[(&str, &str)], name: &str) -> Option<String> {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        let mut document = Document::new(&format!("I:abc-include {name}\n\nX:1\nK:C\n"));
        bring(&mut document, Some(&folder.path().join("scores/x.abc")), false);
        document.includes().values().next().cloned().flatten()
    }

    #[test]
    fn files_beside_the_score_and_below() {
        let files = [
            ("scores/a.abh", "L:1/4\nI:abc-include parts/b.abh\nM:3/4\n"),
            ("scores/parts/b.abh", "%%abc-include c.abh\n"),
            ("scores/parts/c.abh", "U:T=!accent!"),
        ];
        assert_eq!(read(&files, "a.abh").unwrap(), "L:1/4\nU:T=!accent!\n\nM:3/4\n");
        assert_eq!(read(&files, "./parts/c.abh").unwrap(), "U:T=!accent!");
    }

    #[test]
    fn nothing_outside_and_nothing_that_is_not_there() {
        let files = [("scores/a.abh", "L:1/4\n"), ("b.abh", "L:1/2\n")];
        for name in ["../b.abh", "/etc/hostname", "parts/../a.abh", "c.abh", "."] {
            assert_eq!(read(&files, name), None, "{name}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_link_does_not_lead_outside() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("scores")).unwrap();
        fs::write(folder.path().join("b.abh"), "L:1/2\n").unwrap();
        let link = folder.path().join("scores/a.abh");
        std::os::unix::fs::symlink(folder.path().join("b.abh"), link).unwrap();
        let mut document = Document::new("I:abc-include a.abh\n");
        bring(&mut document, Some(&folder.path().join("scores/x.abc")), false);
        assert_eq!(document.includes()["a.abh"], None);
    }

    #[test]
    fn circles_and_depth_end() {
        let circle = [
            ("scores/a.abh", "L:1/4\nI:abc-include b.abh\n"),
            ("scores/b.abh", "I:abc-include a.abh\nM:3/4\n"),
        ];
        assert_eq!(
            read(&circle, "a.abh").unwrap().split_whitespace().collect::<Vec<_>>(),
            ["L:1/4", "M:3/4"]
        );
        let deep: Vec<(String, String)> = (0..20)
            .map(|n| (format!("scores/{n}.abh"), format!("N:{n}\nI:abc-include {}.abh\n", n + 1)))
            .collect();
        let deep: Vec<(&str, &str)> =
            deep.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let text = read(&deep, "0.abh").unwrap();
        assert!(text.contains("N:7\nI:abc-include 8.abh") && !text.contains("N:8"), "{text}");
        let wide = "I:abc-include b.abh\n".repeat(100);
        let many = format!("N:{}\n", "x".repeat(100_000));
        assert!(
            read(&[("scores/a.abh", &wide), ("scores/b.abh", &many)], "a.abh").unwrap().len()
                < 2 * LARGEST
        );
    }
}
