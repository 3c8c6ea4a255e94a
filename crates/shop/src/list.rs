//! What the pan is made of, part by part, with mass and what its making costs by the user's own prices.
//!
//! Masses are volumes times the densities of [`crate::stock`]. A price is never this program's: it is the user's, or a
//! stated assumption.

use crate::sheet::{Blank, Metal};
use crate::stock;
use pan::Region;
use pan::polygon::loop_edges;
use serde::Serialize;
use std::f64::consts::PI;

/// A line of the list. What is not known, or means nothing for the part, is `None`.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Row {
    /// The part.
    pub part: String,
    /// How many of it.
    pub count: usize,
    /// Of what.
    pub material: String,
    /// Thickness of its sheet [m].
    pub thickness: Option<f64>,
    /// Area of its sheet, openings out, of one [m²].
    pub area: Option<f64>,
    /// Volume of one [m³].
    pub volume: Option<f64>,
    /// Mass of one [kg].
    pub mass: Option<f64>,
    /// Length of all its cut edges, of one [m].
    pub cut: Option<f64>,
    /// Holes, slots and windows in one.
    pub holes: usize,
    /// Bends of one.
    pub bends: usize,
    /// How it is had.
    #[serde(skip)]
    pub had: Had,
}

/// How a part is had.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Had {
    /// Cut and bent from sheet.
    #[default]
    Sheet,
    /// Made from so much metal bought for one [kg], the rest going to chips.
    Stock(f64),
    /// Bought by the piece.
    Bought,
    /// Bought at this price for one.
    At(f64),
}

/// The user's prices, in one currency.
#[derive(Clone, Debug, PartialEq)]
pub struct Prices {
    /// The user's word for the currency.
    pub currency: String,
    /// Metal [currency/kg]: aluminium, steel, stainless; magnesium counts as stainless, plastic for printing apart.
    pub aluminium: f64,
    /// See above.
    pub steel: f64,
    /// See above.
    pub stainless: f64,
    /// Plastic for printing [currency/kg].
    pub plastic: f64,
    /// Gasket sheet [currency/m²].
    pub gasket: f64,
    /// Cutting [currency/m].
    pub cut: f64,
    /// A hole [currency].
    pub hole: f64,
    /// A bend [currency].
    pub bend: f64,
    /// A bolt with its washer [currency].
    pub bolt: f64,
    /// An hour of work [currency/h].
    pub hour: f64,
    /// Part of the sheet that is bought and thrown away, of what is used.
    pub waste: f64,
}

/// What a sum leaves out and holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cost {
    /// Metal, sheet and bought pieces.
    pub bought: f64,
    /// Cutting, holes and bends.
    pub work: f64,
    /// Hours times their price.
    pub hours: f64,
    /// Parts without a price, which the sum leaves out.
    pub without: Vec<String>,
}

impl Cost {
    /// Everything.
    pub fn sum(&self) -> f64 {
        self.bought + self.work + self.hours
    }
}

impl Prices {
    /// Price of a kilogram of a stuff; `None` for one that is not sold by mass here.
    pub fn of(&self, material: &str) -> Option<f64> {
        let has = |words: &[&str]| words.iter().any(|w| material.contains(w));
        if has(&["aluminium"]) {
            Some(self.aluminium)
        } else if has(&["stainless", "magnesium", "copper", "brass"]) {
            Some(self.stainless)
        } else if has(&["steel", "iron"]) {
            Some(self.steel)
        } else if has(&["PLA", "PETG", "ABS", "nylon"]) {
            Some(self.plastic)
        } else {
            None
        }
    }

    /// What a row costs: bought, work; `None` without a price.
    pub fn row(&self, row: &Row) -> Option<[f64; 2]> {
        let n = row.count as f64;
        let work =
            row.cut.unwrap_or(0.0) * self.cut + row.holes as f64 * self.hole + row.bends as f64 * self.bend;
        let more = 1.0 + self.waste;
        match row.had {
            Had::At(price) => Some([n * price, 0.0]),
            Had::Bought if row.part.starts_with("bolt") => Some([n * self.bolt, 0.0]),
            Had::Bought => None,
            Had::Stock(mass) => Some([n * mass * self.of(&row.material)?, 0.0]),
            Had::Sheet if row.material.contains("sheet") => {
                Some([n * row.area? * self.gasket * more, n * work])
            }
            Had::Sheet => Some([n * row.mass? * self.of(&row.material)? * more, n * work]),
        }
    }
}

