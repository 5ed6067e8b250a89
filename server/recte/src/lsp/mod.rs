//! The language server.

use std::process::ExitCode;

pub(crate) fn serve() -> ExitCode {
    ExitCode::from(2)
}
