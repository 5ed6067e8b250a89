//! The JSON Schema of the settings, made from the tables of rules and instruments.

use recte_review::{Chapter, Config, RULES};
use recte_theory::instruments::{instruments, row_schema};
use serde_json::{Map, Value, json};

/// A JSON Schema (draft 2020-12) for `recte.toml`, which editors that know TOML can use.
pub fn schema() -> Value {
    let mut top = properties();
    let mut paths = top.clone();
    let strings = json!({ "type": "array", "items": { "type": "string" }, "minItems": 1 });
    paths.insert("paths".to_owned(), strings);
    let one = json!({
        "type": "object",
        "properties": paths,
        "required": ["paths"],
        "additionalProperties": false,
    });
    let overrides = json!({
        "description": "Settings for single paths, counted from the folder of this file.",
        "type": "array",
        "items": one,
    });
    top.insert(super::OVERRIDES.to_owned(), overrides);
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "recte.toml",
        "type": "object",
        "properties": top,
        "additionalProperties": false,
        "$defs": { "scale": {
            "description": "Up to each ratio it is easy, awkward, hard; beyond the last it is impossible.",
            "type": "object",
            "properties": {
                "easy": { "type": "number" },
                "awkward": { "type": "number" },
                "hard": { "type": "number" },
            },
            "required": ["easy", "awkward", "hard"],
            "additionalProperties": false,
        } },
    })
}

/// One entry a key; a key that nothing is known of may hold anything.
fn properties() -> Map<String, Value> {
    let config = serde_json::to_value(Config::default()).unwrap_or_default();
    let keys = config.as_object().into_iter().flatten();
    keys.map(|(key, _)| (key.clone(), property(key).unwrap_or(json!({})))).collect()
}

fn property(key: &str) -> Option<Value> {
    let level = json!(["professional", "advanced", "school"]);
    match key {
        "words" => Some(json!({
            "description": "Names of note values: quarter, eighth, or crotchet, quaver.",
            "enum": ["american", "british"],
        })),
        "level" => Some(json!({
            "description": "The players' level, unless their instrument has its own.",
            "enum": level,
        })),
        "levels" => {
            let names = instruments()
                .iter()
                .map(|one| (one.id.clone(), json!({ "description": one.name, "enum": level })));
            Some(json!({
                "description": "The players' level by instrument.",
                "type": "object",
                "properties": names.collect::<Map<_, _>>(),
                // A user may have instruments of their own.
                "additionalProperties": { "enum": level },
            }))
        }
        "instrument" => Some(json!({
            "description": "Instruments of one's own, or what is otherwise with one of the table.",
            "type": "array",
            "items": row_schema(),
        })),
        "rules" => {
            let settings = json!(["off", "hint", "info", "warning", "error"]);
            let rules = RULES.iter().map(|rule| {
                (rule.id.to_owned(), json!({ "description": rule.summary, "enum": settings }))
            });
            Some(json!({
                "description": "What becomes of each rule.",
                "type": "object",
                "properties": rules.collect::<Map<_, _>>(),
                "additionalProperties": false,
            }))
        }
        "hints" => {
            let shown = |what: &str| json!({ "description": what, "enum": [true, false] });
            Some(json!({
                "description": "What an editor shows between the signs of the text, without its being typed.",
                "type": "object",
                "properties": {
                    "chords": shown("The chord symbol of each harmony, where it begins."),
                    "degrees": shown("Its degree in the local key."),
                },
                "additionalProperties": false,
            }))
        }
        "playing" => {
            let figures = serde_json::to_value(recte_theory::playability::Figures::default());
            let one = |(name, value): (&String, &Value)| {
                let (scale, number) =
                    (json!({ "$ref": "#/$defs/scale" }), json!({ "type": "number" }));
                (name.clone(), if value.is_object() { scale } else { number })
            };
            let all = figures.unwrap_or_default();
            Some(json!({
                "description": "How fast, how long and how far players go beyond what is comfortable.",
                "type": "object",
                "properties": all.as_object().into_iter().flatten().map(one).collect::<Map<_, _>>(),
                "additionalProperties": false,
            }))
        }
        "texture" => {
            let limit =
                |what: &str| json!({ "description": what, "type": "integer", "minimum": 0 });
            Some(json!({
                "description": "From where on the rules of texture speak.",
                "type": "object",
                "properties": {
                    "figure_bars": limit("A figure that one part keeps for more bars than these is told of."),
                    "figure_seconds": limit("So is one that lasts for more seconds than these, from eight bars on."),
                    "contrast": limit("Sections with a contrast below this contrast little, in hundredths."),
                    "abruptness": limit("A joint with an abruptness below this comes by and by, in hundredths."),
                },
                "additionalProperties": false,
            }))
        }
        "report" => {
            let names: Vec<&str> = Chapter::ALL.iter().map(|chapter| chapter.name()).collect();
            let text = |what: &str| json!({ "description": what, "type": "string" });
            Some(json!({
                "description": "What a report holds, and for whom it is worded.",
                "type": "object",
                "properties": {
                    "reader": {
                        "description": "For whom: a colleague, or a student, who is told why and what a chapter shows.",
                        "enum": ["colleague", "student"],
                    },
                    "sections": {
                        "description": "Its chapters, in their order.",
                        "type": "array",
                        "items": { "enum": names },
                        "uniqueItems": true,
                    },
                    "greeting": text("What stands before all else; blank lines part paragraphs."),
                    "closing": text("What stands after all else."),
                },
                "additionalProperties": false,
            }))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_is_described() {
        let described = properties().into_iter().filter(|(_, value)| value != &json!({}));
        assert_eq!(described.count(), properties().len());
    }

    /// The words of the schema are the words that are taken.
    #[test]
    fn every_word_is_taken() {
        for (key, value) in properties() {
            if value["type"] == "array" {
                continue;
            }
            let one = value["properties"].as_object().and_then(|all| all.iter().next());
            let words = one.map_or(&value["enum"], |(_, one)| &one["enum"]);
            // A scale has three numbers; a text is some words.
            let scale = json!({ "easy": 1, "awkward": 2, "hard": 3 });
            let scaled = one.is_some_and(|(_, value)| value["$ref"].is_string());
            let text = one.is_some_and(|(_, one)| one["type"] == "string");
            let other = vec![if text { json!("some words") } else { json!(12) }];
            for word in words.as_array().unwrap_or(&other) {
                let word = if scaled { &scale } else { word };
                let inner = match one {
                    Some((name, _)) => json!({ name: word }),
                    None => word.clone(),
                };
                assert!(
                    serde_json::from_value::<Config>(json!({ &key: inner })).is_ok(),
                    "{key} {word}"
                );
            }
        }
    }
}
