//! Findings as one JSON object, documented field by field in `docs/results.md`.

use crate::findings::Findings;
use serde::Serialize;
use serde_json::Value;
use std::fmt;

/// Why findings cannot be written as JSON.
#[derive(Clone, Debug, PartialEq)]
pub enum JsonFault {
    /// A number that is not one. JSON would turn it into `null` without a word, so it is refused.
    NotANumber {
        /// Where, e.g. `moments[0].history.cover[17]`.
        path: String,
    },
    /// The writer itself failed.
    Unwritable {
        /// What it said.
        reason: String,
    },
}

impl fmt::Display for JsonFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            JsonFault::NotANumber { path } => write!(
                f,
                "the result holds a value that is not a number\n  at {path}\n  mend: this is a fault of the \
                 program, not of the design; keep the design and the run folder and report it"
            ),
            JsonFault::Unwritable { reason } => write!(f, "the result cannot be written as JSON: {reason}"),
        }
    }
}

impl std::error::Error for JsonFault {}

/// The findings as one JSON object, keys in the order of the structs, two spaces of indent.
///
/// Absent values are left out, so a `null` can only be a number that is none: that is a fault, with its path.
pub fn to_json(findings: &Findings) -> Result<String, JsonFault> {
    check_numbers(findings)?;
    serde_json::to_string_pretty(findings).map_err(|e| JsonFault::Unwritable {
        reason: e.to_string(),
    })
}

/// Fails with the path of the first number that is not finite.
pub fn check_numbers(findings: &impl Serialize) -> Result<(), JsonFault> {
    let value = serde_json::to_value(findings).map_err(|e| JsonFault::Unwritable {
        reason: e.to_string(),
    })?;
    match null_in(&value, String::new()) {
        Some(path) => Err(JsonFault::NotANumber { path }),
        None => Ok(()),
    }
}

fn null_in(value: &Value, path: String) -> Option<String> {
    match value {
        Value::Null => Some(path),
        Value::Array(items) => items
            .iter()
            .enumerate()
            .find_map(|(i, item)| null_in(item, format!("{path}[{i}]"))),
        Value::Object(map) => map.iter().find_map(|(key, item)| {
            null_in(
                item,
                if path.is_empty() {
                    key.clone()
                } else {
                    format!("{path}.{key}")
                },
            )
        }),
        _ => None,
    }
}
