//! The program: language server and command line. The only crate that reads and writes files.

mod cli;
mod files;
mod includes;
mod lsp;
mod place;
mod render;
mod score;
mod settings;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run()
}
