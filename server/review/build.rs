//! Lists `src/rules/*.rs`: one module each, its leading `//!` block as the rule's documentation.
//!
//! Adding a rule touches its own file alone.

use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=src/rules");
    let manifest = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?);
    let mut files: Vec<PathBuf> = fs::read_dir(manifest.join("src/rules"))?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|ext| ext == "rs"))
        .collect();
    files.sort();
    let mut generated = String::new();
    let mut table = String::new();
    for file in &files {
        let module = file.file_stem().and_then(|stem| stem.to_str()).ok_or("odd file name")?;
        let id = module.replace('_', "-");
        writeln!(generated, "#[path = {:?}]\nmod {module};", file.display().to_string())?;
        writeln!(
            table,
            "    Rule {{ id: {id:?}, doc: {:?}, ..{module}::RULE }},",
            documentation(file)?
        )?;
    }
    write!(generated, "/// Every rule, by id.\npub static RULES: &[Rule] = &[\n{table}];\n")?;
    fs::write(Path::new(&env::var("OUT_DIR")?).join("rules.rs"), generated)?;
    Ok(())
}

fn documentation(file: &Path) -> Result<String, Box<dyn Error>> {
    let text = fs::read_to_string(file)?;
    let lines = text.lines().map_while(|line| line.strip_prefix("//!"));
    Ok(lines.map(|line| format!("{}\n", line.strip_prefix(' ').unwrap_or(line))).collect())
}
