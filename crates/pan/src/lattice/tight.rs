//! The tight places of a pan: what the cells have to see, and how large they may be.

use super::plates::TOUCH;
use crate::panel::Panel;
use crate::{Pan, Part};

/// Two plates face each other when at least this much of them does [m²]; less is an edge that passes by.
const FACING: f64 = 1e-4;

/// A place that cells must be able to see.
#[derive(Clone, Debug, PartialEq)]
pub struct TightPlace {
    /// The part that it belongs to.
    pub part: Part,
    /// In words that follow "the": "36.0 mm mouth", "22.0 mm of door \"flap\"".
    pub name: String,
    /// Its smallest width [m]. A cell may not be larger.
    pub across: f64,
    /// Cells wanted across it.
    pub cells: u32,
}

impl TightPlace {
    /// The cell that this place asks for [m].
    pub fn wanted(&self) -> f64 {
        self.across / f64::from(self.cells)
    }
}

impl Pan {
    /// Mouth, the gap under it, doors, and plates that face each other.
    ///
    /// Wanted are four cells across the mouth, two under it, three across each door (from the solver's own trials:
    /// with fewer the share of air drawn is only indicative), and two between plates, so that oil can flow there.
    /// Plates that touch leave no place.
    pub fn tight_places(&self) -> Vec<TightPlace> {
        let mm = |v: f64| format!("{:.1} mm", v * 1e3);
        let mut places = vec![TightPlace {
            part: Part::Mouth,
            name: format!("{} mouth", mm(self.mouth.diameter)),
            across: self.mouth.diameter,
            cells: 4,
        }];
        if let Some(gap) = self.mouth_over_floor() {
            places.push(TightPlace {
                part: Part::Mouth,
                name: format!("{} under the mouth", mm(gap)),
                across: gap,
                cells: 2,
            });
        }
        for (index, door) in self.doors.iter().enumerate() {
            let (low, high) = door.corners();
            let side = (high - low).min_element();
            places.push(TightPlace {
                part: Part::Door(index),
                name: format!("{} of door \"{}\"", mm(side), door.name),
                across: side,
                cells: 3,
            });
        }
        let panels: Vec<Vec<Panel>> = self.plates.iter().map(|p| p.panels()).collect();
        for (one, plate) in self.plates.iter().enumerate() {
            for (other, second) in self.plates.iter().enumerate().skip(one + 1) {
                let thick = 0.5 * (plate.thickness + second.thickness);
                let gap = panels[one]
                    .iter()
                    .flat_map(|a| panels[other].iter().filter_map(|b| between(a, b)))
                    .fold(f64::INFINITY, f64::min)
                    - thick;
                if gap > TOUCH && gap.is_finite() {
                    places.push(TightPlace {
                        part: Part::Plate(other),
                        name: format!(
                            "{} between plates \"{}\" and \"{}\"",
                            mm(gap),
                            plate.name,
                            second.name
                        ),
                        across: gap,
                        cells: 2,
                    });
                }
            }
        }
        places.retain(|place| place.across > 0.0);
        places
    }
}

/// Least distance between two panels that face each other, nearly parallel [m].
fn between(a: &Panel, b: &Panel) -> Option<f64> {
    if a.normal.dot(b.normal).abs() < 0.98 {
        return None;
    }
    let shadow = b.outline.mapped(|p| a.plate_coordinates(b.point(p)));
    let facing = a.outline.intersection(&shadow);
    if facing.area() < FACING {
        return None;
    }
    facing
        .loops()
        .flatten()
        .map(|p| b.height(a.point(*p)).abs())
        .min_by(f64::total_cmp)
}
