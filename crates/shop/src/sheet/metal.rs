//! Sheet metals of a pan shop: weight, where the neutral line of a bend lies, how tight they may be bent.
//!
//! Sources: `data/bend_k.csv` (Machinery's Handbook, 26th edition) and `data/bend_radius.csv` (FAA AC 43.13-1B, table
//! 4-6), each with its origin in its head. Densities are from memory of handbooks, to 1 %.

use serde::Serialize;
use std::sync::OnceLock;

/// A metal in a temper that sheet is sold in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Metal {
    /// Aluminium 5052-H32: bends well, welds, takes oil and heat.
    #[serde(rename = "5052-H32")]
    A5052H32,
    /// Aluminium 5052-O, soft.
    #[serde(rename = "5052-O")]
    A5052O,
    /// Aluminium 5052-H34.
    #[serde(rename = "5052-H34")]
    A5052H34,
    /// Aluminium 3003-H14.
    #[serde(rename = "3003-H14")]
    A3003H14,
    /// Aluminium 1100-H14.
    #[serde(rename = "1100-H14")]
    A1100H14,
    /// Aluminium 6061-T4.
    #[serde(rename = "6061-T4")]
    A6061T4,
    /// Aluminium 6061-T6: cracks when bent tightly.
    #[serde(rename = "6061-T6")]
    A6061T6,
    /// Aluminium 2024-T3: wants large radii, not for welding.
    #[serde(rename = "2024-T3")]
    A2024T3,
    /// Low-carbon steel, cold rolled.
    #[serde(rename = "low-carbon steel")]
    Steel,
    /// Stainless steel 304, annealed.
    #[serde(rename = "304 stainless")]
    Stainless,
}

impl Metal {
    /// All metals with the word a design says them by.
    pub const ALL: [(&'static str, Metal); 10] = [
        ("5052-H32", Metal::A5052H32),
        ("5052-O", Metal::A5052O),
        ("5052-H34", Metal::A5052H34),
        ("3003-H14", Metal::A3003H14),
        ("1100-H14", Metal::A1100H14),
        ("6061-T4", Metal::A6061T4),
        ("6061-T6", Metal::A6061T6),
        ("2024-T3", Metal::A2024T3),
        ("low-carbon steel", Metal::Steel),
        ("304 stainless", Metal::Stainless),
    ];

    /// The word a design says it by.
    pub fn word(self) -> &'static str {
        Metal::ALL
            .iter()
            .find(|(_, m)| *m == self)
            .map_or("", |(word, _)| word)
    }

    /// Density [kg/m³], handbook values from memory.
    pub fn density(self) -> f64 {
        match self {
            Metal::A5052H32 | Metal::A5052O | Metal::A5052H34 => 2680.0,
            Metal::A3003H14 => 2730.0,
            Metal::A1100H14 => 2710.0,
            Metal::A6061T4 | Metal::A6061T6 => 2700.0,
            Metal::A2024T3 => 2780.0,
            Metal::Steel => 7850.0,
            Metal::Stainless => 7900.0,
        }
    }

