//! A user's own rows: what they leave out is worked out, and what does not fit is said.

use super::roster::TEXT;
use super::{Instrument, Level, Range, Transposition};
use crate::pitch::Pitch;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// A row as a user gives it: the keys of the table, of which only `id` is needed where the table has that row.
pub type Row = Map<String, Value>;

/// A row as it stands in the table, with what a user's own rows say of it.
pub(super) fn whole(id: &str, own: &[Row]) -> Option<Row> {
    let mut all = own.iter().filter(|row| row.get("id").is_some_and(|own| own == id)).peekable();
    let known = TYPED.get(id).cloned();
    let mut whole = known.or_else(|| all.peek().map(|row| template(id, row)))?;
    all.for_each(|row| merge(&mut whole, row));
    Some(whole)
}

/// What does not fit in a row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RowFault {
    /// The keys that lead to the place, from the outside in; entries of lists by their number, from 0.
    pub path: Vec<String>,
    /// One sentence.
    pub message: String,
}

impl RowFault {
    fn new(path: &[&str], message: String) -> RowFault {
        RowFault { path: path.iter().map(|&key| key.to_owned()).collect(), message }
    }
}

const RANGES: [&str; 3] = ["range_professional", "range_advanced", "range_school"];
const ENDS: [(&str, &str); 2] = [("written_min", "sounding_min"), ("written_max", "sounding_max")];

/// The rows of the table as they are typed, by id.
static TYPED: LazyLock<BTreeMap<String, Row>> = LazyLock::new(|| {
    let table: Map<String, Value> = toml::from_str(TEXT).unwrap_or_default();
    let rows = table.get("instrument").and_then(Value::as_array).into_iter().flatten();
    let row = |row: &Value| Some((row.get("id")?.as_str()?.to_owned(), row.as_object()?.clone()));
    rows.filter_map(row).collect()
});

/// A JSON Schema for one row as a user may give it.
pub fn row_schema() -> Value {
    static SCHEMA: LazyLock<Value> = LazyLock::new(|| {
        let settings = schemars::generate::SchemaSettings::draft2020_12()
            .with(|settings| settings.inline_subschemas = true);
        let schema = settings.into_generator().into_root_schema_for::<Instrument>();
        let mut schema = schema.to_value();
        plain(&mut schema);
        if let Value::Object(top) = &mut schema {
            top.remove("$schema");
            top.insert("required".to_owned(), json!(["id"]));
        }
        schema
    });
    SCHEMA.clone()
}

/// No `null`, which TOML does not have, no defaults; of an end of a range, written or sounding is enough.
fn plain(schema: &mut Value) {
    if let Some([Value::Object(one), null]) =
        schema.get("anyOf").and_then(Value::as_array).map(Vec::as_slice)
        && null["type"] == "null"
    {
        let mut one = one.clone();
        one.extend(schema.get("description").map(|said| ("description".to_owned(), said.clone())));
        *schema = Value::Object(one);
    }
    let Value::Object(map) = schema else {
        if let Value::Array(all) = schema {
            all.iter_mut().for_each(plain);
        }
        return;
    };
    for needless in ["default", "format", "title"] {
        if map.get(needless).is_some_and(|value| !value.is_object() || needless == "default") {
            map.remove(needless);
        }
    }
    if let Some([kind, Value::String(null)]) =
        map.get("type").and_then(Value::as_array).map(Vec::as_slice)
        && null == "null"
    {
        let kind = kind.clone();
        map.insert("type".to_owned(), kind);
    }
    if let Some(Value::Array(words)) = map.get_mut("enum") {
        words.retain(|word| !word.is_null());
    }
    if let Some(Value::Array(required)) = map.get_mut("required") {
        required
            .retain(|key| ENDS.iter().all(|(written, sounding)| key != written && key != sounding));
    }
    if map.get("properties").is_some() {
        map.entry("additionalProperties").or_insert(Value::Bool(false));
    }
    map.values_mut().for_each(plain);
}

