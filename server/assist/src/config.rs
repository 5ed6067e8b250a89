//! The one resolver of settings, for the editor and the command line: `recte.toml`, its parts for single
//! paths, then the editor's own settings. It reads text and values, never a file.

use globset::{Glob, GlobSet, GlobSetBuilder};
use recte_review::{Config, RULES};
use recte_theory::instruments::{Roster, Row};
use serde_json::{Map, Value};
use std::fmt;

mod lines;
mod schema;

pub use schema::schema;

/// The key under which a file sets values for single paths.
const OVERRIDES: &str = "overrides";
/// The key under which a user's own instruments stand.
const INSTRUMENTS: &str = "instrument";

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// Nobody set it.
    Default,
    /// The configuration file of this name.
    File(String),
    /// A part of that file that holds for paths like these.
    Paths(String, String),
    /// The editor.
    Editor,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Source::Default => f.write_str("default"),
            Source::File(name) => f.write_str(name),
            Source::Paths(name, paths) => write!(f, "{name}, paths {paths}"),
            Source::Editor => f.write_str("editor"),
        }
    }
}

/// Something to say about a setting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// The line, from 1, where the settings are text.
    pub line: Option<usize>,
    /// One sentence.
    pub message: String,
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "line {line}: {}", self.message),
            None => f.write_str(&self.message),
        }
    }
}

/// Settings that have been looked through: every key is known and every value fits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Values(Map<String, Value>);

/// A configuration file.
#[derive(Clone, Debug)]
pub struct ConfigFile {
    name: String,
    values: Values,
    paths: Vec<(GlobSet, String, Values)>,
    /// What to tell, though it stops nobody: rules and instruments that there are not.
    pub warnings: Vec<Remark>,
}

/// What holds, and where each key comes from.
#[derive(Clone, Debug, Default)]
pub struct Resolved {
    /// The settings.
    pub config: Config,
    /// Key, value and source, by key.
    pub origins: Vec<(String, Value, Option<Source>)>,
}

impl ConfigFile {
    /// Reads the text of a configuration file; `name` is what to call it.
    ///
    /// # Errors
    /// The text is not TOML, a key is not known, or a value does not fit: all of them are named.
    pub fn parse(name: &str, text: &str) -> Result<ConfigFile, Vec<Remark>> {
        let mut values: Map<String, Value> = toml::from_str(text).map_err(|error| {
            let line = error.span().map(|span| lines::line_at(text, span.start));
            vec![Remark { line, message: format!("this is not TOML: {}.", error.message()) }]
        })?;
        let lines = lines::Lines::of(text);
        let mut remarks = Remarks { at: &|path| lines.line(path), ..Remarks::default() };
        let mut paths = Vec::new();
        let overrides = values.remove(OVERRIDES);
        let values = look_through(values, &[], &mut remarks);
        if let Some(overrides) = overrides {
            read_paths(overrides, &mut remarks, &mut paths);
        }
        if remarks.errors.is_empty() {
            let warnings = remarks.warnings;
            Ok(ConfigFile { name: name.to_owned(), values, paths, warnings })
        } else {
            Err(remarks.errors)
        }
    }
}

impl Values {
    /// An editor's settings, or its section `recte`. What does not fit is left out, and said.
    pub fn of_editor(settings: &Value) -> (Values, Vec<Remark>) {
        let settings = match settings.get("recte") {
            Some(section @ Value::Object(_)) => section,
            _ => settings,
        };
        let Value::Object(map) = settings else { return Default::default() };
        let map = map.iter().filter(|(_, value)| !value.is_null());
        let map = map.map(|(key, value)| (key.clone(), value.clone())).collect();
        let mut remarks = Remarks::default();
        let values = look_through(map, &[], &mut remarks);
        remarks.errors.extend(remarks.warnings);
        (values, remarks.errors)
    }
}