/// What making it costs: all rows, and so many hours of work [h].
pub fn making_cost(rows: &[Row], prices: &Prices, hours: f64) -> Cost {
    let mut cost = Cost {
        hours: hours * prices.hour,
        ..Cost::default()
    };
    for row in rows {
        match prices.row(row) {
            Some([bought, work]) => {
                cost.bought += bought;
                cost.work += work;
            }
            None => cost.without.push(row.part.clone()),
        }
    }
    cost
}

/// Length of all edges of a plan [m].
pub fn edge(plan: &Region) -> f64 {
    plan.loops()
        .flat_map(|l| loop_edges(l))
        .map(|(a, b)| a.distance(b))
        .sum()
}

/// A kind of piece cut from sheet.
pub fn blank(blank: &Blank) -> Row {
    let solid = blank.perforation.map_or(1.0, |p| 1.0 - p.share);
    Row {
        part: blank.name.clone(),
        count: blank.count,
        material: stuff(blank.metal),
        thickness: Some(blank.thickness),
        area: Some(blank.area),
        volume: Some(blank.area * blank.thickness * solid),
        mass: Some(blank.mass),
        cut: Some(blank.cut_length),
        holes: blank.holes + blank.windows,
        bends: blank.bends.len(),
        had: Had::Sheet,
    }
}

/// The word of the list for a sheet's metal.
fn stuff(metal: Metal) -> String {
    match metal {
        Metal::Steel => "mild steel".to_owned(),
        Metal::Stainless => "stainless 304".to_owned(),
        alloy => format!("aluminium {}", alloy.word()),
    }
}

/// Hexagon bolts of a nominal diameter and length [m], of steel: the shank at its pitch diameter, the head by its width
/// across flats and height (ISO 4017; from memory). True to some 10 %.
pub fn bolts(name: &str, diameter: f64, pitch_diameter: f64, length: f64, count: usize) -> Row {
    const FLATS: [[f64; 3]; 6] = [
        [4.0, 7.0, 2.8],
        [5.0, 8.0, 3.5],
        [6.0, 10.0, 4.0],
        [8.0, 13.0, 5.3],
        [10.0, 16.0, 6.4],
        [12.0, 18.0, 7.5],
    ];
    let same = FLATS.iter().find(|[d, ..]| (d * 1e-3 - diameter).abs() < 1e-6);
    let [flats, height] = same.map_or([1.6 * diameter, 0.66 * diameter], |[_, s, k]| {
        [s * 1e-3, k * 1e-3]
    });
    // A hexagon of width s has the area s² √3/2.
    let head = flats * flats * 0.75f64.sqrt() * height;
    let volume = 0.25 * PI * pitch_diameter * pitch_diameter * length + head;
    Row {
        part: format!("bolt {name}"),
        count,
        material: "steel".to_owned(),
        volume: Some(volume),
        mass: Some(volume * 7850.0),
        had: Had::Bought,
        ..Row::default()
    }
}

/// The gasket as a flange gives it: its plan with the bolts' holes out, of a sheet of this thickness [m].
pub fn gasket(plan: &Region, bolts: usize, hole: f64, sheet: &str, thickness: f64) -> Row {
    let holes = bolts as f64 * hole * PI;
    let area = plan.area() - bolts as f64 * 0.25 * PI * hole * hole;
    cut_gasket(area, edge(plan) + holes, bolts, sheet, thickness)
}

/// A gasket of so much area [m²], cut [m], holes and thickness [m].
pub fn cut_gasket(area: f64, cut: f64, holes: usize, sheet: &str, thickness: f64) -> Row {
    let material = if sheet.contains("sheet") {
        sheet.to_owned()
    } else {
        format!("{sheet} sheet")
    };
    Row {
        part: "gasket".to_owned(),
        count: 1,
        thickness: Some(thickness),
        area: Some(area),
        volume: Some(area * thickness),
        mass: stock::named(&material).map(|s| area * thickness * s.density),
        material,
        cut: Some(cut),
        holes,
        ..Row::default()
    }
}
