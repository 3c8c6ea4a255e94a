//! Holes snapped to standard sizes: clearance holes for metric and inch bolts.

use crate::closed::Closed;
use crate::figure::{Figure, Role};
use serde::Serialize;

/// Which list of sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Sizes {
    /// Clearance holes for metric bolts, close, medium and coarse.
    Metric,
    /// Clearance holes for inch bolts, close, normal and loose.
    Inch,
}

/// ISO 273 (fine, medium, coarse series) [mm]; from memory.
const METRIC: [(&str, [f64; 3]); 10] = [
    ("M3", [3.2, 3.4, 3.6]),
    ("M4", [4.3, 4.5, 4.8]),
    ("M5", [5.3, 5.5, 5.8]),
    ("M6", [6.4, 6.6, 7.0]),
    ("M8", [8.4, 9.0, 10.0]),
    ("M10", [10.5, 11.0, 12.0]),
    ("M12", [13.0, 13.5, 14.5]),
    ("M14", [15.0, 15.5, 16.5]),
    ("M16", [17.0, 17.5, 18.5]),
    ("M20", [21.0, 22.0, 24.0]),
];

/// ASME B18.2.8 (close, normal, loose fit) [in]; from memory.
const INCH: [(&str, [f64; 3]); 9] = [
    ("#6", [0.153, 0.170, 0.185]),
    ("#8", [0.180, 0.194, 0.207]),
    ("#10", [0.206, 0.221, 0.238]),
    ("1/4", [17.0 / 64.0, 9.0 / 32.0, 19.0 / 64.0]),
    ("5/16", [21.0 / 64.0, 11.0 / 32.0, 23.0 / 64.0]),
    ("3/8", [25.0 / 64.0, 13.0 / 32.0, 27.0 / 64.0]),
    ("7/16", [29.0 / 64.0, 15.0 / 32.0, 31.0 / 64.0]),
    ("1/2", [17.0 / 32.0, 9.0 / 16.0, 39.0 / 64.0]),
    ("5/8", [21.0 / 32.0, 11.0 / 16.0, 47.0 / 64.0]),
];

/// A hole that was given a standard size.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Snapped {
    /// Name of the hole.
    pub name: String,
    /// Diameter as read [m].
    pub was: f64,
    /// Diameter now [m].
    pub now: f64,
    /// The bolt, such as "M8".
    pub bolt: &'static str,
    /// How it fits: close, medium or loose.
    pub fit: &'static str,
}

/// Gives each round hole the nearest standard diameter if it is within `reach` [m]; the others stay as they are.
///
/// A hole's middle does not move.
pub fn snap(figure: &Figure, sizes: Sizes, reach: f64) -> (Figure, Vec<Snapped>) {
    let (table, unit): (&[(&'static str, [f64; 3])], f64) = match sizes {
        Sizes::Metric => (&METRIC, 1e-3),
        Sizes::Inch => (&INCH, 0.0254),
    };
    let mut figure = figure.clone();
    let mut snapped = Vec::new();
    for shape in figure.shapes.iter_mut().filter(|s| s.role == Role::Hole) {
        let Some(circle) = &mut shape.circle else { continue };
        let was = 2.0 * circle.radius;
        let all = table.iter().flat_map(|(bolt, sizes)| {
            let fits = ["close", "medium", "loose"];
            sizes.iter().zip(fits).map(move |(d, fit)| (*bolt, d * unit, fit))
        });
        let nearest = all.min_by(|a, b| (a.1 - was).abs().total_cmp(&(b.1 - was).abs()));
        let Some((bolt, now, fit)) = nearest.filter(|n| (n.1 - was).abs() <= reach) else {
            continue;
        };
        circle.radius = 0.5 * now;
        shape.line = Closed::circle(circle.centre, circle.radius);
        let name = shape.name.clone();
        snapped.push(Snapped {
            name,
            was,
            now,
            bolt,
            fit,
        });
    }
    (figure, snapped)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holes_near_a_standard_size_take_it_and_others_stay() {
        let table = b"unit, mm\n0,0\n100,0\n100,100\n0,100\nhole,10,10,6.53\nhole,90,10,8.97\nhole,80,80,25.3\nhole,10,90,8.75\n";
        let figure = crate::table::read(table, &crate::ReadOptions::default()).expect("it is sound");
        let (now, snapped) = snap(&figure, Sizes::Metric, 0.15e-3);
        let said: Vec<(&str, &str, i64)> = snapped
            .iter()
            .map(|s| (s.bolt, s.fit, (s.now * 1e6).round() as i64))
            .collect();
        assert_eq!(said, [("M6", "medium", 6600), ("M8", "medium", 9000)]);
        let diameters: Vec<i64> = now
            .holes()
            .map(|(_, c)| (2e6 * c.radius).round() as i64)
            .collect();
        assert_eq!(diameters, [6600, 9000, 25300, 8750]);
        // 11/32 in is 8.731 mm, the normal hole of a 5/16 in bolt.
        let (_, snapped) = snap(&figure, Sizes::Inch, 0.15e-3);
        assert!(
            snapped.iter().any(|s| s.bolt == "5/16" && s.fit == "medium"),
            "{snapped:?}"
        );
    }
}