    /// Rows of the K table by their name there.
    fn family(self) -> &'static str {
        match self {
            Metal::Steel => "cold-rolled steel",
            Metal::Stainless => "stainless steel",
            _ => "aluminium",
        }
    }

    /// Share K of the thickness at which the neutral line of a bend lies, from the inside; and whether radius and
    /// thickness [m] lie within the table. Read between the rows and columns of the table; beyond it, its edge is taken.
    ///
    /// Source: a reprint credited to Machinery's Handbook, 26th edition.
    pub fn k(self, radius: f64, thickness: f64) -> (f64, bool) {
        let rows: Vec<&[f64; 3]> = (k_table().iter())
            .filter(|(family, _)| *family == self.family())
            .map(|(_, row)| row)
            .collect();
        let steps = |column: usize| {
            let mut all: Vec<f64> = rows.iter().map(|r| r[column]).collect();
            all.sort_by(f64::total_cmp);
            all.dedup();
            all
        };
        let (radii, thicknesses) = (steps(0), steps(1));
        let (r0, r1, fr, in_r) = between(&radii, radius);
        let (t0, t1, ft, in_t) = between(&thicknesses, thickness);
        let at = |r: f64, t: f64| {
            let row = rows.iter().find(|row| row[0] == r && row[1] == t);
            row.map(|row| row[2])
                .expect("the table of K has every radius at every thickness")
        };
        let low = at(r0, t0) * (1.0 - fr) + at(r1, t0) * fr;
        let high = at(r0, t1) * (1.0 - fr) + at(r1, t1) * fr;
        (low * (1.0 - ft) + high * ft, in_r && in_t)
    }

    /// Least inside radius [m] at a thickness [m]: below the first it cracks, at the second it is safe; and whether the
    /// thickness lies within the table. Read between the rows.
    ///
    /// Source: FAA AC 43.13-1B, table 4-6; others as the table's head says.
    pub fn least_radius(self, thickness: f64) -> (f64, f64, bool) {
        let name = match self {
            Metal::Stainless => "304 stainless annealed",
            other => other.word(),
        };
        let rows: Vec<&[f64; 3]> = (radius_table().iter())
            .filter(|(metal, _)| *metal == name)
            .map(|(_, row)| row)
            .collect();
        let steps: Vec<f64> = rows.iter().map(|r| r[0]).collect();
        // A row for every thickness has none of its own.
        let (i, j, f, inside) = match steps[..] {
            [_] => (0, 0, 0.0, true),
            _ => {
                let (low, high, f, inside) = between(&steps, thickness);
                let find = |t: f64| steps.iter().position(|s| *s == t).unwrap_or(0);
                (find(low), find(high), f, inside)
            }
        };
        let read = |column: usize| (rows[i][column] * (1.0 - f) + rows[j][column] * f) * thickness;
        let floor = if self == Metal::Steel { 0.8e-3 } else { 0.0 };
        (read(1).max(floor), read(2).max(floor), inside)
    }

    /// The inside radius that is taken when none is stated [m]: the safe end of the table, at least the thickness, up to
    /// the next half millimetre (punches have such noses: common practice, no source).
    pub fn usual_radius(self, thickness: f64) -> f64 {
        let radius = self.least_radius(thickness).1.max(thickness);
        (radius / 0.5e-3 - 1e-6).ceil() * 0.5e-3
    }
}

/// Neighbours of `x` in rising steps, the share of the way, and whether it lies between them.
fn between(steps: &[f64], x: f64) -> (f64, f64, f64, bool) {
    let (first, last) = (steps[0], steps[steps.len() - 1]);
    let inside = x >= first - 1e-9 && x <= last + 1e-9;
    let x = x.clamp(first, last);
    let i = steps.partition_point(|s| *s <= x).clamp(1, steps.len() - 1);
    let (low, high) = (steps[i - 1], steps[i]);
    (low, high, (x - low) / (high - low), inside)
}

type Rows = Vec<(&'static str, [f64; 3])>;

/// (family, [radius, thickness, K]) in metres.
fn k_table() -> &'static Rows {
    static TABLE: OnceLock<Rows> = OnceLock::new();
    TABLE.get_or_init(|| rows(include_str!("../../data/bend_k.csv"), [1e-3, 1e-3, 1.0]))
}

/// (metal, [thickness, low, high]); thickness in metres, 0 for a row that holds for all.
fn radius_table() -> &'static Rows {
    static TABLE: OnceLock<Rows> = OnceLock::new();
    TABLE.get_or_init(|| rows(include_str!("../../data/bend_radius.csv"), [1e-3, 1.0, 1.0]))
}

fn rows(text: &'static str, units: [f64; 3]) -> Rows {
    let lines = text.lines().filter(|l| !l.starts_with('#')).skip(1);
    lines
        .map(|line| {
            let cells: Vec<&'static str> = line.split(',').collect();
            let number = |i: usize| match cells[i + 1] {
                "all" => 0.0,
                cell => {
                    cell.parse::<f64>()
                        .expect("the program's own tables hold numbers")
                        * units[i]
                }
            };
            (cells[0], [number(0), number(1), number(2)])
        })
        .collect()
}
