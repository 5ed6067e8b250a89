//! The language server, on standard input and output.

mod actions;
mod convert;
mod harmony;
mod input;
mod outline;
mod server;
mod state;

use crate::files::complain;
use server::Backend;
use std::process::ExitCode;
use tower_lsp::{LspService, Server};

/// Serves until the client says `exit` or its end of the line closes.
pub(crate) fn serve() -> ExitCode {
    let runtime =
        tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
    let runtime = match runtime {
        Ok(runtime) => runtime,
        Err(error) => {
            complain(&format!("The server cannot start: {error}."));
            return ExitCode::from(2);
        }
    };
    let (input, ending) = input::watch();
    runtime.block_on(async {
        let (service, socket) = LspService::new(Backend::new);
        Server::new(input, tokio::io::stdout(), socket).serve(service).await;
    });
    // Not a return: that would wait for analyses that nobody listens to any more.
    std::process::exit(ending.code())
}
