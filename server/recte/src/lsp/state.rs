//! What the server holds, and how findings reach the client.
//!
//! Documents change under a lock that nothing awaits; analyses run on snapshots, one at a time for a document.

use super::convert::Client as Abilities;
use crate::includes::bring;
use crate::settings::Settings;
use recte_assist::config::{Resolved, Values, resolve};
use recte_assist::{Host, Snapshot, check};
use serde_json::Value;
use std::collections::{HashMap, HashSet};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Duration;
use tokio::task::spawn_blocking;
use tokio::time::timeout;
use tower_lsp::Client;
use tower_lsp::lsp_types::{
    ConfigurationItem, DidChangeWatchedFilesRegistrationOptions, FileSystemWatcher, GlobPattern,
    MessageType, Registration, Url,
};

/// So long a client may take to answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// What the server holds.
pub(super) struct State {
    client: Client,
    abilities: OnceLock<Abilities>,
    host: Mutex<Host>,
    settings: Settings,
    editor: Mutex<Option<Values>>,
    /// Documents under analysis, and whether to begin again when it is done.
    running: Mutex<HashMap<Url, bool>>,
    /// What has been said of the settings.
    said: Mutex<HashSet<String>>,
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl State {
    pub(super) fn new(client: Client) -> State {
        State {
            client,
            abilities: OnceLock::new(),
            host: Mutex::default(),
            settings: Settings::default(),
            editor: Mutex::default(),
            running: Mutex::default(),
            said: Mutex::default(),
        }
    }

    pub(super) fn meet(&self, abilities: Abilities) {
        let _ = self.abilities.set(abilities);
    }

    pub(super) fn abilities(&self) -> Abilities {
        self.abilities.get().copied().unwrap_or_default()
    }

    pub(super) fn host(&self) -> MutexGuard<'_, Host> {
        lock(&self.host)
    }

    pub(super) fn snapshot(&self, uri: &Url) -> Option<Snapshot> {
        self.host().snapshot(uri.as_str())
    }

    /// Checks a document as it is now, and tells the client; returns at once.
    pub(super) fn analyse(self: &Arc<Self>, uri: Url) {
        match lock(&self.running).entry(uri.clone()) {
            std::collections::hash_map::Entry::Occupied(mut again) => {
                again.insert(true);
                return;
            }
            std::collections::hash_map::Entry::Vacant(place) => place.insert(false),
        };
        let state = self.clone();
        tokio::spawn(async move {
            loop {
                state.analyse_once(&uri).await;
                let mut running = lock(&state.running);
                match running.get_mut(&uri) {
                    Some(again) if *again => *again = false,
                    _ => {
                        running.remove(&uri);
                        return;
                    }
                }
            }
        });
    }

    async fn analyse_once(&self, uri: &Url) {
        let Some(snapshot) = self.snapshot(uri) else {
            return self.client.publish_diagnostics(uri.clone(), Vec::new(), None).await;
        };
        let version = snapshot.version;
        let (abilities, name) = (self.abilities(), uri.clone());
        let found = spawn_blocking(move || {
            let rope = snapshot.document.rope();
            let remarks = check(&snapshot);
            remarks.iter().map(|one| abilities.diagnostic(&name, rope, one)).collect()
        });
        let Ok(found) = found.await else { return };
        // A newer text has its own analysis.
        if self.host().version(uri.as_str()) == Some(version) {
            self.client.publish_diagnostics(uri.clone(), found, Some(version)).await;
        }
    }

    /// What holds for a document. Mistakes in a file are told, and its settings left aside.
    pub(super) fn resolved(self: &Arc<Self>, uri: &Url) -> Resolved {
        let editor = lock(&self.editor).clone();
        let Ok(path) = uri.to_file_path() else { return resolve(None, "", editor.as_ref()) };
        match self.settings.resolve(&path, editor.as_ref()) {
            Ok(resolved) => resolved,
            Err(mistakes) => {
                self.tell(mistakes);
                resolve(None, "", editor.as_ref())
            }
        }
    }

    /// Takes the editor's settings and checks every document anew.
    pub(super) fn take_editor(self: &Arc<Self>, settings: &Value) {
        let (values, remarks) = Values::of_editor(settings);
        *lock(&self.editor) = Some(values);
        lock(&self.said).clear();
        self.tell(remarks.iter().map(|remark| format!("Editor settings: {remark}")).collect());
        self.reconfigure();
    }

    /// Reads the configuration files again when next asked for.
    pub(super) fn forget_files(&self) {
        self.settings.forget();
        lock(&self.said).clear();
    }

    /// Gives every document the settings that hold for it now, and checks those again.
    pub(super) fn reconfigure(self: &Arc<Self>) {
        let names = self.host().names();
        for uri in names.iter().filter_map(|name| Url::parse(name).ok()) {
            let config = Arc::new(self.resolved(&uri).config);
            let path = uri.to_file_path().ok();
            let mut host = self.host();
            host.configure(uri.as_str(), config);
            host.around(uri.as_str(), |document| bring(document, path.as_deref(), true));
            drop(host);
            self.analyse(uri);
        }
        if self.abilities().refreshes {
            let client = self.client.clone();
            // One that does not listen is asked for hints when it next draws the text.
            tokio::spawn(async move { timeout(PATIENCE, client.inlay_hint_refresh()).await });
        }
    }

    /// Shows messages, each once; returns at once.
    fn tell(&self, messages: Vec<String>) {
        let mut said = lock(&self.said);
        for message in messages {
            if said.insert(message.clone()) {
                let client = self.client.clone();
                tokio::spawn(
                    async move { client.show_message(MessageType::WARNING, message).await },
                );
            }
        }
    }

    /// Asks the client for its settings; returns at once.
    pub(super) fn ask_settings(self: &Arc<Self>) {
        if !self.abilities().asks {
            return;
        }
        let state = self.clone();
        tokio::spawn(async move {
            let item = ConfigurationItem { scope_uri: None, section: Some("recte".to_owned()) };
            let answer = timeout(PATIENCE, state.client.configuration(vec![item])).await;
            if let Ok(Ok(answer)) = answer
                && let Some(settings @ Value::Object(_)) = answer.first()
            {
                state.take_editor(settings);
            }
        });
    }

    /// Asks the client to watch the files of settings and those that scores include; returns at once.
    pub(super) fn ask_to_watch(&self) {
        if !self.abilities().watches {
            return;
        }
        let client = self.client.clone();
        tokio::spawn(async move {
            let watchers = ["**/recte.toml", "**/*.abh"].map(|files| FileSystemWatcher {
                glob_pattern: GlobPattern::String(files.to_owned()),
                kind: None,
            });
            let options = DidChangeWatchedFilesRegistrationOptions { watchers: watchers.to_vec() };
            let registration = Registration {
                id: "recte.toml".to_owned(),
                method: "workspace/didChangeWatchedFiles".to_owned(),
                register_options: serde_json::to_value(options).ok(),
            };
            // A client that will not watch is no worse off than one that cannot.
            let _ = timeout(PATIENCE, client.register_capability(vec![registration])).await;
        });
    }
}
