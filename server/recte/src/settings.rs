//! Finds `recte.toml`, the nearest upwards from a file, and asks the one resolver what holds there.

use crate::files::complain;
use recte_assist::config::{ConfigFile, Remark, Resolved, Values, resolve};
use recte_review::Config;
use std::collections::HashMap;
use std::path::{Path, PathBuf, absolute};
use std::sync::{Arc, Mutex, PoisonError};

/// What a configuration file is called.
const NAME: &str = "recte.toml";

/// The configuration files seen so far.
#[derive(Default)]
pub(crate) struct Settings {
    /// The one that holds for every path, if the command line names one.
    fixed: Option<PathBuf>,
    read: Mutex<HashMap<PathBuf, Read>>,
}

type Read = Arc<Result<ConfigFile, Vec<String>>>;

impl Settings {
    /// With the file that the command line names, if it names one.
    pub(crate) fn new(fixed: Option<PathBuf>) -> Settings {
        Settings { fixed, read: Mutex::default() }
    }

    /// Forgets what was read, because files have changed.
    pub(crate) fn forget(&self) {
        self.read.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }

    /// What holds for a file, the editor's settings over all; or every mistake in the file that should say so.
    pub(crate) fn resolve(
        &self,
        path: &Path,
        editor: Option<&Values>,
    ) -> Result<Resolved, Vec<String>> {
        let path = absolute(path).unwrap_or_else(|_| path.to_path_buf());
        let Some(file) = self.fixed.clone().or_else(|| nearest(&path)) else {
            return Ok(resolve(None, "", editor));
        };
        let folder = absolute(&file).unwrap_or_else(|_| file.clone());
        let inside = path.strip_prefix(folder.parent().unwrap_or(&folder)).unwrap_or(&path);
        let inside: Vec<_> = inside.components().map(|c| c.as_os_str().to_string_lossy()).collect();
        match &*self.file(&file) {
            Ok(file) => Ok(resolve(Some(file), &inside.join("/"), editor)),
            Err(mistakes) => Err(mistakes.clone()),
        }
    }

    /// The same; mistakes are said on standard error and end the command.
    pub(crate) fn config(&self, path: &Path) -> Result<Arc<Config>, Vec<String>> {
        self.resolve(path, None).map(|resolved| Arc::new(resolved.config))
    }

    /// What the files read so far warn of.
    pub(crate) fn warn(&self) {
        let read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        for (path, file) in read.iter() {
            if let Ok(file) = &**file {
                file.warnings.iter().for_each(|remark| complain(&named(path, remark)));
            }
        }
    }

    fn file(&self, path: &Path) -> Read {
        let mut read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        read.entry(path.to_path_buf()).or_insert_with(|| Arc::new(parse(path))).clone()
    }
}

fn parse(path: &Path) -> Result<ConfigFile, Vec<String>> {
    let text = std::fs::read_to_string(path)
        .map_err(|error| vec![format!("{} cannot be read: {error}.", path.display())])?;
    let name = path.display().to_string();
    ConfigFile::parse(&name, &text)
        .map_err(|remarks| remarks.iter().map(|remark| named(path, remark)).collect())
}

fn named(path: &Path, remark: &Remark) -> String {
    format!("{}, {remark}", path.display())
}

fn nearest(path: &Path) -> Option<PathBuf> {
    path.ancestors().skip(1).map(|folder| folder.join(NAME)).find(|file| file.is_file())
}