/// The instrument that a row describes, over the row of the same id in the table and the rows `before` it.
pub(super) fn apply(before: &[Row], row: &Row) -> Result<Instrument, Vec<RowFault>> {
    let mut faults = Vec::new();
    let Some(id) = row.get("id").and_then(Value::as_str).filter(|id| is_id(id)) else {
        let message = "an instrument needs an id of small letters, digits and hyphens, as in id = \"bass-clarinet\".";
        return Err(vec![RowFault::new(&["id"], message.to_owned())]);
    };
    unknown_keys(&row_schema(), &Value::Object(row.clone()), &mut Vec::new(), &mut faults);
    pitches(row, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let known = TYPED.get(id);
    let is_new = known.is_none() && before.iter().all(|row| row["id"] != *id);
    let mut whole = known.cloned().unwrap_or_else(|| template(id, row));
    for earlier in before.iter().filter(|row| row["id"] == *id) {
        merge(&mut whole, earlier);
    }
    if is_new && !row.contains_key("family") {
        let message =
            format!("there is no instrument “{id}” to change, and a new one needs a family.");
        return Err(vec![RowFault::new(&["id"], message)]);
    }
    merge(&mut whole, row);
    let read = serde_path_to_error::deserialize::<_, Instrument>(&Value::Object(whole));
    let mut instrument = read.map_err(|error| vec![not_read(&error)])?;
    fit(&mut instrument, row);
    check(&instrument, row, &mut faults);
    if faults.is_empty() { Ok(instrument) } else { Err(faults) }
}

fn is_id(id: &str) -> bool {
    let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    !id.is_empty() && id.chars().all(fits)
}

/// What a new row need not say.
fn template(id: &str, row: &Row) -> Row {
    let name = row.get("name").cloned().unwrap_or_else(|| json!(id));
    let family = row.get("family").cloned().unwrap_or_default();
    let pitched = row.get("pitched").and_then(Value::as_bool).unwrap_or(true);
    // Below all of its family.
    let same = TYPED.values().filter(|known| known.get("family") == Some(&family));
    let order = same.filter_map(|known| known.get("score_order")?.as_u64()).max();
    let all = TYPED.len() as u64;
    let clef = if pitched { "treble" } else { "perc" };
    let mut whole = Map::from_iter([
        ("id".to_owned(), json!(id)),
        ("score_order".to_owned(), json!(order.unwrap_or(all))),
        ("name".to_owned(), name.clone()),
        ("names".to_owned(), json!([name])),
        ("clefs".to_owned(), json!([clef])),
        ("pitched".to_owned(), json!(pitched)),
    ]);
    if pitched {
        whole.insert("transposition".to_owned(), json!({ "chromatic": 0, "diatonic": 0 }));
    }
    whole
}

/// Puts what a row says over what is known: names are added, all else replaces. Of the ends of a range, what the
/// row leaves out follows from what it says.
fn merge(whole: &mut Row, row: &Row) {
    let moved = row.contains_key("transposition");
    for (key, value) in row {
        match (key.as_str(), whole.get_mut(key), value) {
            ("names", Some(Value::Array(names)), Value::Array(more)) => {
                let new: Vec<Value> =
                    more.iter().filter(|name| !names.contains(name)).cloned().collect();
                names.extend(new);
            }
            (name, Some(Value::Object(known)), Value::Object(said)) if RANGES.contains(&name) => {
                for (written, sounding) in ENDS {
                    if said.contains_key(written) || said.contains_key(sounding) {
                        known.remove(written);
                        known.remove(sounding);
                    }
                }
                known.extend(said.clone());
            }
            (_, Some(Value::Object(known)), Value::Object(said)) if key != "pedals" => {
                known.extend(said.clone());
            }
            _ => {
                whole.insert(key.clone(), value.clone());
            }
        }
    }
    // Written under another transposition, the same notes sound elsewhere.
    if moved {
        for_each_span(whole, &mut |key, span| {
            if !row.contains_key(key) {
                ENDS.iter().for_each(|(_, sounding)| _ = span.remove(*sounding));
            }
        });
    }
    complete(whole);
    for pair in [1, 2] {
        if !whole.contains_key(RANGES[pair])
            && let Some(wider) = whole.get(RANGES[pair - 1]).cloned()
        {
            whole.insert(RANGES[pair].to_owned(), wider);
        }
    }
}

fn for_each_span(row: &mut Row, each: &mut dyn FnMut(&str, &mut Row)) {
    for key in RANGES {
        if let Some(Value::Object(span)) = row.get_mut(key) {
            each(key, span);
        }
    }
    for key in ["register", "zone"] {
        let spans = row.get_mut(key).and_then(Value::as_array_mut).into_iter().flatten();
        spans.filter_map(Value::as_object_mut).for_each(|span| each(key, span));
    }
}

/// The sounding end where only the written one is given, and the other way round.
fn complete(row: &mut Row) {
    let transposition = row.get("transposition").cloned().unwrap_or_default();
    let Ok(transposition) = serde_json::from_value::<Transposition>(transposition) else { return };
    let pitch = |value: Option<&Value>| value?.as_str()?.parse::<Pitch>().ok();
    for_each_span(row, &mut |_, span| {
        for (written, sounding) in ENDS {
            match (pitch(span.get(written)), pitch(span.get(sounding))) {
                (Some(pitch), None) => {
                    let heard = transposition.sounding(pitch).to_string();
                    span.insert(sounding.to_owned(), json!(heard));
                }
                (None, Some(pitch)) => {
                    let typed = transposition.written(pitch).to_string();
                    span.insert(written.to_owned(), json!(typed));
                }
                _ => {}
            }
        }
    });
}

/// Keys that the rows of the table do not have.
fn unknown_keys(schema: &Value, value: &Value, path: &mut Vec<String>, faults: &mut Vec<RowFault>) {
    match value {
        Value::Object(map) => {
            let known = schema.get("properties").and_then(Value::as_object);
            for (key, value) in map {
                path.push(key.clone());
                if let Some(inner) = known.and_then(|known| known.get(key)) {
                    unknown_keys(inner, value, path, faults);
                } else if let Some(known) = known {
                    let near = nearest(key, known.keys());
                    let message = format!("there is no key “{key}”; the nearest is “{near}”.");
                    faults.push(RowFault { path: path.clone(), message });
                }
                path.pop();
            }
        }
        Value::Array(all) => {
            let inner = schema.get("items").unwrap_or(&Value::Null);
            for (place, value) in all.iter().enumerate() {
                path.push(place.to_string());
                unknown_keys(inner, value, path, faults);
                path.pop();
            }
        }
        _ => {}
    }
}

fn nearest<'k>(key: &str, known: impl Iterator<Item = &'k String>) -> &'k str {
    let likeness = |known: &str| strsim::jaro_winkler(known, key);
    known.max_by(|a, b| likeness(a).total_cmp(&likeness(b))).map_or("", |key| key)
}