/// What holds for a file: its path is given from the folder of the configuration file, with `/`.
pub fn resolve(file: Option<&ConfigFile>, path: &str, editor: Option<&Values>) -> Resolved {
    let mut layers: Vec<(Source, &Values)> = Vec::new();
    if let Some(file) = file {
        layers.push((Source::File(file.name.clone()), &file.values));
        for (globs, shown, values) in &file.paths {
            if globs.is_match(path) {
                layers.push((Source::Paths(file.name.clone(), shown.clone()), values));
            }
        }
    }
    layers.extend(editor.map(|values| (Source::Editor, values)));
    let mut merged = Map::new();
    let mut sources: Vec<(String, Source)> = Vec::new();
    for (source, values) in layers {
        merge(&mut merged, &values.0, "", &mut |key| {
            sources.retain(|(known, _)| known != key);
            sources.push((key.to_owned(), source.clone()));
        });
    }
    let rows = merged.remove(INSTRUMENTS).unwrap_or_default();
    let rows: Vec<Row> = serde_json::from_value(rows).unwrap_or_default();
    // Each value was tried by itself, so together they fit; of instruments, what does not is left out.
    let mut config: Config = serde_json::from_value(Value::Object(merged)).unwrap_or_default();
    config.roster = Roster::standard().with(&rows).0;
    let mut origins = Vec::new();
    list("", &serde_json::to_value(&config).unwrap_or_default(), &mut |key, value| {
        let source = sources.iter().find(|(known, _)| known == key).map(|(_, source)| source);
        origins.push((key.to_owned(), value.clone(), source.cloned()));
    });
    Resolved { config, origins }
}

fn merge(
    into: &mut Map<String, Value>,
    from: &Map<String, Value>,
    at: &str,
    set: &mut dyn FnMut(&str),
) {
    for (key, value) in from {
        let path = format!("{at}{key}");
        match (into.get_mut(key), value) {
            (Some(Value::Object(into)), Value::Object(from)) => {
                merge(into, from, &format!("{path}."), set);
            }
            // Instruments are added to those there are; a row with the id of one before changes that.
            (Some(Value::Array(into)), Value::Array(from)) if path == INSTRUMENTS => {
                into.extend(from.iter().cloned());
                set(&path);
            }
            (_, Value::Object(from)) => {
                let mut inner = Map::new();
                merge(&mut inner, from, &format!("{path}."), set);
                into.insert(key.clone(), Value::Object(inner));
            }
            _ => {
                into.insert(key.clone(), value.clone());
                set(&path);
            }
        }
    }
}

/// Every value that is not a table, with its key.
fn list(key: &str, value: &Value, say: &mut dyn FnMut(&str, &Value)) {
    match value {
        Value::Object(map) => {
            for (name, value) in map {
                let key = if key.is_empty() { name.clone() } else { format!("{key}.{name}") };
                list(&key, value, say);
            }
        }
        _ => say(key, value),
    }
}

struct Remarks<'a> {
    errors: Vec<Remark>,
    warnings: Vec<Remark>,
    at: &'a dyn Fn(&[&str]) -> Option<usize>,
    /// The instruments known so far.
    roster: Roster,
}

impl Default for Remarks<'_> {
    fn default() -> Self {
        let (errors, warnings) = (Vec::new(), Vec::new());
        Remarks { errors, warnings, at: &|_| None, roster: Roster::default() }
    }
}

impl Remarks<'_> {
    fn error(&mut self, path: &[&str], message: String) {
        self.errors.push(Remark { line: (self.at)(path), message });
    }

    fn warning(&mut self, path: &[&str], message: String) {
        self.warnings.push(Remark { line: (self.at)(path), message });
    }
}

