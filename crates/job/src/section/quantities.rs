//! Quantities, points and rows of a section.

use glam::{DVec2, DVec3};
use measure::{Dimension, show};

use super::{Bounds, Need, Section, Shape};
use crate::fault::Fault;
use crate::tree::{Node, Value};

impl Section<'_> {
    /// A required quantity [SI].
    pub fn quantity(&self, key: &'static str, due: Dimension, bounds: Bounds) -> Option<f64> {
        self.sized(key, due, bounds);
        let node = self.required(key, &format!("\"{}\"", due.examples().0))?;
        self.measured(key, node, due, bounds)
    }

    /// A quantity [SI], or the house's value, which the list of inputs then names with its reason.
    pub fn quantity_or(
        &self,
        key: &'static str,
        due: Dimension,
        bounds: Bounds,
        default: f64,
        reason: &'static str,
    ) -> Option<f64> {
        self.sized(key, due, bounds);
        self.needed(key, Need::Default(show(default, due, self.desk.order), reason));
        match self.node(key) {
            Some(node) => self.measured(key, node, due, bounds),
            None => {
                self.default(key, show(default, due, self.desk.order), reason);
                Some(default)
            }
        }
    }

    /// A quantity [SI] that may be left out.
    pub fn optional_quantity(&self, key: &'static str, due: Dimension, bounds: Bounds) -> Option<f64> {
        self.sized(key, due, bounds);
        self.measured(key, self.node(key)?, due, bounds)
    }

    /// A place in the shop's units.
    pub fn show_point(&self, at: DVec3) -> String {
        self.shown(&at.to_array(), [Dimension::Length; 3])
    }

    fn sized(&self, key: &str, due: Dimension, bounds: Bounds) {
        self.shaped(key, Shape::Quantity(due, bounds.said(due, self.desk.order)));
    }

    fn measured(&self, key: &str, node: &Node, due: Dimension, bounds: Bounds) -> Option<f64> {
        let value = self.value(key, node, due)?;
        let shown = show(value, due, self.desk.order);
        if !bounds.hold(value) {
            self.desk.fault(Fault {
                id: "out-of-range",
                place: node.place.clone(),
                key: self.key(key),
                what: format!("{} is out of range", node.raw),
                mend: format!("{due} {} is due here", bounds.said(due, self.desk.order)),
            });
            return None;
        }
        self.written(key, node, shown);
        Some(value)
    }

    /// The quantity in `node` [SI], without a line in the list of inputs.
    pub fn value(&self, key: &str, node: &Node, due: Dimension) -> Option<f64> {
        let text = match &node.value {
            Value::Text(text) => text.clone(),
            // A bare number: `read` refuses it where a unit is due.
            Value::Whole(number) => number.to_string(),
            Value::Number(number) => number.to_string(),
            other => {
                let (metric, inch) = due.examples();
                self.desk.fault(Fault {
                    id: "wrong-kind",
                    place: node.place.clone(),
                    key: self.key(key),
                    what: format!("{} stands where {} is due", other.kind(), due.with_article()),
                    mend: format!("write it for instance as \"{metric}\" or \"{inch}\""),
                });
                return None;
            }
        };
        match measure::read(&text, due) {
            Ok(value) => Some(value),
            Err(fault) => {
                self.desk.fault(Fault {
                    id: "quantity",
                    place: node.place.clone(),
                    key: self.key(key),
                    what: fault.what(),
                    mend: fault.mend(),
                });
                None
            }
        }
    }

    /// `N` quantities in a list [SI], without a line in the list of inputs.
    pub fn row<const N: usize>(&self, key: &str, node: &Node, due: [Dimension; N]) -> Option<[f64; N]> {
        let list = match &node.value {
            Value::List(list) if list.len() == N => list,
            other => {
                let found = match other {
                    Value::List(list) => format!("a list of {}", list.len()),
                    other => other.kind().to_owned(),
                };
                let example: Vec<String> = due.iter().map(|d| format!("\"{}\"", d.examples().0)).collect();
                self.desk.fault(Fault {
                    id: "wrong-kind",
                    place: node.place.clone(),
                    key: self.key(key),
                    what: format!("{found} stands where a list of {N} is due"),
                    mend: format!("write it for instance as [{}]", example.join(", ")),
                });
                return None;
            }
        };
        let values = list.iter().zip(due).map(|(node, due)| self.value(key, node, due));
        let values: Vec<Option<f64>> = values.collect(); // every fault of the row, not the first
        let mut row = [0.0; N];
        for (slot, value) in row.iter_mut().zip(values) {
            *slot = value?;
        }
        Some(row)
    }

    /// Rows of `N` quantities [SI].
    pub fn rows<const N: usize>(&self, key: &'static str, due: [Dimension; N]) -> Option<Vec<[f64; N]>> {
        let example: Vec<String> = due.iter().map(|d| format!("\"{}\"", d.examples().0)).collect();
        self.shaped(key, Shape::Rows(due.to_vec()));
        let node = self.required(key, &format!("[[{}], ...]", example.join(", ")))?;
        let rows = self.rows_of(key, node, due)?;
        let shown = rows
            .iter()
            .map(|row| self.shown(row, due))
            .collect::<Vec<_>>()
            .join("; ");
        self.written(key, node, shown);
        Some(rows)
    }

    /// Rows of `N` quantities in `node` [SI], without a line in the list of inputs.
    pub fn rows_of<const N: usize>(
        &self,
        key: &str,
        node: &Node,
        due: [Dimension; N],
    ) -> Option<Vec<[f64; N]>> {
        let rows: Vec<Option<[f64; N]>> = self
            .list(key, node)?
            .iter()
            .map(|node| self.row(key, node, due))
            .collect();
        rows.into_iter().collect()
    }

    fn shown(&self, values: &[f64], due: impl IntoIterator<Item = Dimension>) -> String {
        let parts: Vec<String> = values
            .iter()
            .zip(due)
            .map(|(v, due)| show(*v, due, self.desk.order))
            .collect();
        format!("({})", parts.join(", "))
    }

    /// A required list of `N` quantities [SI].
    pub fn tuple<const N: usize>(&self, key: &'static str, due: [Dimension; N]) -> Option<[f64; N]> {
        let example: Vec<String> = due.iter().map(|d| format!("\"{}\"", d.examples().0)).collect();
        self.shaped(key, Shape::Row(due.to_vec()));
        let node = self.required(key, &format!("[{}]", example.join(", ")))?;
        let row = self.row(key, node, due)?;
        self.written(key, node, self.shown(&row, due));
        Some(row)
    }

    /// A required point in plan, or in the coordinates of a plate [m].
    pub fn point2(&self, key: &'static str) -> Option<DVec2> {
        self.tuple(key, [Dimension::Length; 2]).map(DVec2::from_array)
    }

    /// A required point of the pan [m].
    pub fn point3(&self, key: &'static str) -> Option<DVec3> {
        self.tuple(key, [Dimension::Length; 3]).map(DVec3::from_array)
    }

    /// A required pair, the first below the second.
    pub fn rising(&self, key: &'static str, due: Dimension) -> Option<(f64, f64)> {
        let [low, high] = self.tuple(key, [due; 2])?;
        if low < high {
            return Some((low, high));
        }
        self.fault(
            "zero-size",
            key,
            format!(
                "{key} runs from {} to {}",
                self.show(low, due),
                self.show(high, due)
            ),
            "give the lower value first and leave room between the two".to_owned(),
        );
        None
    }
}
