//! The keys as a JSON schema, draft 4: what most editors for TOML take.
//!
//! Nothing is required but name and format, because a revision states only what changes.

use measure::Dimension;
use serde_json::{Map, Value, json};

use super::{FileKind, Key};
use crate::section::Shape;

pub(super) fn text(kind: FileKind, keys: &[Key]) -> String {
    let what = match kind {
        FileKind::Pan => "The design of a pan",
        FileKind::Experiment => "An experiment in a tank",
        FileKind::Study => "A study of many variants of a design",
    };
    let mut top = object(keys, "");
    for (key, value) in [
        ("$schema", json!("http://json-schema.org/draft-04/schema#")),
        ("title", json!(what)),
        ("required", json!(["format", "name"])),
    ] {
        top.insert(key.into(), value);
    }
    let mut text = serde_json::to_string_pretty(&Value::Object(top)).expect("plain data");
    text.push('\n');
    text
}

/// A section with the keys right below `path`.
fn object(keys: &[Key], path: &str) -> Map<String, Value> {
    let mut properties = Map::new();
    for key in keys {
        let own = match path {
            "" => Some(key.path.as_str()),
            _ => key
                .path
                .strip_prefix(path)
                .and_then(|rest| rest.strip_prefix('.')),
        };
        if let Some(name) = own.filter(|name| !name.contains('.')) {
            properties.insert(name.into(), property(keys, key));
        }
    }
    let mut object = Map::new();
    object.insert("type".into(), json!("object"));
    object.insert("properties".into(), Value::Object(properties));
    object.insert("additionalProperties".into(), json!(false));
    object
}

fn property(keys: &[Key], key: &Key) -> Value {
    let mut ways: Vec<Value> = key.shapes.iter().map(|shape| value(keys, key, shape)).collect();
    let mut property = match ways.len() {
        0 => Map::new(),
        1 => match ways.remove(0) {
            Value::Object(way) => way,
            other => Map::from_iter([("enum".into(), json!([other]))]),
        },
        _ => Map::from_iter([("anyOf".into(), Value::Array(ways))]),
    };
    property.insert("description".into(), json!(key.said()));
    Value::Object(property)
}

fn value(keys: &[Key], key: &Key, shape: &Shape) -> Value {
    let section = |path: &str| Value::Object(object(keys, path));
    match shape {
        Shape::Text => json!({ "type": "string" }),
        Shape::Words(words) => json!({ "enum": words }),
        Shape::Quantity(due, _) => quantity(*due),
        Shape::Number => json!({ "type": "number", "minimum": 0, "exclusiveMinimum": true }),
        Shape::Count => json!({ "type": "integer", "minimum": 1 }),
        Shape::Truth => json!({ "type": "boolean" }),
        Shape::Row(due) => row(due),
        Shape::Rows(due) => json!({ "type": "array", "items": row(due) }),
        Shape::Numbers => json!({ "type": "array", "items": { "type": "number" } }),
        Shape::Quantities(due) => json!({ "type": "array", "items": quantity(*due) }),
        Shape::Value => json!({ "anyOf": [{ "type": "string" }, { "type": "number" }] }),
        Shape::Values => json!({
            "type": "array",
            "items": { "anyOf": [{ "type": "string" }, { "type": "number" }] },
        }),
        Shape::Texts => json!({ "type": "array", "items": { "type": "string" } }),
        Shape::Date => date(),
        Shape::Days => {
            let stretch = json!({ "type": "array", "items": date(), "minItems": 2, "maxItems": 2 });
            json!({ "type": "array", "items": { "anyOf": [date(), stretch] } })
        }
        Shape::Durations => json!({ "anyOf": [
            quantity(Dimension::Time),
            { "type": "array", "items": quantity(Dimension::Time), "minItems": 3, "maxItems": 3 },
        ] }),
        Shape::Corners => {
            let point = row(&[Dimension::Length; 2]);
            let arc = json!({
                "type": "object",
                "properties": { "to": point, "through": point },
                "required": ["to", "through"],
                "additionalProperties": false,
            });
            json!({ "type": "array", "items": { "anyOf": [point, arc] } })
        }
        Shape::Direction => json!({ "anyOf": [
            { "enum": ["front", "rear", "left", "right", "up", "down"] },
            { "type": "array", "items": { "type": "number" }, "minItems": 3, "maxItems": 3 },
        ] }),
        Shape::FileWay => json!({ "anyOf": [
            { "enum": ["+x", "-x", "+y", "-y", "+z", "-z"] },
            { "type": "array", "items": { "type": "number" }, "minItems": 3, "maxItems": 3 },
        ] }),
        Shape::TwoHoles => json!({
            "type": "array", "items": { "type": "string", "pattern": "^hole [0-9]+$" }, "minItems": 2, "maxItems": 2,
        }),
        Shape::OneHole => json!({ "type": "string", "pattern": "^hole [0-9]+$" }),
        // Every channel takes what one of them was seen to take.
        Shape::Column => json!({ "anyOf": [{ "type": "string" }, section("drive.channels.lateral")] }),
        Shape::Section => section(&key.path),
        Shape::Parts | Shape::Several => json!({ "type": "array", "items": section(&key.path) }),
    }
}

fn date() -> Value {
    json!({ "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$" })
}

/// A text that begins as a number does; shares may be bare.
fn quantity(due: Dimension) -> Value {
    let text = json!({ "type": "string", "pattern": "^\\s*[-+\u{2212}]?\\s*[.,]?[0-9]" });
    if due.takes_bare_numbers() {
        json!({ "anyOf": [{ "type": "number" }, text] })
    } else {
        text
    }
}

fn row(due: &[Dimension]) -> Value {
    let items: Vec<Value> = due.iter().map(|due| quantity(*due)).collect();
    json!({ "type": "array", "items": items, "minItems": due.len(), "maxItems": due.len() })
}