fn read_paths(
    overrides: Value,
    remarks: &mut Remarks<'_>,
    found: &mut Vec<(GlobSet, String, Values)>,
) {
    let Value::Array(entries) = overrides else {
        let message = "overrides are written [[overrides]], each with its paths.".to_owned();
        return remarks.error(&[OVERRIDES], message);
    };
    let roster = remarks.roster.clone();
    for (index, entry) in entries.into_iter().enumerate() {
        remarks.roster = roster.clone();
        let index = index.to_string();
        let at = [OVERRIDES, &index];
        let Value::Object(mut entry) = entry else { continue };
        let paths = match entry.remove("paths") {
            Some(Value::Array(paths)) => paths,
            Some(path @ Value::String(_)) => vec![path],
            _ => Vec::new(),
        };
        let paths: Vec<&str> = paths.iter().filter_map(Value::as_str).collect();
        if paths.is_empty() {
            let message = "an override needs paths, as in paths = [\"school/**\"].".to_owned();
            remarks.error(&at, message);
        }
        let globs = globs(&paths).map_err(|message| remarks.error(&at, message));
        let values = look_through(entry, &at, remarks);
        if let Ok(globs) = globs {
            found.push((globs, paths.join(", "), values));
        }
    }
}

fn globs(paths: &[&str]) -> Result<GlobSet, String> {
    let mut set = GlobSetBuilder::new();
    for path in paths {
        let glob = Glob::new(path);
        set.add(
            glob.map_err(|error| format!("“{path}” is not a path pattern: {}.", error.kind()))?,
        );
    }
    set.build().map_err(|error| error.to_string())
}

/// Tries every value by itself, and leaves out what does not fit.
fn look_through(map: Map<String, Value>, at: &[&str], remarks: &mut Remarks<'_>) -> Values {
    let mut kept = Map::new();
    for (key, value) in map {
        let path = [at, &[&key]].concat();
        match value {
            value if key == INSTRUMENTS => {
                let rows = rows(value, &path, remarks);
                kept.insert(INSTRUMENTS.to_owned(), Value::Array(rows));
            }
            Value::Object(inner) => {
                let mut table = Map::new();
                // An empty table still has to be a table that there is.
                if inner.is_empty() && !fits(&[&key], Value::Object(Map::new()), &path, remarks) {
                    continue;
                }
                for (name, value) in inner {
                    let path = [&path[..], &[&name]].concat();
                    if fits(&[&key, &name], value.clone(), &path, remarks) {
                        warn_of_unknown(&key, &name, &path, remarks);
                        table.insert(name, value);
                    }
                }
                kept.insert(key, Value::Object(table));
            }
            value => {
                if fits(&[&key], value.clone(), &path, remarks) {
                    kept.insert(key, value);
                }
            }
        }
    }
    Values(kept)
}

/// A user's own instruments, those that fit.
fn rows(value: Value, path: &[&str], remarks: &mut Remarks<'_>) -> Vec<Value> {
    let mut kept = Vec::new();
    let entries = match value {
        Value::Array(entries) => entries,
        _ => vec![Value::Null],
    };
    for (index, entry) in entries.into_iter().enumerate() {
        let Value::Object(row) = entry else {
            let message = "instruments are written [[instrument]], each with its id.".to_owned();
            remarks.error(path, message);
            continue;
        };
        let row: Row = row.into_iter().filter(|(_, value)| !value.is_null()).collect();
        let (roster, faults) = remarks.roster.with(std::slice::from_ref(&row));
        let index = index.to_string();
        for (_, fault) in &faults {
            let inner: Vec<&str> = fault.path.iter().map(String::as_str).collect();
            let path = [path, &[&index], &inner].concat();
            let name = row.get("id").and_then(Value::as_str).unwrap_or("without an id");
            remarks.error(&path, format!("instrument {name}: {}", fault.message));
        }
        if faults.is_empty() {
            remarks.roster = roster;
            kept.push(Value::Object(row));
        }
    }
    kept
}

fn fits(keys: &[&str], value: Value, path: &[&str], remarks: &mut Remarks<'_>) -> bool {
    let whole = keys
        .iter()
        .rev()
        .fold(value, |value, key| Value::Object(Map::from_iter([((*key).to_owned(), value)])));
    match serde_json::from_value::<Config>(whole) {
        Ok(_) => true,
        Err(error) => {
            let (path, message) = said(keys, path, &error.to_string());
            remarks.error(path, message);
            false
        }
    }
}

