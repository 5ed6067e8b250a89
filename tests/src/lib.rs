//! End to end tests: see `tests/tests`. Here is what they share: the built program, and a client of its server.

#![allow(clippy::unwrap_used, clippy::expect_used)] // a test that cannot go on should stop

pub mod client;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use tempfile::TempDir;

/// The root of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The program: the one that `RECTE` names, else built when first asked for, in the profile of the tests.
pub fn recte() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| {
        if let Some(named) = std::env::var_os("RECTE") {
            return named.into();
        }
        // …/target/PROFILE/deps/test
        let test = std::env::current_exe().expect("a test has a path");
        let profile = test.ancestors().nth(2).expect("tests are built two folders down");
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let mut build = Command::new(cargo);
        build.args(["build", "--quiet", "-p", "recte"]).current_dir(root());
        build.arg("--target-dir").arg(profile.parent().expect("a target folder"));
        if profile.ends_with("release") {
            build.arg("--release");
        }
        assert!(build.status().expect("cargo runs").success(), "the program cannot be built");
        profile.join(format!("recte{}", std::env::consts::EXE_SUFFIX))
    })
}

/// A folder of its own with these files in it.
pub fn folder(files: &[(&str, impl AsRef<[u8]>)]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    folder
}

/// What a run of the program left behind.
#[derive(Debug)]
pub struct Ran {
    /// The exit code; -1 if a signal ended it.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    /// The output as JSON.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error} in {self:?}"))
    }
}

/// Runs the program in a folder, with this on its standard input.
pub fn run_in(folder: &Path, args: &[&str], input: &[u8]) -> Ran {
    let mut child = Command::new(recte())
        .args(args)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut stdin = child.stdin.take().expect("it has an input");
    let input = input.to_vec();
    let writer = std::thread::spawn(move || {
        // A program that does not read is no mistake of the test.
        let _ = stdin.write_all(&input);
    });
    let output = child.wait_with_output().expect("it ends");
    writer.join().expect("the input is written");
    Ran {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).expect("its output is UTF-8"),
        err: String::from_utf8(output.stderr).expect("its complaints are UTF-8"),
    }
}

/// Runs the program with nothing on its standard input.
pub fn run(args: &[&str]) -> Ran {
    run_in(&root(), args, b"")
}

/// The scores under `tests/scores`, with their texts.
pub fn scores() -> Vec<(PathBuf, String)> {
    let folder = root().join("tests/scores");
    let files = std::fs::read_dir(&folder).expect("tests/scores is there");
    let mut paths: Vec<PathBuf> = files.map(|entry| entry.expect("an entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|ext| ext == "abc"));
    paths.sort();
    let read = |path: PathBuf| {
        let text = std::fs::read_to_string(&path).expect("a score is UTF-8");
        (path, text)
    };
    paths.into_iter().map(read).collect()
}
