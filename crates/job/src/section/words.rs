//! Texts, choices and plain numbers of a section.

use super::{Need, Section, Shape, listed};
use crate::tree::{Node, Value};

impl Section<'_> {
    /// A bare number such as a gear ratio.
    pub fn number_in(&self, key: &str, node: &Node) -> Option<f64> {
        let value = match node.value {
            Value::Whole(number) => number as f64,
            Value::Number(number) => number,
            _ => f64::NAN,
        };
        if value.is_finite() {
            return Some(value);
        }
        let what = format!("{} stands where a plain number is due", node.raw);
        self.fault(
            "wrong-kind",
            key,
            what,
            "write a number without quotes or unit, for instance 3.9".to_owned(),
        );
        None
    }

    /// A required bare number above zero, such as a gear ratio.
    pub fn number(&self, key: &'static str, example: &str) -> Option<f64> {
        self.shaped(key, Shape::Number);
        let node = self.required(key, example)?;
        let value = self.number_in(key, node)?;
        if value <= 0.0 {
            self.fault(
                "out-of-range",
                key,
                format!("{value} is out of range"),
                "a number above zero is due".to_owned(),
            );
            return None;
        }
        self.written(key, node, value.to_string());
        Some(value)
    }

    /// A whole number from 1, that may be left out.
    pub fn optional_count(&self, key: &'static str) -> Option<usize> {
        self.shaped(key, Shape::Count);
        let node = self.node(key)?;
        if let Value::Whole(number @ 1..) = node.value {
            self.written(key, node, number.to_string());
            return usize::try_from(number).ok();
        }
        let what = format!("{} stands where a whole number from 1 is due", node.raw);
        self.fault("wrong-kind", key, what, "write it without quotes".to_owned());
        None
    }

    /// True or false, with the house's word for a key left out.
    pub fn truth_or(&self, key: &'static str, default: bool, reason: &'static str) -> Option<bool> {
        self.shaped(key, Shape::Truth);
        self.needed(key, Need::Default(default.to_string(), reason));
        let Some(node) = self.node(key) else {
            self.default(key, default.to_string(), reason);
            return Some(default);
        };
        if let Value::Truth(truth) = node.value {
            self.written(key, node, truth.to_string());
            return Some(truth);
        }
        let what = format!("{} stands where true or false is due", node.value.kind());
        self.fault(
            "wrong-kind",
            key,
            what,
            format!("write {key} = true or {key} = false"),
        );
        None
    }

    /// A required text that is not empty.
    pub fn text(&self, key: &'static str, example: &str) -> Option<String> {
        self.shaped(key, Shape::Text);
        self.worded(key, example)
    }

    fn worded(&self, key: &'static str, example: &str) -> Option<String> {
        let node = self.required(key, &format!("\"{example}\""))?;
        self.text_in(key, node)
    }

    /// A text that may be left out.
    pub fn optional_text(&self, key: &'static str) -> Option<String> {
        self.shaped(key, Shape::Text);
        self.text_in(key, self.node(key)?)
    }

    fn text_in(&self, key: &'static str, node: &Node) -> Option<String> {
        match &node.value {
            Value::Text(text) if !text.trim().is_empty() => {
                if key != "name" || self.path.is_empty() {
                    self.written(key, node, text.clone());
                }
                Some(text.clone())
            }
            other => {
                let found = if let Value::Text(_) = other {
                    "an empty text"
                } else {
                    other.kind()
                };
                let what = format!("{found} stands where a text is due");
                self.fault("wrong-kind", key, what, format!("write {key} = \"...\""));
                None
            }
        }
    }

    /// One of several words; `default` with its reason when the key is left out, else a missing key.
    pub fn choice<T: Clone>(
        &self,
        key: &'static str,
        words: &[(&'static str, T)],
        default: Option<(&'static str, &'static str)>,
    ) -> Option<T> {
        let found = |word: &str| {
            words
                .iter()
                .find(|(w, _)| *w == word)
                .map(|(_, value)| value.clone())
        };
        let known: Vec<&'static str> = words.iter().map(|(word, _)| *word).collect();
        self.shaped(key, Shape::Words(known.clone()));
        if let Some((word, reason)) = default {
            self.needed(key, Need::Default(word.to_owned(), reason));
        }
        if let Some((word, reason)) = default
            && self.node(key).is_none()
        {
            self.default(key, word.to_owned(), reason);
            return found(word);
        }
        let text = self.worded(key, known[0])?;
        let value = found(&text);
        if value.is_none() {
            let mend = match measure::nearest(&text, known.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"? Known here: {}", listed(&known)),
                None => format!("known here: {}", listed(&known)),
            };
            self.fault(
                "unknown-word",
                key,
                format!("\"{text}\" is not known as {}", self.key(key)),
                mend,
            );
        }
        value
    }
}
