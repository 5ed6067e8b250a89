//! What the README shows is what the program prints. `RECTE_REWRITE=1` writes it anew instead.

#![allow(clippy::unwrap_used, clippy::expect_used)]
use recte_tests::{root, run_in};

const MARK: &str = "<!-- output of: ";

/// The README with each block under a mark replaced by what the program prints.
fn renewed(readme: &str) -> (String, usize) {
    let mut text = String::new();
    let mut shown = 0;
    let mut lines = readme.lines();
    while let Some(line) = lines.next() {
        text.push_str(line);
        text.push('\n');
        let Some(command) = line.strip_prefix(MARK).and_then(|rest| rest.strip_suffix(" -->"))
        else {
            continue;
        };
        let fence = lines.next().expect("a block follows the mark");
        let args: Vec<&str> = command.split(' ').collect();
        let output = run_in(&root(), &args, b"").out;
        text.push_str(&format!("{fence}\n{}\n```\n", output.trim_end()));
        lines.by_ref().find(|line| *line == "```").expect("the block ends");
        shown += 1;
    }
    (text, shown)
}

#[test]
fn the_readme_shows_what_the_program_prints() {
    let path = root().join("README.md");
    let readme = std::fs::read_to_string(&path).expect("a README");
    let (text, shown) = renewed(&readme);
    if std::env::var_os("RECTE_REWRITE").is_some() {
        std::fs::write(&path, text).expect("the README can be written");
        return;
    }
    assert_eq!(shown, 12);
    assert_eq!(readme, text, "run RECTE_REWRITE=1 cargo test -p recte-tests --test readme");
}