/// Ends of ranges that are no pitches, or have nothing said of them.
fn pitches(row: &Row, faults: &mut Vec<RowFault>) {
    let mut span = |path: &[&str], span: &Value| {
        let Some(span) = span.as_object() else { return };
        for (key, value) in span {
            let is_end = ENDS.iter().any(|(written, sounding)| key == written || key == sounding);
            let text = value.as_str();
            if is_end && text.is_none_or(|text| text.parse::<Pitch>().is_err()) {
                let shown = text.map_or_else(|| value.to_string(), str::to_owned);
                let message = format!("“{shown}” is no pitch; write it like C4, F#3 or Bb5.");
                faults.push(RowFault::new(&[path, &[key.as_str()]].concat(), message));
            }
        }
    };
    for key in RANGES {
        span(&[key], row.get(key).unwrap_or(&Value::Null));
    }
    for key in ["register", "zone"] {
        let all = row.get(key).and_then(Value::as_array).into_iter().flatten();
        for (place, one) in all.enumerate() {
            span(&[key, &place.to_string()], one);
        }
    }
}

fn not_read(error: &serde_path_to_error::Error<serde_json::Error>) -> RowFault {
    let path: Vec<String> = error.path().iter().map(ToString::to_string).collect();
    let path = path.iter().map(|part| part.trim_matches(['[', ']']).to_owned());
    let path: Vec<String> = path.filter(|part| part != "?" && part != ".").collect();
    let key = path.join(".");
    let said = error.inner().to_string();
    let message = match said.strip_prefix("missing field `").and_then(|rest| rest.split('`').next())
    {
        Some(field) if path.is_empty() => format!("“{field}” is missing."),
        Some(field) => format!("“{field}” is missing in “{key}”."),
        None => format!("the value of “{key}” does not fit: {}.", said.replace('`', "“")),
    };
    RowFault { path, message }
}

/// Where a row gives a range and leaves the rest alone, the rest keeps to it.
fn fit(instrument: &mut Instrument, row: &Row) {
    let given = |key: &str| row.contains_key(key);
    for (key, wider) in [(RANGES[1], Level::Professional), (RANGES[2], Level::Advanced)] {
        let wider = instrument.range(wider);
        let own = if key == RANGES[1] {
            &mut instrument.range_advanced
        } else {
            &mut instrument.range_school
        };
        if let (false, Some(own), Some(wider)) = (given(key), own, wider) {
            *own = clipped(*own, wider).unwrap_or(wider);
        }
    }
    if given("register") {
        return;
    }
    let Some(whole) = instrument.range_professional else { return };
    instrument.registers.retain(|register| clipped(register.range, whole).is_some());
    for register in &mut instrument.registers {
        register.range = clipped(register.range, whole).unwrap_or(register.range);
    }
    if let Some(first) = instrument.registers.first_mut() {
        first.range.written_min = whole.written_min;
        first.range.sounding_min = whole.sounding_min;
    }
    if let Some(last) = instrument.registers.last_mut() {
        last.range.written_max = whole.written_max;
        last.range.sounding_max = whole.sounding_max;
    }
}