/// What the deserializer minds, in words for people. It quotes what it met and what it knows in backticks.
fn said<'p>(keys: &[&str], path: &'p [&'p str], error: &str) -> (&'p [&'p str], String) {
    let mut quoted = error.split('`').skip(1).step_by(2);
    let met = quoted.next().unwrap_or_default();
    let known: Vec<&str> = quoted.collect();
    let near = nearest_of(met, known.iter().copied());
    let key = keys.join(".");
    let message = if error.starts_with("unknown field") {
        let depth =
            keys.iter().position(|key| *key == met).map_or(0, |place| keys.len() - 1 - place);
        let message = format!("there is no key “{met}”; the nearest is “{near}”.");
        return (&path[..path.len() - depth], message);
    } else if error.starts_with("unknown variant") {
        format!(
            "“{key}” cannot be “{met}”; it is one of {}, the nearest “{near}”.",
            known.join(", ")
        )
    } else {
        format!("the value of “{key}” does not fit: {error}.")
    };
    (path, message)
}

/// Names in the tables that are not names of ours.
fn warn_of_unknown(table: &str, name: &str, path: &[&str], remarks: &mut Remarks<'_>) {
    if table == "rules" && RULES.iter().all(|rule| rule.id != name) && name != "accept" {
        let near = nearest_of(name, RULES.iter().map(|rule| rule.id));
        remarks.warning(path, format!("there is no rule “{name}”; the nearest is “{near}”."));
    }
    if table == "levels" && remarks.roster.by_id(name).is_none() {
        let known = remarks.roster.instruments().iter().map(|instrument| &*instrument.id);
        let near = nearest_of(name, known).to_owned();
        remarks.warning(path, format!("there is no instrument “{name}”; the nearest is “{near}”."));
    }
}

fn nearest_of<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> &'n str {
    let likeness = |known: &str| strsim::jaro_winkler(known, name);
    known.max_by(|a, b| likeness(a).total_cmp(&likeness(b))).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use recte_review::RuleSetting;
    use recte_theory::instruments::Level;

    fn errors(text: &str) -> Vec<String> {
        let remarks = ConfigFile::parse("recte.toml", text).unwrap_err();
        remarks.iter().map(Remark::to_string).collect()
    }

    #[test]
    fn an_unknown_key_is_named_with_its_line_and_the_nearest() {
        assert_eq!(
            errors("level = \"school\"\nwrods = \"british\"\n"),
            ["line 2: there is no key “wrods”; the nearest is “words”."]
        );
        assert_eq!(
            errors("\n[rulse]\na = \"off\"\n"),
            ["line 2: there is no key “rulse”; the nearest is “rules”."]
        );
    }

    #[test]
    fn an_unknown_value_is_named_with_its_line_and_the_nearest() {
        assert_eq!(
            errors("[rules]\nunreadable = \"hnit\"\n"),
            ["line 2: “rules.unreadable” cannot be “hnit”; \
             it is one of off, hint, info, warning, error, the nearest “hint”."]
        );
        assert!(errors("level = 3\n")[0].starts_with("line 1: the value of “level” does not fit"));
        assert!(errors("level = \n")[0].starts_with("line 1: this is not TOML"));
    }

    #[test]
    fn an_unknown_rule_is_a_warning() {
        let file = ConfigFile::parse("recte.toml", "[rules]\nunreadible = \"off\"\n").unwrap();
        let said: Vec<String> = file.warnings.iter().map(Remark::to_string).collect();
        assert_eq!(said, ["line 2: there is no rule “unreadible”; the nearest is “unreadable”."]);
    }

    const FILE: &str = r#"
        level = "advanced"
        rules.unreadable = "hint"
        [[overrides]]
        paths = ["school/**"]
        level = "school"
        rules.unreadable = "off"
    "#;

    #[test]
    fn paths_and_the_editor_override() {
        let file = ConfigFile::parse("recte.toml", FILE).unwrap();
        let (editor, remarks) =
            Values::of_editor(&serde_json::json!({"recte": {"words": "british", "level": null}}));
        assert_eq!(remarks, []);
        let at = |path| resolve(Some(&file), path, Some(&editor)).config;
        assert_eq!(at("a.abc").level, Level::Advanced);
        assert_eq!(at("a.abc").rules["unreadable"], RuleSetting::Hint);
        assert_eq!(at("school/b/a.abc").level, Level::School);
        assert_eq!(at("school/b/a.abc").rules["unreadable"], RuleSetting::Off);
        assert_eq!(at("a.abc").words, recte_review::words::Words::British);
    }

    #[test]
    fn each_key_says_where_it_comes_from() {
        let file = ConfigFile::parse("recte.toml", FILE).unwrap();
        let resolved = resolve(Some(&file), "school/a.abc", None);
        let source = |key: &str| {
            let found = resolved.origins.iter().find(|(known, ..)| known == key);
            found.and_then(|(.., source)| source.as_ref()).map(Source::to_string)
        };
        assert_eq!(source("level").as_deref(), Some("recte.toml, paths school/**"));
        assert_eq!(source("words"), None);
    }

    const WHISTLE: &str = r#"
        levels.keyless-flute = "school"
        [[instrument]]
        id = "keyless-flute"
        family = "woodwind"
        names = ["Keyless flute"]
        range_professional = { written_min = "D4", written_max = "B5" }
        [[overrides]]
        paths = ["school/**"]
        [[overrides.instrument]]
        id = "keyless-flute"
        range_professional = { written_max = "D5" }
    "#;

    #[test]
    fn instruments_of_ones_own() {
        let file = ConfigFile::parse("recte.toml", WHISTLE).unwrap();
        assert_eq!(file.warnings, []);
        let editor =
            serde_json::json!({"instrument": [{"id": "flute", "names": ["Fife"], "name": null}]});
        let (editor, remarks) = Values::of_editor(&editor);
        assert_eq!(remarks, []);
        let top = |path| {
            let roster = resolve(Some(&file), path, Some(&editor)).config.roster;
            assert_eq!(roster.find("Fife").all()[0].id, "flute");
            let own = roster.find("Keyless flute").all()[0].range(Level::School).unwrap();
            own.written_max.to_string()
        };
        assert_eq!(top("a.abc"), "B5");
        assert_eq!(top("school/a.abc"), "D5");
        assert_eq!(resolve(None, "", None).config.roster, Roster::default());
    }

    #[test]
    fn an_instrument_that_does_not_fit_is_told_with_its_line() {
        let text =
            "[[instrument]]\nid = \"flute\"\nrange_school = { written_min = \"H4\" }\nnmes = []\n";
        assert_eq!(
            errors(text),
            [
                "line 4: instrument flute: there is no key “nmes”; the nearest is “names”.",
                "line 3: instrument flute: “H4” is no pitch; write it like C4, F#3 or Bb5."
            ]
        );
        assert_eq!(
            errors("[instrument]\nid = \"flute\"\n"),
            ["line 1: instruments are written [[instrument]], each with its id."]
        );
        let (_, remarks) = Values::of_editor(&serde_json::json!({"instrument": [{"id": "kazoo"}]}));
        assert_eq!(remarks.len(), 1);
    }

    #[test]
    fn what_does_not_fit_in_the_editor_is_left_out_and_said() {
        let settings = serde_json::json!({"words": "british", "level": "amateur", "colour": 1});
        let (editor, remarks) = Values::of_editor(&settings);
        assert_eq!(remarks.len(), 2);
        assert_eq!(
            resolve(None, "", Some(&editor)).config.words,
            recte_review::words::Words::British
        );
    }
}