/// What of a range lies inside another.
fn clipped(range: Range, whole: Range) -> Option<Range> {
    let mut inside = range;
    if range.written_min.midi() < whole.written_min.midi() {
        (inside.written_min, inside.sounding_min) = (whole.written_min, whole.sounding_min);
    }
    if range.written_max.midi() > whole.written_max.midi() {
        (inside.written_max, inside.sounding_max) = (whole.written_max, whole.sounding_max);
    }
    (inside.written_min.midi() <= inside.written_max.midi()).then_some(inside)
}

/// Whether the figures of a row agree with each other.
fn check(i: &Instrument, row: &Row, faults: &mut Vec<RowFault>) {
    let mut say = |path: &[&str], message: String| faults.push(RowFault::new(path, message));
    let ranges = [i.range_professional, i.range_advanced, i.range_school];
    if i.names.iter().all(|name| name.trim().is_empty()) || i.clefs.is_empty() {
        say(&["names"], "an instrument needs a name and a clef.".to_owned());
    }
    let Some(transposition) = i.transposition else {
        if i.pitched || i.range_professional.is_some() || !i.registers.is_empty() {
            let message = "an instrument with pitches needs a transposition, and one without them has no ranges.";
            say(&["pitched"], message.to_owned());
        }
        return;
    };
    let Some(whole) = i.range_professional else {
        let message = "an instrument with pitches needs range_professional, as in { written_min = \"C4\", written_max = \"C6\" }.";
        return say(&["id"], message.to_owned());
    };
    let mut span = |path: &[&str], range: &Range| {
        if range.written_min.midi() > range.written_max.midi() {
            let (low, high) = (range.written_min, range.written_max);
            say(path, format!("the lowest note, {low}, lies above the highest, {high}."));
        }
        for (written, sounding) in
            [(range.written_min, range.sounding_min), (range.written_max, range.sounding_max)]
        {
            let heard = transposition.sounding(written);
            if heard != sounding {
                let message = format!(
                    "{written} as written sounds {heard}, not {sounding}; give one of the two."
                );
                say(path, message);
            }
        }
    };
    for (key, range) in RANGES.iter().zip(ranges) {
        range.iter().for_each(|range| span(&[key], range));
    }
    for (place, register) in i.registers.iter().enumerate() {
        span(&["register", &place.to_string()], &register.range);
    }
    for (place, zone) in i.zones.iter().enumerate() {
        span(&["zone", &place.to_string()], &zone.range);
    }
    for pair in [1, 2] {
        if let (Some(wider), Some(own)) = (ranges[pair - 1], ranges[pair])
            && own.written_min.midi() <= own.written_max.midi()
            && clipped(own, wider) != Some(own)
        {
            let (low, high) = (wider.written_min, wider.written_max);
            let key = if row.contains_key(RANGES[pair]) { RANGES[pair] } else { RANGES[pair - 1] };
            let message =
                format!("{} reaches beyond {} ({low} to {high}).", RANGES[pair], RANGES[pair - 1]);
            say(&[key], message);
        }
    }
    let mut next = whole.written_min.midi();
    for (place, register) in i.registers.iter().enumerate() {
        let at = ["register", &place.to_string()];
        let low = register.range.written_min;
        if low.midi() != next {
            let from = if place == 0 {
                format!("range_professional begins at {}", whole.written_min)
            } else {
                format!("the one before ends at {}", i.registers[place - 1].range.written_max)
            };
            let what = if low.midi() > next { "a hole" } else { "an overlap" };
            say(
                &at,
                format!(
                    "registers follow each other from the lowest up: this one begins at {low}, but {from}: {what}."
                ),
            );
        }
        next = register.range.written_max.midi() + 1;
    }
    if let Some(last) = i.registers.last().filter(|_| next != whole.written_max.midi() + 1) {
        let (end, high) = (last.range.written_max, whole.written_max);
        let at = ["register", &(i.registers.len() - 1).to_string()];
        say(&at, format!("the last register ends at {end}, but range_professional at {high}."));
    }
}

#[cfg(test)]
mod tests;
